package commands

import (
	"context"
	"errors"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/pool"
)

func (h house) hostRules() Command {
	options := make([]Option, 0, len(hostRules)+1)
	for _, r := range hostRules {
		options = append(options, Option{Name: r.option, Summary: r.summary + ", in " + r.unit, Kind: Count, Example: r.example})
	}
	return Command{
		Path:     "host rules",
		Summary:  "make the release rules stricter, or take them back to the loosest",
		Private:  true,
		HostOnly: true,
		Options:  append(options, Option{Name: "standard", Summary: "yes, to take all back to the loosest", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}}),
		Examples: []string{"/host rules makers:10", "/host rules standard:yes"},
		Run:      h.answerHostRules,
	}
}

// mostRule is more than any rule needs to be.
const mostRule = 1000

func (h house) answerHostRules(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	if len(req.Options) == 0 {
		return Reply{}, &Mistake{Option: "makers", Problem: "or another rule is needed, to be made stricter", Try: req.command.Examples[0]}
	}
	rules := rulesOf(in.community)
	if in.has("standard") {
		rules = pool.StandardRules()
	}
	for _, r := range hostRules {
		if !in.has(r.option) {
			continue
		}
		n := value(in, r.option, func(text string) (int64, error) {
			n, err := measure.ParseNumber(text)
			whole, ok := n.Whole()
			if err != nil || !ok || whole < 1 || whole > mostRule {
				return 0, &measure.InputError{Value: text, Problem: "is not a whole number from 1 to " + strconv.Itoa(mostRule), Hint: r.example}
			}
			return whole, nil
		})
		rules, _ = rules.With(r.rule, n)
		if in.err != nil {
			return Reply{}, in.err
		}
		if err := rules.Stricter(pool.StandardRules()); err != nil {
			return Reply{}, looser(err, r.option, req.Options[r.option])
		}
	}
	if rules.Window*daysAMonth <= rules.Age {
		return Reply{}, &Mistake{Option: "window", Given: measure.Quote(req.Options["window"]), Problem: "is shorter than the age at which a sale begins to count, so nothing would", Try: "18"}
	}
	community := in.community
	if community.Rules = rules; rules == pool.StandardRules() {
		community.Rules = pool.Rules{}
	}
	if err := h.Store.SetCommunity(ctx, req.Community, community); err != nil {
		return Reply{}, err
	}
	return Reply{
		Title:   "The release rules from now on",
		Private: true,
		Tables:  []Table{{Columns: []string{"rule", "is", "loosest"}, Rows: ruleRows(rules)}},
		Notes:   []string{"They hold from the next release on. Sales older than the window are deleted with it, for good."},
	}, nil
}

// daysAMonth is at most how many days a month has here: a bound, not a calendar.
const daysAMonth = 28

// looser says which bound a rule may not pass.
func looser(err error, option, given string) error {
	l, ok := errors.AsType[*pool.LooserError](err)
	if !ok {
		return err
	}
	side := "at least "
	if l.Most {
		side = "at most "
	}
	limit := strconv.FormatInt(l.Limit, 10)
	return &Mistake{Option: option, Given: measure.Quote(given), Problem: "is looser than the rules may be; it has to be " + side + limit, Try: limit}
}
