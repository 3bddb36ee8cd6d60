package commands

import (
	"context"
	"errors"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) hostCurrency() Command {
	return Command{
		Path:     "host currency",
		Summary:  "say in which currency the log is kept, before the first sale",
		Private:  true,
		HostOnly: true,
		Options:  []Option{{Name: "code", Summary: "its three letters (ISO 4217)", Kind: Word, Required: true, Example: "EUR"}},
		Examples: []string{"/host currency code:EUR"},
		Run:      h.answerHostCurrency,
	}
}

func (h house) answerHostCurrency(ctx context.Context, req Request) (Reply, error) {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	typed := req.Options["code"]
	currency, err := price.ParseCurrency(strings.ToUpper(strings.TrimSpace(typed)))
	if err != nil {
		o, _ := req.command.Option("code")
		return Reply{}, mistaken(o, err)
	}
	community.Currency = currency.Code()
	err = h.Store.SetCommunity(ctx, req.Community, community)
	if errors.Is(err, store.ErrConflict) {
		return Reply{}, &Mistake{Option: "code", Given: measure.Quote(typed), Problem: "comes too late: there are sales or previews in another currency, and I never convert money", Try: "it in a community whose log is empty"}
	}
	if err != nil {
		return Reply{}, err
	}
	return Reply{Title: "The log is kept in " + currency.Code(), Private: true,
		Notes: []string{"It can be changed until the first sale or preview is there."}}, nil
}
