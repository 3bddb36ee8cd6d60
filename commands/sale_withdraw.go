package commands

import (
	"context"
	"errors"
	"fmt"

	"tallystick/calc/measure"
	"tallystick/store"
)

func (h house) saleWithdraw() Command {
	return Command{
		Path:    "sale withdraw",
		Summary: "take a shared sale back out of the log, or all of yours",
		Private: true,
		Options: []Option{
			{Name: "sale", Summary: "its number in /sale mine", Kind: Word, Example: "1"},
			{Name: "code", Summary: "or its withdrawal code", Kind: Code, Example: "K7Q2-MX4T-9PCD"},
			{Name: "all", Summary: "or everything: all sales, previews and your consent", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}},
		},
		Examples: []string{"/sale withdraw sale:1", "/sale withdraw all:yes"},
		Run:      h.answerSaleWithdraw,
	}
}

func (h house) answerSaleWithdraw(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	if len(req.Options) != 1 {
		return Reply{}, &Mistake{Option: "sale", Problem: "or code or all says what to withdraw, one of the three", Try: req.command.Examples[0]}
	}
	who := store.Who{Community: req.Community, Member: req.Member}
	switch {
	case in.has("all"):
		n, err := h.Store.OptOut(ctx, who, req.Delivery, req.Time)
		if errors.Is(err, store.ErrNotFound) {
			return Reply{Title: "Nothing of yours is kept here", Private: true, Notes: []string{"There was nothing to withdraw."}}, nil
		}
		if err != nil {
			return Reply{}, err
		}
		return withdrawn(fmt.Sprintf("Withdrawn: %d of your sales, your previews and your consent", n), "They have left the log."), nil
	case in.has("code"):
		err = h.Store.WithdrawByCode(ctx, req.Community, req.Delivery, req.Options["code"], req.Time)
		if errors.Is(err, store.ErrNotFound) {
			return Reply{}, &Mistake{Option: "code", Given: measure.Quote(req.Options["code"]), Problem: "belongs to no sale in this log", Try: "/sale mine"}
		}
	default:
		number := value(in, "sale", func(text string) (int64, error) {
			n, err := measure.ParseNumber(text)
			whole, ok := n.Whole()
			if err != nil || !ok {
				return 0, &measure.InputError{Value: text, Problem: "is not a number of /sale mine", Hint: "1"}
			}
			return whole, nil
		})
		if in.err != nil {
			return Reply{}, in.err
		}
		err = h.Store.Withdraw(ctx, who, req.Delivery, int(number), req.Time)
		if errors.Is(err, store.ErrNotFound) {
			return Reply{}, &Mistake{Option: "sale", Given: measure.Quote(req.Options["sale"]), Problem: "is not a number of /sale mine", Try: "/sale mine to see them"}
		}
	}
	if err != nil {
		return Reply{}, err
	}
	return withdrawn("Withdrawn", "It has left the log."), nil
}

func withdrawn(title, left string) Reply {
	return Reply{Title: title, Private: true, Notes: []string{
		left + " Published figures follow at the next release that may change them."}}
}
