package price

// Ladder is the round prices between two, at most as many as wanted: multiples of
// the least of 1, 2 and 5 times a power of ten that gives no more. The bounds
// themselves are rungs only where they are such multiples.
func Ladder(from, to Money, most int) []Money {
	c, span, many := to.currency, to.amount.Sub(from.amount), whole(int64(most)+1)
	for exponent := -c.digits; exponent <= wholeDigits; exponent++ {
		for _, digit := range []int64{1, 2, 5} {
			step := scaled(digit, exponent)
			if step.Mul(many).Cmp(span) < 0 {
				continue // more than that many lie between, whatever they begin at
			}
			first := exact{num: from.amount, den: one}.up(step)
			last := exact{num: to.amount, den: one}.down(step)
			between, _ := last.Sub(first).QuoRem(step)
			if between.Cmp(whole(int64(most))) >= 0 {
				continue
			}
			rungs := make([]Money, 0, most)
			for at := first; at.Cmp(last) <= 0; at = at.Add(step) {
				rungs = append(rungs, Money{amount: at, currency: c})
			}
			return rungs
		}
	}
	return nil
}
