package commands

import (
	"context"
	"errors"

	"tallystick/store"
)

func (h house) privacyForget() Command {
	return Command{
		Path:     "privacy forget",
		Summary:  "erase everything that is kept of you here",
		Private:  true,
		Options:  []Option{yesConfirm},
		Examples: []string{"/privacy forget", "/privacy forget confirm:yes"},
		Run:      h.answerPrivacyForget,
	}
}

// NothingToForget is the title of the reply to somebody of whom nothing is kept.
const NothingToForget = "There is nothing of yours to forget"

func (h house) answerPrivacyForget(ctx context.Context, req Request) (Reply, error) {
	if blank(req.Options["confirm"]) {
		return Reply{
			Title:   "Forgetting you erases everything I keep of you here",
			Private: true,
			Notes: []string{
				"Shared sales, previews, your consent, whether you share a shop, your settings, your questions to the room and your answers in it, and all your job sheets, at once and for good. Nobody can bring it back; /privacy export and /piece export give you copies first.",
				"Published medians stay published. They name nobody, and follow at the next release that may change them.",
			},
			Actions: []Action{{Label: "Forget me", Path: "privacy forget", Options: map[string]string{"confirm": "yes"}}, {Label: "Export first", Path: "privacy export"}},
		}, nil
	}
	questions, err := h.Store.DropQuestions(ctx, whoAsks(req))
	if err != nil {
		return Reply{}, err
	}
	rooms, err := h.Store.DropRooms(ctx, whoAsks(req))
	if err != nil {
		return Reply{}, err
	}
	n, err := h.Store.WithdrawAll(ctx, whoAsks(req), req.Delivery, req.Time)
	if errors.Is(err, store.ErrNotFound) && (questions || rooms) {
		err = nil
	}
	if errors.Is(err, store.ErrNotFound) {
		return Reply{Title: NothingToForget, Private: true}, nil
	}
	if err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "Forgotten",
		Private: true,
		Notes:   []string{"Erased: " + countOf(n, "shared sale", "shared sales") + ", and whatever else was kept of you here. That you asked is remembered for 30 days, scrambled, so that a repeated message does not do it twice."},
	}, nil
}
