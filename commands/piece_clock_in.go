package commands

import (
	"context"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceClockIn() Command {
	return Command{
		Path:     "piece clock in",
		Summary:  "start the clock",
		Private:  true,
		Options:  []Option{h.stageOption(), h.pieceOption(), helperOption(), payOption(), agoOption("how long ago it was started")},
		Examples: []string{"/piece clock in stage:milling", "/piece clock in stage:sanding helper:Sam pay:15"},
		Run:      h.answerPieceClockIn,
	}
}

func (h house) answerPieceClockIn(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		in.payRefused()
		facts := in.facts(map[string]price.Fact{"stage": price.FactStage, "helper": price.FactPerson})
		facts[price.FactBegan] = price.NumberFact(req.Time.Unix() - in.agoSeconds())
		if in.has("pay") {
			facts[price.FactPay] = price.NumberFact(in.minor(in.money("pay")))
		}
		if in.err != nil {
			return price.Entry{}, in.err
		}
		if err := running(m.piece); err != nil {
			return price.Entry{}, err
		}
		err := h.noSecondClock(ctx, in, m.book, facts[price.FactPerson])
		return price.Entry{Kind: price.EntryIn, Currency: m.sheet.Currency.Code(), Facts: facts}, err
	})
	if err != nil {
		return Reply{}, err
	}
	title := capital(clockName(e.Facts[price.FactPerson])) + " runs on piece " + strconv.Itoa(e.Piece) + stageText(e.Facts[price.FactStage])
	var notes []string
	if ago := e.At - e.Facts.Number(price.FactBegan); ago > 0 {
		notes = append(notes, "Read as: started "+measure.FormatDuration(time.Duration(ago)*time.Second)+" ago.")
	}
	reply, err := h.entered(ctx, in, e, title, notes...)
	out := Action{Label: "Stop it", Path: "piece clock out", Options: map[string]string{}}
	if e.Facts.Has(price.FactPerson) {
		out.Options["helper"] = e.Facts[price.FactPerson]
	}
	reply.Actions = append([]Action{out}, reply.Actions...)
	return reply, err
}

// noSecondClock refuses a second clock of one person. One that was forgotten has
// to be put right first.
func (h house) noSecondClock(ctx context.Context, in *reading, b *store.Book, person string) error {
	c, runs, err := clockOf(ctx, b, person)
	if err != nil || !runs {
		return err
	}
	limit, err := h.limit(ctx, b)
	if err != nil {
		return err
	}
	ran := in.req.Time.Unix() - c.Began
	m := &Mistake{Option: "command", Problem: capital(clockName(c.Person)) + " runs already, on piece " + strconv.Itoa(c.Piece.Number) + stageText(c.Stage) + ", for " + longText(max(ran, 0))}
	switch {
	case ran > limit:
		m.Try = rightLine(c.Person) + " first: it may have been forgotten"
	case person == "":
		m.Try = "/piece clock out first, or helper:Sam for somebody else's time"
	default:
		m.Try = FormatLine("piece clock out", helperOf(c)) + " first"
	}
	return m
}
