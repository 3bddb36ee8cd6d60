package commands

import (
	"context"
	"math/big"
	"strings"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) costOverhead() Command {
	return Command{
		Path:    "cost overhead",
		Summary: "what an hour in the shop costs before anybody is paid",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "yearly", Summary: "rent, power, insurance, wear and the like in a year, added with +", Kind: Money, Required: true, MaxLength: 200, Example: "1800 + 420 + 260"},
			{Name: "hours", Summary: "your hours in the shop in a year", Kind: Hours, Required: true, Example: "900"},
			{Name: "productive", Summary: "the part of them that goes into pieces you sell; all unless you say", Kind: Percent, Example: "60%"},
		},
		Examples: []string{"/cost overhead yearly:1800 + 420 + 260 hours:900 productive:60%"},
		Run:      h.answerCostOverhead,
	}
}

func (h house) answerCostOverhead(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	yearly, hours := in.money("yearly"), in.hours("hours")
	share := big.NewRat(1, 1)
	if in.has("productive") {
		share = value(in, "productive", func(text string) (*big.Rat, error) {
			p, err := measure.ParsePercent(text)
			if err == nil && (p.Rat().Sign() <= 0 || p.Rat().Cmp(big.NewRat(1, 1)) > 0) {
				return nil, &measure.InputError{Value: text, Problem: "is not between 0 and 100 % of your hours"}
			}
			return p.Rat(), err
		})
	}
	if in.err == nil && hours <= 0 {
		in.fail(&Mistake{Option: "hours", Given: measure.Quote(req.Options["hours"]), Problem: "is no time to spread the costs over", Try: "900"})
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	productive := new(big.Rat).Mul(hoursRat(hours), share)
	each, err := price.PerUp(yearly, productive)
	if err != nil {
		return Reply{}, err
	}
	productiveText := strings.TrimSuffix(measure.Decimal(productive, 1), ".0")
	reply := Reply{
		Title:   "Overhead",
		Private: true,
		Figures: []Figure{
			hourlyFigure("overhead_hourly", "Overhead", each, req),
			{Key: "productive_hours", Label: "Productive hours in a year", Value: productiveText, Unit: "h", Text: productiveText + " h"},
		},
		Notes: []string{
			sentence("Read as: ", moneyText(yearly, req.Locale)+" a year", measure.FormatDuration(hours)+" in the shop",
				percentOf(decimal.NewFromBigRat(share, 9))+" of them productive"),
			"Yearly costs over productive hours, rounded up to the next " + coin(in.currency, req.Locale) + " so that it covers them.",
		},
		Actions: []Action{{Label: "Keep it in my settings", Path: "settings set", Options: map[string]string{"overhead": each.String()}}},
	}
	if !in.has("productive") {
		reply.Notes = append(reply.Notes, "I took every hour to go into a piece you sell. 50 to 70 % is common practice (no source): add productive:60%.")
	}
	return reply, nil
}
