package commands

import (
	"context"
	"errors"
	"strings"
	"unicode/utf8"

	"tallystick/calc/measure"
	"tallystick/store"
)

// shopWord are the fewest and the most characters of a shop's word.
const leastShopWord, mostShopWord = 6, 40

func (h house) privacyShop() Command {
	return Command{
		Path:    "privacy shop",
		Summary: "count as one maker with those you share a shop with",
		Private: true,
		Options: []Option{
			{Name: "word", Summary: "a word your shop agrees on: all who say it count as one", Kind: Code, MaxLength: 100, Example: "larch-tuesday"},
			{Name: "leave", Summary: "yes, to count alone again", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}},
		},
		Examples: []string{"/privacy shop word:larch-tuesday", "/privacy shop leave:yes"},
		Run:      h.answerPrivacyShop,
	}
}

func (h house) answerPrivacyShop(ctx context.Context, req Request) (Reply, error) {
	word, leave := strings.ToLower(strings.Join(strings.Fields(req.Options["word"]), " ")), !blank(req.Options["leave"])
	switch {
	case leave && word != "":
		return Reply{}, &Mistake{Option: "leave", Problem: "and word ask for two different things", Try: "one of the two"}
	case leave:
		err := h.Store.LeaveShop(ctx, whoAsks(req))
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return Reply{}, err
		}
		return Reply{Title: "You count as a maker alone", Private: true, Notes: []string{"From the next release on."}}, nil
	case word == "":
		return Reply{}, &Mistake{Option: "word", Problem: "is needed, or leave: " + req.command.Options[0].Summary, Try: req.command.Examples[0]}
	}
	if n := utf8.RuneCountInString(word); n < leastShopWord || n > mostShopWord {
		return Reply{}, &Mistake{Option: "word", Given: measure.Quote(req.Options["word"]), Problem: "has to have 6 to 40 characters", Try: "larch-tuesday"}
	}
	if err := h.Store.JoinShop(ctx, whoAsks(req), word); err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "You count as one maker with everybody here who says the same word",
		Private: true,
		Notes: []string{
			"Tell the word to those you share the shop with, and to nobody else: each says it here once, in capitals or not. I keep a scramble of it and cannot repeat it.",
			"It holds from the next release on. To count alone again: /privacy shop leave:yes.",
		},
	}, nil
}
