package commands

import (
	"strings"

	"tallystick/calc/measure"
)

// ladderChart draws what each price pays an hour. Amounts are written plainly and
// the currency by its code: the typeface has not every currency's sign.
func (d deal) ladderChart(rungs []rung) (alt string, draw painter) {
	c := barChart{title: "What each price pays an hour, in " + d.in.currency.Code()}
	if !d.span.Known() && d.span.Low > 0 {
		c.title = "Pay an hour in " + d.in.currency.Code() + ": filled if it takes " + measure.FormatDuration(d.span.High) + ", outlined if " + measure.FormatDuration(d.span.Low)
	}
	var said []string
	for _, r := range rungs {
		b := bar{label: r.at.Plain(), value: r.pays.Decimal(), upTo: r.pays.Decimal(), text: r.pays.Plain(), plain: len(r.names) == 0}
		if len(r.names) > 0 {
			b.label = strings.Join(r.names, ", ") + "  " + b.label
		}
		says := r.at.Plain()
		if len(r.names) > 0 {
			says += " (" + strings.Join(r.names, ", ") + ")"
		}
		if r.top.Cmp(r.pays) > 0 {
			b.upTo = r.top.Decimal()
			b.text += " to " + r.top.Plain()
		}
		c.bars = append(c.bars, b)
		said = append(said, says+" pays "+b.text)
	}
	if d.known("lowest-rate") {
		c.marks = append(c.marks, chartMark{label: "lowest " + d.lowest.Plain(), at: d.lowest.Decimal(), dotted: true})
	}
	if d.known("rate") {
		c.marks = append(c.marks, chartMark{label: "wanted " + d.wanted.Plain(), at: d.wanted.Decimal()})
	}
	when := measure.FormatDuration(d.span.High)
	if !d.span.Known() {
		when = spanText(d.span)
	}
	return cutAlt("Bars of what an hour brings in " + d.in.currency.Code() + ", over " + when + ", by price, the lowest first: " + strings.Join(said, "; ") + "."), c.png
}

// altLimit is the most that a picture's description may hold.
const altLimit = 1024

func cutAlt(text string) string {
	runes := []rune(text)
	if len(runes) <= altLimit {
		return text
	}
	return string(runes[:altLimit-1]) + "…"
}
