package commands

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tallystick/calc/pool"
	"tallystick/store"
)

func (h house) hostShow() Command {
	return Command{
		Path:     "host show",
		Summary:  "how this community's log is set up, and how many share, in bands",
		Private:  true,
		HostOnly: true,
		Examples: []string{"/host show"},
		Run:      h.answerHostShow,
	}
}

func (h house) answerHostShow(ctx context.Context, req Request) (Reply, error) {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	heads, counted, err := h.Store.Headcount(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	rules := rulesOf(community)
	reply := Reply{
		Title:   "This community's log",
		Private: true,
		Tables: []Table{
			{Columns: []string{"setting", "is"}, Rows: [][]string{
				{"currency", community.Currency},
				{"access", accessText(community.Access)},
				{"categories", wordsText(community.Categories)},
				{"regions", wordsText(community.Regions)},
			}},
			{Title: "Release rules", Columns: []string{"rule", "is", "loosest"}, Rows: ruleRows(rules)},
		},
	}
	if counted {
		reply.Notes = append(reply.Notes, fmt.Sprintf("At the release of %s: %s makers and %s sales. You see counts in bands and never a sale; so does everybody.",
			dayText(heads.AsOf), bandText(heads.Makers), bandText(heads.Sales)))
	} else {
		reply.Notes = append(reply.Notes, "There has been no release yet. From the first on you see here how many share, in bands; nobody sees a sale.")
	}
	reply.Notes = append(reply.Notes, "Each setting has its command: /host currency, /host access, /host categories, /host regions.", "Rules can be made stricter and taken back to the loosest, never beyond it: /host rules.",
		"You answer for people's data here. Say in a channel what /privacy show says, and that /privacy forget erases.")
	return reply, nil
}

// rulesOf are the release rules that hold in a community.
func rulesOf(c store.Community) pool.Rules {
	if c.Rules == (pool.Rules{}) {
		return pool.StandardRules()
	}
	return c.Rules
}

func bandText(b pool.Band) string {
	if b == 0 {
		return "fewer than 8"
	}
	return b.String()
}

func wordsText(words []string) string {
	if len(words) == 0 {
		return "none"
	}
	return strings.Join(words, ", ")
}

func accessText(a store.Access) string {
	switch a {
	case store.Sharers:
		return "members who opted in"
	case store.HostOnly:
		return "the host alone: it rests"
	}
	return "everybody"
}

// hostRules are the rules that a host may set, by their options.
var hostRules = []struct {
	option, rule, summary, unit, example string
}{
	{"makers", "makers", "fewest makers behind a figure of all pieces", "makers", "12"},
	{"part-makers", "part_makers", "fewest makers behind that of a category or region", "makers", "15"},
	{"changed", "changed", "fewest makers changed before a figure is renewed", "makers", "7"},
	{"every", "every", "fewest months between two states of a figure", "months", "18"},
	{"age", "age", "how old a sale is before it counts", "days", "180"},
	{"window", "window", "how long a sale counts and is kept, at most", "months", "18"},
	{"active", "min_active", "fewest makers who share before any part is shown", "makers", "20"},
}

func ruleRows(rules pool.Rules) [][]string {
	var rows [][]string
	for _, r := range hostRules {
		is, _ := rules.Of(r.rule)
		loosest, _ := pool.StandardRules().Of(r.rule)
		rows = append(rows, []string{r.option, strconv.FormatInt(is, 10) + " " + r.unit, strconv.FormatInt(loosest, 10)})
	}
	return rows
}
