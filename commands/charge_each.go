package commands

import (
	"math/big"
	"slices"
	"strconv"
	"time"

	"tallystick/calc/price"
)

// eachWords say that a time or an amount is that of one piece of several: "5h each".
var eachWords = wordSet("each apiece")

// apiece looks for such a word directly before or behind the times and the amounts
// paid out of a clause.
func (l *lineReader) apiece(clause []*token) {
	for i, t := range clause {
		p := t.part
		if p == nil || p.at != i || p.dropped() || p.kind != timePart && (p.kind != moneyPart || p.role != costRole) {
			continue
		}
		for k, word := range clause {
			if !eachWords[word.word] || word.part != p && !(word.isFree() && beyond(clause, p, k)) {
				continue
			}
			p.each = true
			if word.part == nil {
				word.part = p
				p.labels = append(p.labels, word)
			}
			break
		}
	}
}

// beyond tells whether the k-th word stands directly beside the words of a part,
// with no plus sign between.
func beyond(clause []*token, p *part, k int) bool {
	if k > 0 && clause[k-1].part == p && !clause[k].plus {
		return true
	}
	return k+1 < len(clause) && clause[k+1].part == p && !clause[k+1].plus
}

// multiply makes of what was said of one piece what all of them take and cost.
func (r *lineReading) multiply(pieces int) {
	if pieces < 2 {
		return
	}
	for _, p := range r.parts {
		if !p.each {
			continue
		}
		p.pieces = pieces
		switch {
		case p.kind == timePart && p.span.High > mostTime/time.Duration(pieces):
			r.doubts = append(r.doubts, quoted(p.wrote())+" comes to more than 100,000 hours: write the time of one piece, such as 5h each.")
			p.drop()
		case p.kind == timePart:
			p.span.Low, p.span.High = p.span.Low*time.Duration(pieces), p.span.High*time.Duration(pieces)
		default:
			var err error
			if p.money, err = price.CostOf(big.NewRat(int64(pieces), 1), p.money); err != nil {
				r.doubts = append(r.doubts, "The amounts come to more money than I count.")
				p.drop()
			}
		}
	}
	r.parts = slices.DeleteFunc(r.parts, (*part).dropped)
}

// mostTime is the longest time that measure reads.
const mostTime = 100_000 * time.Hour

// forAll says of what was told of one piece that it is that of all.
func (p *part) forAll() string {
	if p.pieces == 0 {
		return ""
	}
	return " for all " + strconv.Itoa(p.pieces)
}
