package commands

import (
	"context"
	"math/big"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/price"
)

func (h house) pieceStockBought() Command {
	return Command{
		Path:    "piece stock bought",
		Summary: "wood bought for this piece alone",
		Private: true,
		Options: []Option{
			whatOption("what wood it is", "ash, 4/4"), boardsOption(), feetOption(),
			{Name: "price", Summary: "the price of a board foot, or of a cubic metre where bare numbers are metric", Kind: PerFoot, Example: "7.50/bf"},
			paidOption("or what was paid for all of it"), paidTaxOption(), tripOption(),
			onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece stock bought what:ash, 4/4 board-feet:11.2 price:7.50/bf", "/piece stock bought what:ash, 4/4 paid:84 tax:8.25%"},
		Run:      h.answerPieceStockBought,
	}
}

func (h house) answerPieceStockBought(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	thin := ""
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		wood := in.wood()
		before := in.stockPrice(wood)
		if wood.thin() && in.has("price") && !in.woodPrice("price").cubic() {
			thin = "Stock under an inch is paid for as a full inch (trade practice), so the cost is for " +
				millionthsText(in.millionths("boards", wood.counted), price.UnitBoardFeet) + ". Where your yard does not count so, say paid: instead."
		}
		whole, tax := in.taxed(before, big.NewRat(1, 1))
		trip := in.minor(in.money("trip"))
		facts := in.withTyped(in.facts(map[string]price.Fact{"what": price.FactWhat}), "boards", "board-feet", "price", "paid", "tax", "trip")
		if t := in.minor(tax); t > 0 {
			facts[price.FactTax] = price.NumberFact(t)
		}
		if trip > 0 {
			facts[price.FactTrip] = price.NumberFact(trip)
		}
		return price.Entry{Kind: price.EntryStock, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Amount: in.minor(whole) + trip,
			Millionths: in.millionths("board-feet", wood.volume), Facts: facts}, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	notes := []string{}
	if in.has("price") {
		notes = append(notes, said(in.woodPrice("price").taken())...)
	}
	if thin != "" {
		notes = append(notes, thin)
	}
	return h.stockEntered(ctx, in, e, "Bought stock is on piece "+strconv.Itoa(e.Piece), notes...)
}

// stockPrice is what wood cost before tax: told, or by the board foot or cubic metre.
func (in *reading) stockPrice(wood woodRead) price.Money {
	switch {
	case in.has("price") && in.has("paid"):
		in.fail(&Mistake{Option: "paid", Problem: "and price say the same thing twice", Try: "one of the two"})
	case in.has("paid"):
		return in.money("paid")
	case !in.has("price"):
		in.fail(&Mistake{Option: "paid", Problem: "is needed: what was paid, or price: with the board feet", Try: "paid:84, or board-feet:11.2 price:7.50/bf"})
	case wood.counted == nil:
		in.fail(&Mistake{Option: "board-feet", Problem: "is needed to go with a price of wood", Try: "board-feet:11.2"})
	}
	if in.err != nil || wood.counted == nil {
		return price.NewMoney(0, in.currency)
	}
	each, wooden := in.woodPrice("price"), wood.counted
	if each.cubic() {
		wooden = wood.volume
	}
	if in.err != nil {
		return price.NewMoney(0, in.currency)
	}
	cost, err := price.CostOf(each.quantity(lumber.FromFeet(wooden)), each.Money)
	if err != nil {
		in.fail(err)
	}
	return cost
}
