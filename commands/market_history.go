package commands

import (
	"context"

	"tallystick/calc/pool"
	"tallystick/store"
)

func (h house) marketHistory() Command {
	return Command{
		Path:     "market history",
		Summary:  "how the published medians moved from release to release",
		Options:  h.cutOptions(),
		Examples: []string{"/market history", "/market history category:bench"},
		Run:      h.answerMarketHistory,
	}
}

// The log is read for so many releases, of which so many states are told: a
// figure stays the same for months.
const historyReleases, historyStates = 120, 12

func (h house) answerMarketHistory(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	cut, about := in.cut()
	if in.err != nil {
		return Reply{}, in.err
	}
	if err := h.admit(ctx, req, in.community); err != nil {
		return Reply{}, err
	}
	currency, err := logCurrency(in.community)
	if err != nil {
		return Reply{}, err
	}
	released, err := h.Store.History(ctx, req.Community, cut, historyReleases)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: about + ": the published line of releases"}
	if in.community.Practice {
		reply.Notes = append(reply.Notes, "Practice community: every sale in this log is invented.")
	}
	rows := [][]string{}
	for _, p := range statesOf(released) {
		if len(rows) < historyStates {
			rows = append(rows, []string{p.AsOf.String(), figureText(p.Figure, p.Value, currency, req.Locale), p.Makers.String()})
		}
	}
	m := market{cut: cut, rules: rulesOf(in.community)}
	switch {
	case len(rows) > 0:
		reply.Tables = []Table{{Columns: []string{"as of", "a board foot", "makers"}, Rows: rows}}
		reply.Notes = append(reply.Notes, "Releases are on the 1st of each month. A figure is renewed at most every "+monthsText(m.rules.Every)+
			", and only when at least "+countOf(m.rules.Changed, "maker", "makers")+" behind it have changed; until then it stands with its own date.")
	case len(released) > 0:
		reply.Notes = append(reply.Notes, m.whyNot(released[0].Line.Reason))
	default:
		reply.Notes = append(reply.Notes, "There has been no release yet. The first comes on the 1st of a month, once somebody shares: /sale share.")
	}
	reply.Notes = append(reply.Notes, "Past sales, for orientation; each maker sets their own price.")
	return reply, nil
}

// statesOf gives each state of the price a board foot once, the newest first.
func statesOf(released []store.Dated) []pool.Published {
	var list []pool.Published
	for _, r := range released {
		p, shown := r.Line.Figure(pool.PricePerBoardFoot)
		if shown && (len(list) == 0 || list[len(list)-1].AsOf != p.AsOf) {
			list = append(list, p)
		}
	}
	return list
}

func monthsText(n int) string {
	if n == 1 {
		return "month"
	}
	return countOf(n, "month", "months")
}
