package price

import (
	"time"

	"github.com/shopspring/decimal"
)

// exact is a quotient that has not been rounded yet. The divisor is positive.
type exact struct{ num, den decimal.Decimal }

var one = decimal.New(1, 0)

// up rounds to the next multiple of step at or above the quotient.
func (e exact) up(step decimal.Decimal) decimal.Decimal {
	q, r := e.num.QuoRem(e.den.Mul(step), 0)
	if r.IsPositive() {
		q = q.Add(one)
	}
	return q.Mul(step)
}

// down rounds to the next multiple of step at or below the quotient.
func (e exact) down(step decimal.Decimal) decimal.Decimal {
	return exact{num: e.num.Neg(), den: e.den}.up(step).Neg()
}

// halfEven rounds to places decimals, a tie to the even neighbour.
func (e exact) halfEven(places int32) decimal.Decimal {
	q, r := e.num.QuoRem(e.den, places) // towards zero
	unit := decimal.New(1, -places)
	switch twice := r.Abs().Mul(decimal.New(2, 0)); twice.Cmp(e.den.Mul(unit)) {
	case -1:
		return q
	case 0:
		if q.Shift(places).Mod(decimal.New(2, 0)).IsZero() {
			return q
		}
	}
	if e.num.IsNegative() {
		return q.Sub(unit)
	}
	return q.Add(unit)
}

// nearest is the quotient as money, half to even to the minor unit.
func (e exact) nearest(c Currency) (Money, error) {
	return bounded(Money{amount: e.halfEven(c.digits), currency: c})
}

// nanosecondsAnHour turns a rate an hour and a time.Duration into money without
// a division: amounts are carried multiplied by it until the last step.
var nanosecondsAnHour = decimal.New(int64(time.Hour), 0)

func inNanoseconds(d time.Duration) decimal.Decimal { return decimal.New(int64(d), 0) }
