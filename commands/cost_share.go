package commands

import (
	"context"
	"math/big"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) costShare() Command {
	return Command{
		Path:    "cost share",
		Summary: "what a part of a container costs: glue, finish, screws, sandpaper",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "price", Summary: "what the whole container cost", Kind: Money, Required: true, Example: "18.90"},
			{Name: "amount", Summary: "how much was in it", Kind: Portion, Required: true, Example: "500 ml"},
			{Name: "used", Summary: "how much of it went into this piece, or a percentage", Kind: Portion, Required: true, Example: "125 ml"},
		},
		Examples: []string{"/cost share price:18.90 amount:500 ml used:125 ml", "/cost share price:12 amount:50 sheets used:3"},
		Run:      h.answerCostShare,
	}
}

func (h house) answerCostShare(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	paid := in.money("price")
	whole := value(in, "amount", func(text string) (price.Content, error) { return price.ParseContent(text, in.bare) })
	share := value(in, "used", func(text string) (*big.Rat, error) { return whole.Part(text) })
	if in.err != nil {
		return Reply{}, in.err
	}
	cost, err := price.CostOf(share, paid)
	if err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "The share of this piece",
		Private: true,
		Figures: []Figure{
			moneyFigure("cost_share", "Cost to count", cost, req),
			percentFigure("share_used", "Part of the container", decimal.NewFromBigRat(share, 9)),
		},
		Notes: []string{
			"Read as: " + measure.Quote(req.Options["used"]) + " out of " + measure.Quote(req.Options["amount"]) + " for " + moneyText(paid, req.Locale) + ".",
			"Rounded to the nearest " + coin(in.currency, req.Locale) + ". Add it to materials, such as materials:84 + " + cost.Plain() + ".",
		},
	}, nil
}
