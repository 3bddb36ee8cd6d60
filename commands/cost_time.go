package commands

import (
	"context"
	"fmt"
	"math/big"
	"strings"
	"time"
	"unicode"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// maxRuns is how many timed runs are averaged.
const maxRuns = 50

func (h house) costTime() Command {
	return Command{
		Path:    "cost time",
		Summary: "what an operation takes and costs on an average day, from runs you timed",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "times", Summary: "the timed runs, joined by semicolons; leave out what went wrong", Kind: Word, Required: true, MaxLength: 400, Example: "8; 10; 9 min"},
			{Name: "rating", Summary: "your pace while timed: 100% unless you say, more where you hurried", Kind: Percent, Example: "110%"},
			{Name: "allowance", Summary: "the part of the day that fetching, cleaning and rest take", Kind: Percent, Example: "15%"},
			rateOption,
		},
		Examples: []string{"/cost time times:8; 10; 9 min rating:110% allowance:15% rate:25"},
		Run:      h.answerCostTime,
	}
}

func (h house) answerCostTime(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	runs := value(in, "times", parseRuns)
	rating, err := measure.ParsePercent("100%")
	if err != nil {
		return Reply{}, err
	}
	if in.has("rating") {
		rating = value(in, "rating", parseRating)
	}
	allowance, rate := in.fraction("allowance"), in.usual("rate", " an hour wanted")
	if in.err != nil {
		return Reply{}, in.err
	}
	normal, err := price.NormalTime(runs, rating)
	if err != nil {
		return Reply{}, err
	}
	standard, err := price.StandardTime(normal, allowance)
	if err != nil {
		o, _ := req.command.Option("allowance")
		return Reply{}, mistaken(o, err)
	}
	reply := Reply{Title: "What the operation takes", Private: true, Figures: []Figure{
		timeFigure("standard_time", "On an average day", standard), timeFigure("normal_time", "At a normal pace, without a break", normal)}}
	if in.knows("rate") {
		cost, err := price.CostOf(hoursRat(standard), rate)
		if err != nil {
			return Reply{}, err
		}
		reply.Figures = append(reply.Figures, moneyFigure("time_cost", "At your rate", cost, req))
	}
	bare := ""
	if allowance.IsZero() {
		bare = "Without an allowance this is what the clock said; add allowance:15% for fetching, cleaning and rest."
	}
	reply.Notes = said(
		fmt.Sprintf("Read as: %s, a pace of %s %%, an allowance of %s %%.", several(len(runs), "run"), strings.TrimSuffix(rating.String(), "%"), allowance.Percent()),
		"Time study: the mean of the runs times the pace, over one less the allowance, which is a share of the whole time.",
		bare)
	return reply, nil
}

// parseRuns reads times apart by semicolons. A unit behind the last one counts for
// those that have none.
func parseRuns(text string) ([]time.Duration, error) {
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '+' })
	if len(words) == 0 || len(words) > maxRuns {
		return nil, &measure.InputError{Value: text, Problem: fmt.Sprintf("is not 1 to %d times", maxRuns)}
	}
	last := strings.TrimSpace(words[len(words)-1])
	unit := ""
	if at := strings.IndexFunc(last, unicode.IsLetter); at >= 0 {
		unit = " " + last[at:]
	}
	runs := make([]time.Duration, len(words))
	for i, w := range words {
		w = strings.TrimSpace(w)
		if !strings.ContainsFunc(w, unicode.IsLetter) && !strings.Contains(w, ":") {
			w += unit
		}
		d, err := measure.ParseDuration(w)
		if err != nil {
			return nil, err
		}
		runs[i] = d
	}
	return runs, nil
}

// fastest is the highest rating that is taken: three times a normal pace.
var fastest = big.NewRat(3, 1)

func parseRating(text string) (measure.Percent, error) {
	p, err := measure.ParsePercent(text)
	if err == nil && (p.Rat().Sign() <= 0 || p.Rat().Cmp(fastest) > 0) {
		return p, &measure.InputError{Value: text, Problem: "is not a pace above 0 and up to 300 %"}
	}
	return p, err
}
