package commands

import (
	"context"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceClockOut() Command {
	return Command{
		Path:     "piece clock out",
		Summary:  "stop the clock",
		Private:  true,
		Options:  []Option{helperOption(), agoOption("how long ago you stopped"), textOption("note", price.FactNote, "what was done", "both legs fitted")},
		Examples: []string{"/piece clock out", "/piece clock out ago:20m"},
		Run:      h.answerPieceClockOut,
	}
}

func (h house) answerPieceClockOut(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	ago := in.agoSeconds()
	e, err := h.write(ctx, in, func(b *store.Book) (price.Entry, error) {
		if in.err != nil {
			return price.Entry{}, in.err
		}
		c, err := in.runningClock(ctx, b)
		if err != nil {
			return price.Entry{}, err
		}
		limit, err := h.limit(ctx, b)
		if err != nil {
			return price.Entry{}, err
		}
		ran := req.Time.Unix() - c.Began
		if ago > 0 && ago > ran && ran >= 0 {
			return price.Entry{}, &Mistake{Option: "ago", Given: measure.Quote(req.Options["ago"]), Problem: "is before the clock started, " + longText(ran) + " ago", Try: FormatLine("piece clock out", helperOf(c))}
		}
		if ran < 0 {
			limit = -1 // the machine's clock was put back: what it shows is not believed
		}
		facts := in.facts(map[string]price.Fact{"note": price.FactNote})
		return in.stop(ctx, b, c, ran-ago, limit, facts)
	})
	if err != nil {
		return Reply{}, err
	}
	return h.stopped(ctx, in, e)
}

// runningClock finds the clock that is meant, or says that none runs.
func (in *reading) runningClock(ctx context.Context, b *store.Book) (store.Clock, error) {
	person := in.text("helper")
	c, runs, err := clockOf(ctx, b, person)
	if err == nil && !runs {
		err = &Mistake{Option: "command", Problem: capital(clockName(person)) + " does not run", Try: "/piece clock in, or /piece time worked:1h30 for time without a clock"}
	}
	return c, err
}

// helperOf names whose clock it is to a command, where it is not the member's.
func helperOf(c store.Clock) map[string]string {
	if c.Person == "" {
		return nil
	}
	return map[string]string{"helper": oneLine(c.Person)}
}

// stop makes the entry that stops a clock. Past the limit its time counts nothing.
func (in *reading) stop(ctx context.Context, b *store.Book, c store.Clock, elapsed, limit int64, facts price.Facts) (price.Entry, error) {
	sheet, err := b.Sheet(ctx, c.Piece.Number)
	if err != nil {
		return price.Entry{}, err
	}
	elapsed = min(max(elapsed, 0), price.MaxSeconds)
	e := price.Entry{Kind: price.EntryOut, Piece: c.Piece.Number, Target: c.Entry, Currency: sheet.Currency.Code(), Facts: facts}
	facts[price.FactElapsed] = price.NumberFact(elapsed)
	copyClock(facts, c)
	if elapsed > limit {
		facts[price.FactDoubtful] = "y"
		return e, nil
	}
	e.Seconds = elapsed
	e.Amount = helperPay(in, c.Person, elapsed, sheet.Money(c.Pay))
	return e, in.err
}

// copyClock keeps with the end of a clock whose it was, so that the entry says it
// by itself.
func copyClock(facts price.Facts, c store.Clock) {
	if c.Person != "" {
		facts[price.FactPerson] = c.Person
	}
	if c.Stage != "" {
		facts[price.FactStage] = c.Stage
	}
	if c.Pay > 0 {
		facts[price.FactPay] = price.NumberFact(c.Pay)
	}
}

// stopped is the reply to a clock that stopped.
func (h house) stopped(ctx context.Context, in *reading, e price.Entry) (Reply, error) {
	piece := " on piece " + strconv.Itoa(e.Piece) + stageText(e.Facts[price.FactStage])
	elapsed := e.Facts.Number(price.FactElapsed)
	if e.Facts.Has(price.FactDoubtful) {
		why := "It ran for " + longText(elapsed) + ", longer than your limit: perhaps it was forgotten."
		if elapsed == 0 {
			why = "It began later than it is now: the clock of my machine was put back."
		}
		return h.entered(ctx, in, e, capital(clockName(e.Facts[price.FactPerson]))+" stopped"+piece+": it counts nothing yet",
			why+" What is right? "+rightLine(e.Facts[price.FactPerson]))
	}
	reply, err := h.entered(ctx, in, e, secondsText(e.Seconds)+piece)
	figures := []Figure{hoursFigure("worked", "Counted", e.Seconds)}
	if e.Amount > 0 {
		if c, err := price.ParseCurrency(e.Currency); err == nil {
			figures = append(figures, moneyFigure("helper_pay", "Pay of the helper, as a cost", price.NewMoney(e.Amount, c), in.req))
		}
	}
	reply.Figures = figures
	return reply, err
}
