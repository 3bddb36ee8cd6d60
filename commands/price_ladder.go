package commands

import (
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// roundRungs is how many round prices stand between the named ones at most: with
// them the table still fits a phone.
const roundRungs = 4

// rung is one price of the ladder with what it pays an hour at the longer and the
// shorter time, and the names it goes by.
type rung struct {
	at        price.Money
	left      price.Money
	pays, top price.Money
	names     []string
}

// ladder is the named prices with round ones between them, the lowest first.
func (d deal) ladder(prices []priced) ([]rung, error) {
	rungs := make([]rung, 0, len(prices)+roundRungs)
	add := func(at price.Money, name string) {
		i := 0
		for i < len(rungs) && rungs[i].at.Cmp(at) != 0 {
			i++
		}
		if i == len(rungs) {
			rungs = append(rungs, rung{at: at})
		}
		if name != "" {
			rungs[i].names = append(rungs[i].names, name)
		}
	}
	for _, p := range prices {
		if p.key == "asking_price" && d.haggle.IsZero() {
			continue // it is the target
		}
		if p.low.Cmp(p.high) == 0 {
			add(p.high, p.short)
			continue
		}
		add(p.low, p.short+" at "+measure.FormatDuration(d.span.Low))
		add(p.high, p.short+" at "+measure.FormatDuration(d.span.High))
	}
	first, last := prices[0].low, prices[len(prices)-1].high
	for _, at := range price.Ladder(first, last, roundRungs) {
		add(at, "")
	}
	slices.SortFunc(rungs, func(a, b rung) int { return a.at.Cmp(b.at) })
	at := make([]price.Money, len(rungs))
	for i, r := range rungs {
		at[i] = r.at
	}
	long, err := d.job.Takings(at)
	if err != nil {
		return nil, err
	}
	short := long
	if !d.span.Known() && d.span.Low > 0 {
		if short, err = d.at(d.span.Low).Takings(at); err != nil {
			return nil, err
		}
	}
	for i := range rungs {
		rungs[i].left, rungs[i].pays, rungs[i].top = long[i].Left, long[i].Hourly, short[i].Hourly
	}
	return rungs, nil
}

// ladderTable shows what is left and what an hour brings at each price; where the
// time is a range, what an hour brings at either end of it.
func (d deal) ladderTable(rungs []rung) Table {
	locale := d.in.req.Locale
	ranged := !d.span.Known() && d.span.Low > 0
	t := Table{Title: "What each price leaves you", Columns: []string{"price", "left", "an hour", "which is"}}
	if ranged {
		t.Title = "What each price pays an hour"
		t.Columns = []string{"price", "in " + measure.FormatDuration(d.span.High), "in " + measure.FormatDuration(d.span.Low), "which is"}
	}
	t.Rows = make([][]string, len(rungs))
	for i, r := range rungs {
		first, second := r.left, r.pays
		if ranged {
			first, second = r.pays, r.top
		}
		t.Rows[i] = []string{moneyText(r.at, locale), moneyText(first, locale), moneyText(second, locale), strings.Join(r.names, ", ")}
	}
	return t
}
