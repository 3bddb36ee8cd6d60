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

// apiece looks for such a word directly behind or before the times and the amounts
// paid out of a clause.
func (l *lineReader) apiece(clause []*token) {
	for k, word := range clause {
		if !eachWords[word.word] {
			continue
		}
		if p := word.part; p != nil {
			p.each = p.each || p.ofPieces()
			continue
		}
		if !word.isFree() {
			continue
		}
		var beside *part
		switch {
		case k > 0 && !word.plus && clause[k-1].part.ofPieces():
			beside = clause[k-1].part
		case k+1 < len(clause) && !clause[k+1].plus && clause[k+1].part.ofPieces():
			beside = clause[k+1].part
		default:
			continue
		}
		beside.each, word.part = true, beside
		beside.labels = append(beside.labels, word)
	}
}

// ofPieces reports whether the part may be said of one piece of several.
func (p *part) ofPieces() bool {
	return p != nil && !p.dropped() && (p.kind == timePart || p.kind == moneyPart && p.role == costRole)
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
