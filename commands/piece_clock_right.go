package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceClockRight() Command {
	return Command{
		Path:    "piece clock right",
		Summary: "say what was really worked when a clock was forgotten",
		Private: true,
		Options: []Option{
			{Name: "worked", Summary: "the time that is right; 0 for none", Kind: Hours, Example: "2h30", Required: true},
			helperOption(), h.pieceOption(), textOption("reason", price.FactReason, "why", "forgot it over supper"),
		},
		Examples: []string{"/piece clock right worked:2h30"},
		Run:      h.answerPieceClockRight,
	}
}

func (h house) answerPieceClockRight(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	worked := price.Seconds(in.hours("worked"))
	e, err := h.write(ctx, in, func(b *store.Book) (price.Entry, error) {
		if in.err != nil {
			return price.Entry{}, in.err
		}
		c, runs, err := clockOf(ctx, b, in.text("helper"))
		if err != nil {
			return price.Entry{}, err
		}
		if runs {
			return in.stopAt(ctx, b, c, worked)
		}
		return in.settleDoubt(ctx, b, worked)
	})
	if err != nil {
		return Reply{}, err
	}
	title := secondsText(e.Seconds) + " counted on piece " + strconv.Itoa(e.Piece) + stageText(e.Facts[price.FactStage])
	return h.entered(ctx, in, e, title, "The clock showed "+longText(e.Facts.Number(price.FactElapsed))+"; both are kept.")
}

// stopAt stops a running clock at a time that the member vouches for.
func (in *reading) stopAt(ctx context.Context, b *store.Book, c store.Clock, worked int64) (price.Entry, error) {
	elapsed := max(in.req.Time.Unix()-c.Began, 0)
	if err := in.longerThan(worked, elapsed); err != nil {
		return price.Entry{}, err
	}
	e, err := in.stop(ctx, b, c, worked, price.MaxSeconds, in.facts(map[string]price.Fact{"reason": price.FactReason}))
	if err == nil {
		e.Facts[price.FactElapsed] = price.NumberFact(min(max(elapsed, 0), price.MaxSeconds))
	}
	return e, err
}

func (in *reading) longerThan(worked, elapsed int64) error {
	if worked <= elapsed || elapsed <= 0 { // none, where the machine's clock was put back
		return nil
	}
	return &Mistake{Option: "worked", Given: in.text("worked"), Problem: "is longer than the clock ran, which is " + longText(elapsed),
		Try: "a shorter time, and /piece time for work without a clock"}
}

// settleDoubt corrects the newest stop that counts nothing yet.
func (in *reading) settleDoubt(ctx context.Context, b *store.Book, worked int64) (price.Entry, error) {
	p, err := in.piece(ctx, b)
	if err != nil {
		return price.Entry{}, err
	}
	sheet, err := b.Sheet(ctx, p.Number)
	if err != nil {
		return price.Entry{}, err
	}
	for i := len(sheet.Doubtful) - 1; i >= 0; i-- {
		c := sheet.Doubtful[i]
		if price.StageKey(c.Person) != price.StageKey(in.text("helper")) {
			continue
		}
		if err := in.longerThan(worked, c.Elapsed); err != nil {
			return price.Entry{}, err
		}
		out, err := b.Entry(ctx, c.Entry)
		if err != nil {
			return price.Entry{}, err
		}
		facts := in.facts(map[string]price.Fact{"reason": price.FactReason})
		facts[price.FactElapsed] = price.NumberFact(c.Elapsed)
		copyClock(facts, store.Clock{Clock: c})
		e := price.Entry{Kind: price.EntryCorrect, Piece: p.Number, Target: c.Entry, Day: out.Day, Currency: out.Currency, Seconds: worked, Facts: facts}
		e.Amount = helperPay(in, c.Person, worked, sheet.Money(c.Pay))
		return e, in.err
	}
	return price.Entry{}, &Mistake{Option: "worked", Problem: "has nothing to put right: no clock runs, and none of piece " + strconv.Itoa(p.Number) + " was stopped too late",
		Try: "/piece time worked:" + in.text("worked") + ", or /piece correct for an entry"}
}
