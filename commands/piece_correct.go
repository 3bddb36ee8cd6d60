package commands

import (
	"context"
	"errors"
	"maps"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceCorrect() Command {
	return Command{
		Path:    "piece correct",
		Summary: "put an entry right; what it said before stays in the trail",
		Private: true,
		Options: []Option{
			{Name: "entry", Summary: "its number, see /piece trail", Kind: Number, Example: "7", Required: true},
			textOption("reason", price.FactReason, "why", "read the receipt wrong"),
			{Name: "worked", Summary: "the time that is right", Kind: Hours, Example: "1h30"},
			{Name: "amount", Summary: "the amount that is right, tax and all", Kind: Money, Example: "18.40"},
			{Name: "quantity", Summary: "board feet, or what a share took", Kind: Number, Example: "12"},
			h.stageOption(), onOption("the day that is right"), yesOption("strike", "count it for nothing"),
		},
		Examples: []string{"/piece correct entry:7 worked:1h30 reason:stopped for lunch", "/piece correct entry:7 strike:yes reason:wrong piece"},
		Run:      h.answerPieceCorrect,
	}
}

func (h house) answerPieceCorrect(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	was := price.Entry{}
	e, err := h.write(ctx, in, func(b *store.Book) (e price.Entry, err error) {
		if was, err = in.correctable(ctx, b); err != nil {
			return price.Entry{}, err
		}
		return in.correction(was)
	})
	if c, ok := errors.AsType[*price.ContradictionError](err); ok {
		return Reply{}, &Mistake{Option: "entry", Given: in.text("entry"), Problem: "cannot be changed so, because entry " + strconv.Itoa(c.Number) + " then " + c.Problem, Try: "/piece trail"}
	}
	if err != nil {
		return Reply{}, err
	}
	title := "Entry " + strconv.Itoa(e.Target) + " is corrected"
	if e.Kind == price.EntryStrike {
		title = "Entry " + strconv.Itoa(e.Target) + " counts for nothing now"
	}
	var notes []string
	if was.Number > 0 {
		notes = append(notes, "It was: "+in.entryText(was)+", on "+dateText(was.Day)+".")
		if e.Kind == price.EntryCorrect {
			now := e
			now.Kind = was.Kind
			notes = append(notes, "It is: "+in.entryText(now)+", on "+dateText(now.Day)+".")
		}
	}
	if e.Piece == 0 {
		return Reply{Title: title, Private: true, Notes: append(notes, "Every share of the lot follows."), Actions: []Action{undoAction(e.Number)}}, nil
	}
	return h.entered(ctx, in, e, title, notes...)
}

// correctable finds the entry that is meant, as it was last corrected.
func (in *reading) correctable(ctx context.Context, b *store.Book) (price.Entry, error) {
	n := in.whole("entry", 1, price.MaxNumber)
	if in.err != nil {
		return price.Entry{}, in.err
	}
	given := in.text("entry")
	e, err := b.Entry(ctx, n)
	if isNotFound(err) {
		err = &Mistake{Option: "entry", Given: given, Problem: "is none of your entries", Try: "/piece trail"}
	}
	if err != nil {
		return e, err
	}
	if e.Kind == price.EntryCorrect {
		return e, &Mistake{Option: "entry", Given: given, Problem: "is itself a correction", Try: strconv.Itoa(e.Target)}
	}
	if !e.Kind.Correctable() {
		return e, &Mistake{Option: "entry", Given: given, Problem: "holds no time and no amount (" + in.entryText(e) + ")", Try: "/piece undo, /piece rename or /piece plan"}
	}
	var around []price.Entry
	if e.Piece > 0 {
		around, err = b.Entries(ctx, e.Piece)
	} else {
		around, err = b.LotEntries(ctx, e.Lot)
	}
	if err != nil {
		return e, err
	}
	for _, live := range price.Live(around) {
		if live.Number == n {
			return live, nil
		}
	}
	return e, &Mistake{Option: "entry", Given: given, Problem: "was undone or struck and counts nowhere", Try: "writing it down again"}
}

// correction is the entry that puts another right.
func (in *reading) correction(was price.Entry) (price.Entry, error) {
	c, err := price.ParseCurrency(was.Currency)
	if err != nil {
		return price.Entry{}, err
	}
	in.keepCurrency(c)
	e := price.Entry{Kind: price.EntryCorrect, Piece: was.Piece, Lot: was.Lot, Target: was.Number, Day: was.Day, Amount: was.Amount,
		Currency: was.Currency, Seconds: was.Seconds, Millionths: was.Millionths, Facts: maps.Clone(was.Facts)}
	delete(e.Facts, price.FactReason)
	maps.Copy(e.Facts, in.facts(map[string]price.Fact{"reason": price.FactReason}))
	if in.yes("strike", false) {
		return price.Entry{Kind: price.EntryStrike, Piece: was.Piece, Lot: was.Lot, Target: was.Number, Day: was.Day,
			Facts: in.facts(map[string]price.Fact{"reason": price.FactReason})}, in.err
	}
	changed := in.has("on")
	if changed {
		e.Day = in.day("on")
	}
	for _, change := range []struct {
		option string
		fits   bool
		make   func()
	}{
		{"worked", was.Kind == price.EntryTime || was.Kind == price.EntryOut || was.Kind == price.EntryStock, func() { in.correctTime(&e, c) }},
		{"amount", was.Kind != price.EntryShare && was.Kind != price.EntryTime && was.Kind != price.EntryOut, func() { in.correctAmount(&e, was.Kind) }},
		{"quantity", was.Kind == price.EntryStock || was.Kind == price.EntryShare || was.Kind == price.EntryLot, func() { in.correctQuantity(&e) }},
		{"stage", was.Kind == price.EntryTime || was.Kind == price.EntryOut, func() { e.Facts[price.FactStage] = in.text("stage") }},
	} {
		if !in.has(change.option) {
			continue
		}
		changed = true
		if !change.fits {
			in.fail(&Mistake{Option: change.option, Given: measure.Quote(in.text(change.option)), Problem: "is not what entry " + strconv.Itoa(was.Number) + " holds (" + in.entryText(was) + ")",
				Try: "/piece trail"})
			break
		}
		change.make()
	}
	if !changed {
		in.fail(&Mistake{Option: "entry", Given: in.text("entry"), Problem: "is given, and nothing that is right instead", Try: in.req.command.Examples[0]})
	}
	return e, in.err
}

func (in *reading) correctTime(e *price.Entry, c price.Currency) {
	e.Seconds = price.Seconds(in.hours("worked"))
	delete(e.Facts, price.FactDoubtful)
	if e.Facts.Has(price.FactPay) {
		e.Amount = helperPay(in, e.Facts[price.FactPerson], e.Seconds, price.NewMoney(e.Facts.Number(price.FactPay), c))
	}
	if e.Seconds > 0 && !e.Facts.Has(price.FactStage) && e.Facts.Has(price.FactWhat) {
		e.Facts[price.FactStage] = "clean-up"
	}
}

// correctAmount puts another amount in place of what was reckoned.
func (in *reading) correctAmount(e *price.Entry, kind price.EntryKind) {
	e.Amount = in.minor(in.money("amount"))
	delete(e.Facts, price.FactTyped)
	if kind != price.EntrySold { // the tax of a sale is beside it, not in it
		delete(e.Facts, price.FactTax)
	}
	if trip := e.Facts.Number(price.FactTrip); trip > e.Amount {
		in.fail(&Mistake{Option: "amount", Given: measure.Quote(in.text("amount")), Problem: "is less than the trip in it, which was " + moneyText(price.NewMoney(trip, in.currency), in.req.Locale),
			Try: "strike:yes, and writing it down again"})
	}
}

func (in *reading) correctQuantity(e *price.Entry) {
	e.Millionths = value(in, "quantity", func(text string) (int64, error) {
		n, err := measure.ParseNumber(strings.TrimSpace(strings.TrimSuffix(strings.ToLower(text), price.UnitBoardFeet)))
		if err != nil {
			return 0, err
		}
		q, ok := inMillionths(n.Rat())
		if !ok || q == 0 {
			return 0, &measure.InputError{Value: text, Problem: "is not a quantity above nothing", Hint: "12"}
		}
		return q, nil
	})
}
