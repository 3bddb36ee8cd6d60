package price

import "github.com/shopspring/decimal"

// Ladder is the round prices between two, at most as many as wanted: multiples of
// the least of 1, 2 and 5 times a power of ten that gives no more. The bounds
// themselves are rungs only where they are such multiples.
func Ladder(from, to Money, most int) []Money {
	c, span, many := to.currency, to.amount.Sub(from.amount), decimal.New(int64(most)+1, 0)
	for exponent := -c.digits; exponent <= wholeDigits; exponent++ {
		for _, digit := range []int64{1, 2, 5} {
			step := decimal.New(digit, exponent)
			if step.Mul(many).LessThan(span) {
				continue // more than that many lie between, whatever they begin at
			}
			first := exact{num: from.amount, den: one}.up(step)
			last := exact{num: to.amount, den: one}.down(step)
			between, _ := last.Sub(first).QuoRem(step, 0)
			if between.GreaterThanOrEqual(decimal.New(int64(most), 0)) {
				continue
			}
			var rungs []Money
			for at := first; at.LessThanOrEqual(last); at = at.Add(step) {
				rungs = append(rungs, Money{amount: at, currency: c})
			}
			return rungs
		}
	}
	return nil
}
