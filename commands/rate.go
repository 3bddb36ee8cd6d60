package commands

import (
	"context"

	"tallystick/calc/price"
)

func (h house) rate() Command {
	return Command{
		Path:    "rate",
		Summary: "what a sale really paid for an hour of your time",
		Private: true,
		Options: []Option{
			{Name: "sold", Summary: "the price the piece sold for", Kind: Money, Required: true, Example: "430"},
			hoursOption,
			materialsOption,
			feeOption,
			fixedFeeOption,
		},
		Examples: []string{"/rate sold:430 hours:14.25 materials:124.90 fee:2.9% fixed-fee:0.30"},
		Run:      h.answerRate,
	}
}

func (h house) answerRate(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	job, sold := in.job(), in.money("sold")
	if in.err != nil {
		return Reply{}, in.err
	}
	left, err := job.Left(sold)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "What the sale paid", Private: true}
	if job.Hours > 0 {
		hourly, err := job.Hourly(sold)
		if err != nil {
			return Reply{}, err
		}
		reply.Figures = append(reply.Figures, hourlyFigure("realised_hourly", "Realised rate", hourly, req))
	}
	reply.Figures = append(reply.Figures, moneyFigure("left", "Left after fees and materials", left, req))
	reply.Notes = append(reply.Notes, "Sold at "+moneyText(sold, req.Locale)+". "+in.jobRead(price.Money{}, price.Fraction{}))
	switch {
	case job.Hours <= 0:
		reply.Notes = append(reply.Notes, "No hours yet: I cannot say what an hour was paid. Add hours:"+hoursOption.Example+".")
	case left.IsNegative():
		reply.Notes = append(reply.Notes, "The sale did not cover what you paid out; the figure below zero is what each hour cost you.")
	case !in.has("materials"):
		reply.Notes = append(reply.Notes, "No materials yet: I counted nothing paid out, so the true figure is lower.")
	}
	reply.Notes = append(reply.Notes, "Rounded to the nearest "+coin(in.currency, req.Locale)+".")
	return reply, nil
}
