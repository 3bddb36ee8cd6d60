package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
)

func (h house) piecePlan() Command {
	return Command{
		Path:     "piece plan",
		Summary:  "change what is planned for a piece: rate, estimate, fee, size, kind",
		Private:  true,
		Options:  append(h.planOptions(), h.pieceOption()),
		Examples: []string{"/piece plan rate:25 estimate:12h"},
		Run:      h.answerPiecePlan,
	}
}

func (h house) answerPiecePlan(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(making) (price.Entry, error) {
		facts := in.planFacts()
		if len(facts) == 0 && in.err == nil {
			in.fail(&Mistake{Option: "rate", Problem: "and everything else are missing, so there is nothing to change", Try: req.command.Examples[0]})
		}
		return price.Entry{Kind: price.EntryPlan, Currency: in.currency.Code(), Facts: facts}, nil
	})
	if err != nil {
		return Reply{}, err
	}
	c, err := price.ParseCurrency(e.Currency)
	if err != nil {
		return Reply{}, err
	}
	reply, err := h.entered(ctx, in, e, "The plan of piece "+strconv.Itoa(e.Piece)+" is changed", "Read as: "+in.planRead(e.Facts, c)+".")
	return reply, err
}
