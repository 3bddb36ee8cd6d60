package commands

import (
	"context"
	"errors"

	"tallystick/store"
)

func (h house) privacyOptOut() Command {
	return Command{
		Path:     "privacy opt-out",
		Summary:  "take back your consent, and your shared sales with it",
		Private:  true,
		Options:  []Option{yesConfirm},
		Examples: []string{"/privacy opt-out", "/privacy opt-out confirm:yes"},
		Run:      h.answerPrivacyOptOut,
	}
}

// yesConfirm stands between a question and what cannot be undone.
var yesConfirm = Option{Name: "confirm", Summary: "yes, to do it; without it you see first what it does", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}}

func (h house) answerPrivacyOptOut(ctx context.Context, req Request) (Reply, error) {
	who := whoAsks(req)
	if blank(req.Options["confirm"]) {
		own, err := h.Store.Own(ctx, who)
		if err != nil {
			return Reply{}, err
		}
		if own.Consent == nil && len(own.Sales)+len(own.Drafts) == 0 {
			return Reply{Title: "You have not opted in", Private: true, Notes: []string{"The log holds no consent, sale or preview of yours."}}, nil
		}
		return Reply{
			Title:   "Opting out withdraws " + countOf(len(own.Sales), "sale", "sales") + " and " + countOf(len(own.Drafts), "preview", "previews"),
			Private: true,
			Notes:   []string{"They leave the log at once and for good; /privacy export gives you a copy first. Published medians follow at the next release that may change them. You can opt in again at any time."},
			Actions: []Action{{Label: "Opt out", Path: "privacy opt-out", Options: map[string]string{"confirm": "yes"}}, {Label: "Export first", Path: "privacy export"}},
		}, nil
	}
	n, err := h.Store.OptOut(ctx, who, req.Delivery, req.Time)
	if errors.Is(err, store.ErrNotFound) {
		return Reply{Title: "You have not opted in", Private: true, Notes: []string{"The log holds no consent, sale or preview of yours."}}, nil
	}
	if err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "You have opted out",
		Private: true,
		Notes: []string{
			"Withdrawn with your consent: " + countOf(n, "sale", "sales") + ". Published medians follow at the next release that may change them.",
			"What you told me elsewhere stays; /privacy forget erases all of it.",
		},
	}, nil
}
