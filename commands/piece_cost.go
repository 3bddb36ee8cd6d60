package commands

import (
	"context"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// costKinds are the groups that a member files a cost under. Stock and helpers
// have commands of their own.
var costKinds = []Choice{
	{price.CostPart, "bought-in part"}, {price.CostConsumable, "consumable"}, {price.CostTool, "tool"},
	{price.CostTrip, "trip"}, {price.CostDelivery, "delivery"}, {price.CostOther, "other"},
}

func (h house) pieceCost() Command {
	return Command{
		Path:    "piece cost",
		Summary: "anything but wood: a part, a share of a container, a tool, a trip",
		Private: true,
		Options: []Option{
			{Name: "kind", Summary: "what kind of cost", Kind: Word, Example: "part", Choices: costKinds, Required: true},
			whatOption("what it was", "drawer slides"),
			paidOption("what was paid, before tax"), paidTaxOption(),
			{Name: "used", Summary: "the share that went into this piece", Kind: Number, Example: "1/8 or 15%"},
			{Name: "per-hour", Summary: "or what an hour of the tool costs", Kind: Rate, Example: "1.24"},
			{Name: "hours", Summary: "and how long it ran", Kind: Hours, Example: "5h"},
			onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece cost kind:part what:drawer slides paid:18.40 tax:8.25%", "/piece cost kind:consumable what:oil paid:32 used:1/8", "/piece cost kind:tool what:planer per-hour:1.24 hours:5h"},
		Run:      h.answerPieceCost,
	}
}

func (h house) answerPieceCost(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		facts := in.withTyped(in.facts(map[string]price.Fact{"what": price.FactWhat}), "paid", "tax", "used", "per-hour", "hours")
		facts[price.FactGroup] = req.Options["kind"]
		e := price.Entry{Kind: price.EntryCost, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Facts: facts}
		amount, tax := in.cost()
		e.Amount = in.minor(amount)
		if t := in.minor(tax); t > 0 {
			facts[price.FactTax] = price.NumberFact(t)
		}
		return e, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	c, err := price.ParseCurrency(e.Currency)
	if err != nil {
		return Reply{}, err
	}
	cost := price.NewMoney(e.Amount, c)
	name := e.Facts[price.FactGroup]
	if what := e.Facts[price.FactWhat]; what != "" {
		name += ", " + oneLine(what)
	}
	read := "Read as: " + e.Facts[price.FactTyped] + "; on " + dateText(e.Day) + "."
	notes := []string{oneLine(read)}
	if in.has("used") || in.has("tax") || in.has("per-hour") {
		notes = append(notes, "Rounded to the nearest "+coin(c, req.Locale)+".")
	}
	if e.Facts[price.FactGroup] == price.CostTool && !in.has("used") && !in.has("per-hour") {
		notes = append(notes, "All of the tool is on this piece: right for one bought for this job alone. For one that lasts, say used: or per-hour: with hours:.")
	}
	reply, err := h.entered(ctx, in, e, moneyText(cost, req.Locale)+" on piece "+strconv.Itoa(e.Piece)+": "+name, notes...)
	reply.Figures = []Figure{moneyFigure("cost", "Cost on this piece", cost, req)}
	reply.Cautions = cautionsFor(stockCautions, e.Facts[price.FactWhat])
	return reply, err
}

// cost reckons a cost from what was told of it: paid, with tax, and of that the
// share used; or hours of a tool.
func (in *reading) cost() (amount, tax price.Money) {
	none := price.NewMoney(0, in.currency)
	switch {
	case in.has("per-hour") != in.has("hours"):
		in.fail(&Mistake{Option: "per-hour", Problem: "and hours go together", Try: "per-hour:1.24 hours:5h"})
	case in.has("per-hour") && (in.has("paid") || in.has("used") || in.has("tax")):
		in.fail(&Mistake{Option: "per-hour", Problem: "and paid say the same thing twice", Try: "one of the two"})
	case in.has("per-hour"):
		hourly, hours := in.money("per-hour"), in.hours("hours")
		if in.err != nil {
			return none, none
		}
		amount, err := price.PayFor(hours, hourly)
		if err != nil {
			in.fail(err)
		}
		return amount, none
	case !in.has("paid"):
		in.fail(&Mistake{Option: "paid", Problem: "is needed: what was paid", Try: "paid:18.40"})
	}
	if in.err != nil {
		return none, none
	}
	paid, used := in.money("paid"), big.NewRat(1, 1)
	if in.has("used") {
		used = value(in, "used", readShare)
	}
	if in.err != nil {
		return none, none
	}
	return in.taxed(paid, used)
}

// readShare reads a share above nothing and up to the whole: 1/8, 15%, 60 of 946.
func readShare(text string) (*big.Rat, error) {
	share, err := shareOf(strings.TrimSpace(text))
	if err != nil || share.Sign() <= 0 || share.Cmp(big.NewRat(1, 1)) > 0 {
		problem := "is not a share"
		if err == nil {
			problem = "is not a share above nothing and up to the whole"
		}
		return nil, &measure.InputError{Value: text, Problem: problem, Hint: "1/8 or 15% or 60 of 946"}
	}
	return share, nil
}

func shareOf(text string) (*big.Rat, error) {
	if strings.HasSuffix(text, "%") {
		p, err := measure.ParsePercent(text)
		return p.Rat(), err
	}
	before, after, of := strings.Cut(text, " of ")
	if !of {
		before, after, of = strings.Cut(text, "/")
	}
	a, err := measure.ParseNumber(before)
	if err != nil || !of {
		return a.Rat(), err
	}
	b, err := measure.ParseNumber(after)
	if err != nil || b.IsZero() {
		return nil, &measure.InputError{}
	}
	return new(big.Rat).Quo(a.Rat(), b.Rat()), nil
}
