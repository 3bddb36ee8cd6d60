package price

import "time"

// exact is a quotient that has not been rounded yet. The divisor is positive.
type exact struct{ num, den number }

// up rounds to the next multiple of step at or above the quotient.
func (e exact) up(step number) number {
	q, r := e.num.QuoRem(e.den.Mul(step))
	if r.IsPositive() {
		q = q.Add(one)
	}
	return q.Mul(step)
}

// down rounds to the next multiple of step at or below the quotient.
func (e exact) down(step number) number {
	return exact{num: e.num.Neg(), den: e.den}.up(step).Neg()
}

// halfEven rounds to places decimals, a tie to the even neighbour.
func (e exact) halfEven(places int32) number {
	unit := e.den.Shift(-places)
	q, r := e.num.QuoRem(unit) // towards zero
	up := r.Abs().Mul(two).Cmp(unit)
	if up == 0 {
		_, odd := q.QuoRem(two)
		up = odd.Abs().Sign()
	}
	switch {
	case up <= 0:
	case e.num.IsNegative():
		q = q.Sub(one)
	default:
		q = q.Add(one)
	}
	return q.Shift(-places)
}

// nearest is the quotient as money, half to even to the minor unit.
func (e exact) nearest(c Currency) (Money, error) {
	return bounded(Money{amount: e.halfEven(c.digits), currency: c})
}

// inHours is a time as a fraction of hours in lowest terms: parts/anHour. Amounts are
// carried multiplied by anHour until the last step, so that nothing is divided before.
func inHours(d time.Duration) (parts, anHour number) {
	a, b := max(d, -d), time.Hour
	for b != 0 {
		a, b = b, a%b
	}
	return whole(int64(d / a)), whole(int64(time.Hour / a))
}

func inNanoseconds(d time.Duration) number { return whole(int64(d)) }
