package commands

import (
	"context"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceSold() Command {
	return Command{
		Path:    "piece sold",
		Summary: "the sale, and with it the final accounting",
		Private: true,
		Options: []Option{
			{Name: "price", Summary: "what was paid, without sales tax", Kind: Money, Example: "430", Required: true},
			{Name: "fee", Summary: "the part selling took; as planned unless you say", Kind: Percent, Example: "2.9%"},
			{Name: "fixed-fee", Summary: "the fixed part; as planned unless you say", Kind: Money, Example: "0.30"},
			{Name: "tax", Summary: "sales tax taken on top, to be passed on", Kind: Money, Example: "35.48"},
			textOption("to", price.FactWho, "a nickname of the buyer", "Blue van"),
			textOption("where", price.FactVenue, "where it was sold", "market board"),
			onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece sold price:430 to:Blue van", "/piece sold price:430 fee:2.9% fixed-fee:0.30 on:yesterday"},
		Ask:      []string{"price", "fee", "fixed-fee", "to", "on"}, FormTitle: "the sale",
		Run: h.answerPieceSold,
	}
}

func (h house) answerPieceSold(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		if err := ended(m.sheet, m.piece.Number); err != nil {
			return price.Entry{}, err
		}
		facts := in.facts(map[string]price.Fact{"to": price.FactWho, "where": price.FactVenue})
		in.saleTerms(facts, m.sheet)
		e := price.Entry{Kind: price.EntrySold, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Amount: in.minor(in.money("price")), Facts: facts}
		if last := lastPosted(m.sheet); in.err == nil && e.Day < last {
			in.fail(&Mistake{Option: "on", Given: measure.Quote(in.text("on")), Problem: "is before it was last offered or taken down, " + dateText(last), Try: shortDay(last) + ", or /piece undo for an offer that is dated wrong"})
		}
		if in.err == nil && e.Amount == 0 {
			in.fail(&Mistake{Option: "price", Given: measure.Quote(in.text("price")), Problem: "is nothing", Try: "430, or /piece close as:given for a gift"})
		}
		return e, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	var reply Reply
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		reply, err = h.sheetOf(ctx, in, b, e.Piece)
		return err
	})
	reply.Actions = append(reply.Actions, Action{Label: "Share it with the local log, after a preview", Path: "sale share",
		Options: map[string]string{"piece": strconv.Itoa(e.Piece)}}, undoAction(e.Number))
	return reply, err
}

// lastPosted is the day on which the piece was last offered anywhere or taken down, 0
// where it never was.
func lastPosted(s price.Sheet) int {
	last := 0
	for _, p := range s.Posts {
		last = max(last, p.Last)
	}
	return last
}

// saleTerms keeps with the sale what selling took. Where nothing is said it is
// what was planned.
func (in *reading) saleTerms(facts price.Facts, s price.Sheet) {
	facts[price.FactFee] = price.FractionFact(s.Facts.Fraction(price.FactFee))
	facts[price.FactFixed] = price.NumberFact(s.Facts.Number(price.FactFixed))
	in.venueTerms(facts)
	if in.has("fee") {
		facts[price.FactFee] = price.FractionFact(in.fraction("fee"))
	}
	if in.has("fixed-fee") {
		facts[price.FactFixed] = price.NumberFact(in.minor(in.money("fixed-fee")))
	}
	if in.has("tax") {
		facts[price.FactTax] = price.NumberFact(in.minor(in.money("tax")))
	}
}

// venueTerms takes what selling took from the venue of that name, where the member
// has set one and says nothing else. A fee on the tax too is a fixed amount here,
// since the tax of a sale is known.
func (in *reading) venueTerms(facts price.Facts) {
	for _, kept := range in.settings.Venues {
		v, ok := venueOf(kept)
		if !ok || in.has("fee") || in.has("fixed-fee") || kept.Name != venueName(in.text("where")) || kept.Fixed != nil && v.fixed.Currency() != in.currency {
			continue
		}
		// A venue whose fee and share leave nothing was refused when it was set.
		taken := price.FractionOf(v.fee.Billionths() + v.share.Billionths())
		fixed := int64(0)
		if kept.Fixed != nil {
			fixed = in.minor(v.fixed)
		}
		if tax := in.money("tax"); v.feeOnTax && in.has("tax") {
			onTax, err := price.CostOf(v.fee.Decimal().Rat(), tax)
			if err != nil {
				in.fail(err)
				return
			}
			fixed += in.minor(onTax)
		}
		facts[price.FactFee], facts[price.FactFixed] = price.FractionFact(taken), price.NumberFact(fixed)
		in.takes(v.name + " takes " + v.text(in.req.Locale))
	}
}
