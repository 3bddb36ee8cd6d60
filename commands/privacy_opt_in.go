package commands

import (
	"context"
	"strconv"
)

func (h house) privacyOptIn() Command {
	return Command{
		Path:    "privacy opt-in",
		Summary: "read what sharing means and agree to it; nothing is shared by that",
		Private: true,
		Options: []Option{
			{Name: "agree", Summary: "yes, once you have read it", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}},
		},
		Examples: []string{"/privacy opt-in", "/privacy opt-in agree:yes"},
		Run:      h.answerPrivacyOptIn,
	}
}

func (h house) answerPrivacyOptIn(ctx context.Context, req Request) (Reply, error) {
	if blank(req.Options["agree"]) {
		return Reply{
			Title:   "What you would agree to (wording " + strconv.Itoa(wordingVersion) + ")",
			Private: true,
			Notes:   append(append([]string{}, wording...), "Nothing is noted yet. Agreeing shares nothing: every sale is still a separate act, with a preview of exactly what leaves."),
			Actions: []Action{{Label: "I agree", Path: "privacy opt-in", Options: map[string]string{"agree": "yes"}}},
		}, nil
	}
	if err := h.Store.OptIn(ctx, whoAsks(req), wordingVersion, req.Time); err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "Noted: you agree to wording " + strconv.Itoa(wordingVersion),
		Private: true,
		Notes:   []string{"Nothing is shared by that. To share a finished sale: /sale share. To take it all back: /privacy opt-out."},
		Actions: []Action{{Label: "Opt out again", Path: "privacy opt-out"}},
	}, nil
}
