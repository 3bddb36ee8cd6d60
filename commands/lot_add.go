package commands

import (
	"context"
	"math/big"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) lotAdd() Command {
	return Command{
		Path:    "lot add",
		Summary: "stock bought for several pieces, each of which takes its share",
		Private: true,
		Options: []Option{
			whatOption("what it is", "ash, 4/4"),
			paidOption("what was paid for all of it"),
			boardsOption(), feetOption(),
			{Name: "count", Summary: "or how many of anything else", Kind: Number, Example: "40"},
			textOption("unit", price.FactUnit, "what the count is of", "screws"),
			paidTaxOption(), tripOption(), onOption("the day; today unless you say"),
		},
		Examples: []string{"/lot add what:ash, 4/4 paid:160 board-feet:20", "/lot add what:drawer slides paid:36 count:8 unit:pairs tax:8.25%"},
		Run:      h.answerLotAdd,
	}
}

func (h house) answerLotAdd(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.write(ctx, in, func(*store.Book) (price.Entry, error) { return in.lotEntry() })
	if err != nil {
		return Reply{}, err
	}
	c, err := price.ParseCurrency(e.Currency)
	if err != nil {
		return Reply{}, err
	}
	n := strconv.Itoa(e.Lot)
	cost := price.NewMoney(e.Amount, c)
	reply := Reply{
		Title: "Lot " + n + ": " + millionthsText(e.Millionths, e.Facts[price.FactUnit]) + " for " + moneyText(cost, req.Locale), Private: true,
		Figures: []Figure{moneyFigure("cost", "Cost with tax and trip", cost, req)},
		Notes: []string{"Read as: bought on " + dateText(e.Day) + ".",
			"A piece takes its share with /piece stock share lot:" + n + " and take: as much as it takes, a part such as 25% or the rest. What nobody takes keeps its value here."},
		Cautions: cautionsFor(stockCautions, e.Facts[price.FactWhat]),
		Actions:  []Action{undoAction(e.Number)},
	}
	if each, err := price.CostOf(big.NewRat(1_000_000, e.Millionths), cost); err == nil {
		unit := e.Facts[price.FactUnit]
		if unit == price.UnitBoardFeet {
			unit = "a board foot"
		} else {
			unit = "each"
		}
		reply.Figures = append(reply.Figures, moneyFigure("cost_each", "Of one, "+unit, each, req))
	}
	return reply, nil
}

// lotEntry reads a lot.
func (in *reading) lotEntry() (price.Entry, error) {
	if !in.has("paid") {
		in.fail(&Mistake{Option: "paid", Problem: "is needed: what was paid for all of it; 0 for found stock", Try: "paid:160"})
	}
	given := 0
	for _, name := range []string{"boards", "board-feet", "count"} {
		if in.has(name) {
			given++
		}
	}
	if given != 1 {
		in.fail(&Mistake{Option: "board-feet", Problem: "or boards or count is needed, one of them, so that it can be shared out", Try: "board-feet:20"})
	}
	facts := in.withTyped(in.facts(map[string]price.Fact{"what": price.FactWhat}), "boards", "board-feet", "count", "paid", "tax", "trip")
	quantity := in.wood().volume
	facts[price.FactUnit] = price.UnitBoardFeet
	if in.has("count") {
		quantity = value(in, "count", func(text string) (*big.Rat, error) {
			n, err := measure.ParseNumber(text)
			return n.Rat(), err
		})
		facts[price.FactUnit] = "pieces"
		if in.has("unit") {
			facts[price.FactUnit] = in.text("unit")
		}
	}
	whole, tax := in.taxed(in.money("paid"), big.NewRat(1, 1))
	if t := in.minor(tax); t > 0 {
		facts[price.FactTax] = price.NumberFact(t)
	}
	trip := in.minor(in.money("trip"))
	if trip > 0 {
		facts[price.FactTrip] = price.NumberFact(trip)
	}
	e := price.Entry{Kind: price.EntryLot, Day: in.day("on"), Currency: in.currency.Code(), Amount: in.minor(whole) + trip,
		Millionths: in.millionths("count", quantity), Facts: facts}
	if in.err == nil && e.Millionths == 0 {
		in.fail(&Mistake{Option: "count", Given: measure.Quote(in.text("count")), Problem: "is nothing to share out", Try: "40"})
	}
	return e, in.err
}
