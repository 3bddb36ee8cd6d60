package commands

import (
	"context"
	"fmt"
	"strconv"

	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) privacyShow() Command {
	return Command{
		Path:     "privacy show",
		Summary:  "what I keep of you, for how long, and who sees it",
		Private:  true,
		Examples: []string{"/privacy show"},
		Run:      h.answerPrivacyShow,
	}
}

func (h house) answerPrivacyShow(ctx context.Context, req Request) (Reply, error) {
	own, err := h.Store.Own(ctx, whoAsks(req))
	if err != nil {
		return Reply{}, err
	}
	settings, pieces, err := h.besideTheLog(ctx, whoAsks(req))
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{
		Title:   "What I keep of you",
		Private: true,
		Tables: []Table{{Columns: []string{"what", "kept"}, Rows: [][]string{
			{countOf(len(own.Sales), "shared sale", "shared sales"), "24 months at most"},
			{countOf(len(own.Drafts), "preview", "previews"), "7 days"},
			{consentText(own.Consent), "until you opt out"},
			{shopText(own.Shop), "until you change it"},
			{settingsText(settings), "until you drop them"},
			{countOf(pieces, "job sheet", "job sheets"), "until you delete them"},
		}}},
		Notes: []string{
			"Only you see these. Of the sales, others see medians; the host sees those, and how many share, in bands.",
			"Job sheets and settings are seen by you alone, and hang on scrambles of their own. They are kept as you typed them.",
			"Your name, account, words, pictures, exact days and buyers are not kept in the log. A sale hangs on a scrambled tag, whose key lies outside the database: a stolen database names nobody. With the key the program can tell which sales are yours, and so give them back or erase them.",
			"Medians that were published stay published: they name nobody, stand on at least 8 makers, and are rounded.",
		},
	}
	switch {
	case own.Consent == nil:
		reply.Actions = append(reply.Actions, Action{Label: "Opt in", Path: "privacy opt-in"})
	case own.Consent.Wording != wordingVersion:
		reply.Notes = append(reply.Notes, "The wording has changed since you agreed. Your next share asks you again, or read it now with /privacy opt-in.")
		reply.Actions = append(reply.Actions, Action{Label: "Read the wording", Path: "privacy opt-in"})
		fallthrough
	default:
		reply.Actions = append(reply.Actions, Action{Label: "Opt out", Path: "privacy opt-out"})
	}
	reply.Actions = append(reply.Actions,
		Action{Label: "Export mine", Path: "privacy export"}, Action{Label: "Forget me", Path: "privacy forget"})
	return reply, nil
}

// besideTheLog is what is kept of a member that never leaves for the shared log.
func (h house) besideTheLog(ctx context.Context, who store.Who) (settings store.Settings, pieces int, err error) {
	if settings, err = h.Store.Settings(ctx, who); err != nil {
		return settings, 0, err
	}
	ledger, err := h.Store.Ledger(ctx, who)
	for _, e := range ledger.Entries {
		if e.Kind == price.EntryOpen {
			pieces++
		}
	}
	return settings, pieces, err
}

func settingsText(s store.Settings) string {
	n := len(s.Venues)
	for _, name := range settingNames {
		if settingText(s, name, "en") != "" {
			n++
		}
	}
	return countOf(n, "setting", "settings")
}

func countOf(n int, one, many string) string {
	switch n {
	case 0:
		return "no " + many
	case 1:
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

func consentText(c *store.Consent) string {
	if c == nil {
		return "no consent given"
	}
	return fmt.Sprintf("consent of %s (wording %d)", c.Given.UTC().Format("2 Jan 2006"), c.Wording)
}

func shopText(shares bool) string {
	if shares {
		return "shop: shared"
	}
	return "shop: none"
}
