package commands

import (
	"context"
	"math/big"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) budget() Command {
	return Command{
		Path:    "budget",
		Summary: "the most to pay for stock, in all and a rough board foot, at a planned price",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "price", Summary: "the price you plan to sell at", Kind: Money, Required: true, Example: "430"},
			spanOption,
			rateOption,
			lowestRateOption,
			{Name: "costs", Summary: "what you pay out besides the stock; amounts may be added with +", Kind: Money, MaxLength: 200, Example: "40.90"},
			{Name: "board-feet", Summary: "the board feet that end in the piece", Kind: Number, Example: "14.5"},
			{Name: "boards", Summary: "or the finished parts, to have them counted", Kind: Boards, MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
			{Name: "waste", Summary: "the part of the stock that ends as offcuts and shavings", Kind: Percent, Example: "30%"},
			feeOption,
			fixedFeeOption,
			h.venueOption("or the venue it will sell at, one of yours"),
			overheadOption,
			taxOption,
			includedOption,
			feeOnTaxOption,
		},
		Examples: []string{"/budget price:430 hours:9 rate:25 costs:40.90 board-feet:14.5 waste:30% fee:2.9%"},
		Run:      h.answerBudget,
	}
}

func (h house) answerBudget(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	p := plan{deal: in.deal(), at: in.money("price"), waste: in.fraction("waste")}
	p.job.Cost = in.money("costs")
	p.net = in.netFeet()
	if in.err != nil {
		return Reply{}, in.err
	}
	if len(p.venues) > 1 {
		return Reply{}, &Mistake{Option: "venue", Given: measure.Quote(req.Options["venue"]), Problem: "is more than one", Try: p.venues[0].name}
	}
	reply := Reply{Title: "What stock may cost", Private: true}
	short, err := p.figures(&reply)
	if err != nil {
		return Reply{}, err
	}
	reply.Notes = p.notes(short)
	return reply, nil
}

// plan is a piece before its stock is bought.
type plan struct {
	deal
	at    price.Money
	net   *big.Rat
	waste price.Fraction
}

// netFeet is the finished wood, nil where it is not known.
func (in *reading) netFeet() *big.Rat {
	if in.has("boards") && in.has("board-feet") {
		in.fail(&Mistake{Option: "boards", Problem: "and board-feet say the same thing twice", Try: "one of the two"})
	}
	var feet *big.Rat
	switch {
	case in.has("board-feet"):
		feet = value(in, "board-feet", func(text string) (*big.Rat, error) {
			n, err := measure.ParseNumber(text)
			return n.Rat(), err
		})
	case in.has("boards"):
		feet = lumber.VolumeOf(in.lot("boards")).Rat()
	default:
		return nil
	}
	if in.err != nil || !in.above("board-feet", feet) {
		return nil
	}
	return feet
}

// figures adds what stock may cost at each rate that is known, and reports
// whether the price leaves nothing for it at the first of them.
func (p plan) figures(reply *Reply) (short bool, err error) {
	type level struct {
		key, label string
		wanted     price.Money
	}
	levels := []level{{"", "with your own time unpaid", price.Money{}}}
	if p.known("rate") || p.known("lowest-rate") {
		levels = nil
	}
	if p.known("rate") {
		levels = append(levels, level{"", "at your rate", p.wanted})
	}
	if p.known("lowest-rate") {
		levels = append(levels, level{"_at_lowest", "at your lowest rate", p.lowest})
	}
	for i, l := range levels {
		b, err := p.job.BudgetFor(p.at, l.wanted, p.net, p.waste)
		if err != nil {
			return short, err
		}
		reply.Figures = append(reply.Figures, moneyFigure("stock_budget"+l.key, "Most for the stock, "+l.label, b.Total, p.in.req))
		if b.Total.IsNegative() {
			short = short || i == 0
			continue
		}
		if p.net != nil {
			f := moneyFigure("stock_budget_per_board_foot"+l.key, "A rough board foot of it", b.PerFoot, p.in.req)
			f.Unit += "/bf"
			if p.in.bare == measure.Millimetre {
				cubic, err := p.job.BudgetFor(p.at, l.wanted, lumber.FromFeet(p.net).CubicMetres(), p.waste)
				if err != nil {
					return short, err
				}
				metric := moneyFigure("stock_budget_per_cubic_metre"+l.key, "A rough cubic metre of it", cubic.PerFoot, p.in.req)
				metric.Unit += "/m3"
				reply.Figures = append(reply.Figures, metric)
			}
			reply.Figures = append(reply.Figures, f)
		}
	}
	if p.net != nil {
		rough := new(big.Rat).Quo(p.net, new(big.Rat).Sub(big.NewRat(1, 1), p.waste.Decimal().Rat()))
		f := Figure{Key: "rough_board_feet", Label: "Rough stock to buy", Value: measure.Decimal(rough, 2), Unit: "bf"}
		if f.Text = f.Value + " board feet"; p.in.bare == measure.Millimetre {
			f.Text = p.in.feetText(rough)
		}
		reply.Figures = append(reply.Figures, f)
	}
	return short, nil
}

func (p plan) notes(short bool) []string {
	in, locale := p.in, p.in.req.Locale
	var costs, feet, waste string
	if in.has("costs") {
		costs = moneyText(p.job.Cost, locale) + " of other costs"
	}
	if p.net != nil {
		feet = measure.Decimal(p.net, 2) + " board feet"
		if in.bare == measure.Millimetre {
			feet = in.feetText(p.net)
		}
		feet += " in the piece"
	}
	if in.has("waste") {
		waste = p.waste.Percent() + " % waste"
	}
	shortage := ""
	if short {
		shortage = "Below zero: at this price nothing is left for stock, even if you find it for nothing."
	}
	span := ""
	if !p.span.Known() {
		span = "Counted with the longer time, " + measure.FormatDuration(p.span.High) + "."
	}
	return said(then("Planned at "+moneyText(p.at, locale)+".", p.readAs(costs, feet, waste)), shortage, p.hole(), span,
		"Included: the trip and whatever else you named in costs. Rounded down to a whole "+coin(in.currency, locale)+", so that keeping to it pays.", p.taxNote())
}

// hole names the one missing thing that matters most.
func (p plan) hole() string {
	switch {
	case !p.timed():
		return "No hours yet: I counted none of your own time. Add hours:9."
	case !p.known("rate") && !p.known("lowest-rate"):
		return "No wanted rate yet: your own time is unpaid in this. Add rate:25."
	case p.net == nil:
		return "No board feet yet: I can give the total only. Add board-feet:14.5, or boards: with the finished parts."
	case !p.in.has("waste"):
		return "No waste yet: I counted every board foot you buy into the piece. Add waste:30%."
	case !p.in.has("costs"):
		return "No other costs yet: I counted no finish, screws or trip. Add costs:40.90."
	}
	return ""
}
