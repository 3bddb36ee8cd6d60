package commands

import (
	"context"
	"slices"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// The options that several pricing commands share.
var (
	hoursOption     = Option{Name: "hours", Summary: "your own time on the piece", Kind: Hours, Example: "7h30"}
	materialsOption = Option{Name: "materials", Summary: "everything you paid out for it; amounts may be added with +", Kind: Money, MaxLength: 200, Example: "124.90"}
	feeOption       = Option{Name: "fee", Summary: "the part of the price that selling takes", Kind: Percent, Example: "2.9%"}
	fixedFeeOption  = Option{Name: "fixed-fee", Summary: "the fixed part of the selling fee", Kind: Money, Example: "0.30"}
)

func (h house) price() Command {
	return Command{
		Path:    "price",
		Summary: "what price breaks even, what price pays your rate, and what to ask",
		Private: true,
		Options: []Option{
			hoursOption,
			materialsOption,
			{Name: "rate", Summary: "what you want for an hour of your time", Kind: Rate, Example: "25"},
			feeOption,
			fixedFeeOption,
			{Name: "haggle", Summary: "how far you expect to be brought down", Kind: Percent, Example: "12%"},
		},
		Examples: []string{
			"/price hours:14.25 materials:124.90 rate:25 fee:2.9% fixed-fee:0.30 haggle:12%",
			"/price hours:7h40 materials:84 + 11.50 rate:30/h",
		},
		Run: h.answerPrice,
	}
}

func (h house) answerPrice(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	job, wanted, haggle := in.job(), in.money("rate"), in.fraction("haggle")
	if in.err != nil {
		return Reply{}, in.err
	}
	if !in.has("hours") && !in.has("materials") && !in.has("fixed-fee") {
		return Reply{}, &Mistake{Option: "hours", Problem: "and materials are both missing, so there is nothing to price", Try: req.command.Examples[0]}
	}
	prices, err := pricesOf(in, job, wanted, haggle)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "What to charge", Private: true}
	ladder := Table{Title: "What each price leaves you", Columns: []string{"price", "left", "an hour"}}
	for _, p := range prices {
		reply.Figures = append(reply.Figures, moneyFigure(p.key, p.label, p.amount, req))
		row, err := ladderRow(in, job, p.amount)
		if err != nil {
			return Reply{}, err
		}
		if n := len(ladder.Rows); n == 0 || !slices.Equal(ladder.Rows[n-1], row) {
			ladder.Rows = append(ladder.Rows, row)
		}
	}
	if job.Hours > 0 {
		reply.Tables = []Table{ladder}
	}
	reply.Notes = append(reply.Notes, in.jobRead(wanted, haggle))
	if hole := priceHole(in); hole != "" {
		reply.Notes = append(reply.Notes, hole)
	}
	reply.Notes = append(reply.Notes,
		"Prices are rounded up to the next "+coin(in.currency, req.Locale)+", so that they never pay less; the other amounts to the nearest.",
		"No sales tax is in these figures.")
	return reply, nil
}

// priced is one price of the answer.
type priced struct {
	key, label string
	amount     price.Money
}

// pricesOf is as much of the answer as the options allow.
func pricesOf(in *reading, job price.Job, wanted price.Money, haggle price.Fraction) ([]priced, error) {
	breakEven, err := job.BreakEven()
	if err != nil {
		return nil, err
	}
	prices := []priced{{"break_even", "Break-even, your own time unpaid", breakEven}}
	if !in.has("hours") || !in.has("rate") {
		return prices, nil
	}
	target, err := job.Target(wanted)
	if err != nil {
		return nil, err
	}
	asking, err := job.Asking(wanted, haggle)
	if err != nil {
		return nil, err
	}
	return append(prices,
		priced{"target_price", "Target, pays your rate", target},
		priced{"asking_price", "Asking, with room to haggle", asking}), nil
}

func ladderRow(in *reading, job price.Job, at price.Money) ([]string, error) {
	left, err := job.Left(at)
	if err != nil {
		return nil, err
	}
	row := []string{moneyText(at, in.req.Locale), moneyText(left, in.req.Locale), ""}
	if job.Hours > 0 {
		hourly, err := job.Hourly(at)
		if err != nil {
			return nil, err
		}
		row[2] = moneyText(hourly, in.req.Locale)
	}
	return row, nil
}

// job reads what is known of the piece. A member who gives no fee pays none.
func (in *reading) job() price.Job {
	return price.Job{
		Hours: in.hours("hours"),
		Cost:  in.money("materials"),
		Fee:   in.fraction("fee"),
		Fixed: in.money("fixed-fee"),
	}
}

// jobRead says how the options were read.
func (in *reading) jobRead(wanted price.Money, haggle price.Fraction) string {
	job, locale := in.job(), in.req.Locale
	var hours, materials, rate, fee, fixed, room string
	if in.has("hours") {
		hours = measure.FormatDuration(job.Hours)
	}
	if in.has("materials") {
		materials = moneyText(job.Cost, locale) + " of materials"
	}
	if in.has("rate") {
		rate = moneyText(wanted, locale) + " an hour wanted"
	}
	if in.has("fee") {
		fee = "a fee of " + job.Fee.Percent() + " %"
	}
	if in.has("fixed-fee") {
		fixed = moneyText(job.Fixed, locale) + " of fixed fee"
	}
	if in.has("haggle") {
		room = haggle.Percent() + " % expected haggling"
	}
	return sentence("Read as: ", hours, materials, rate, fee, fixed, room)
}

// priceHole names the one missing thing that matters most.
func priceHole(in *reading) string {
	switch {
	case !in.has("hours"):
		return "No hours yet: I can give the break-even only. Add hours:" + hoursOption.Example + "."
	case !in.has("rate"):
		return "No wanted rate yet: I can give the break-even only. Add rate:25."
	case !in.has("materials"):
		return "No materials yet: I counted nothing for wood, finish or the trip. Add materials:" + materialsOption.Example + "."
	case !in.has("haggle"):
		return "No haggling expected: the asking price is the target. Add haggle:12% to leave room."
	}
	return ""
}
