package price

import (
	"time"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// Job is what is known of one piece before or after its sale.
type Job struct {
	// Cost is the direct cost C: materials, consumables, tool wear, trips.
	Cost Money
	// Fixed is the fixed part f of the selling fee.
	Fixed Money
	// Fee is the part p of the price that the selling takes.
	Fee Fraction
	// Hours is the maker's own time h.
	Hours time.Duration
}

// BreakEven is the price at which the maker's own time is unpaid and nothing is
// lost: (C+f)/(1−p), rounded up to the minor unit.
//
// The gross-up for a percentage fee is ordinary algebra: P(1−p)−f = C.
func (j Job) BreakEven() (Money, error) { return j.Target(Money{}) }

// Target is the price that pays wanted an hour: (C+f+w·h)/(1−p), rounded up to
// the minor unit so that it never pays less.
func (j Job) Target(wanted Money) (Money, error) { return j.Asking(wanted, Fraction{}) }

// Asking is the price to ask where a buyer is expected to bring it down by the
// fraction d: target/(1−d), rounded up once, from the unrounded target. It is not
// target·(1+d), which would end below the target.
func (j Job) Asking(wanted Money, d Fraction) (Money, error) {
	c, err := common(j.Cost, j.Fixed, wanted)
	if err != nil {
		return Money{}, err
	}
	needs := j.Cost.amount.Add(j.Fixed.amount).Mul(nanosecondsAnHour).
		Add(wanted.amount.Mul(inNanoseconds(j.Hours)))
	e := exact{num: needs, den: nanosecondsAnHour.Mul(j.Fee.left()).Mul(d.left())}
	return bounded(Money{amount: e.up(decimal.New(1, -c.digits)), currency: c})
}

// Left is what remains of a price after the fee and the direct cost:
// P(1−p)−f−C, rounded half to even. It may be below zero.
func (j Job) Left(at Money) (Money, error) {
	c, err := common(j.Cost, j.Fixed, at)
	if err != nil {
		return Money{}, err
	}
	e := exact{num: j.left(at), den: one}
	return bounded(Money{amount: e.halfEven(c.digits), currency: c})
}

// Hourly is what a price pays for an hour of the maker's time:
// (P(1−p)−f−C)/h, rounded half to even. It stays below zero where the sale lost
// money, and is undefined without hours.
func (j Job) Hourly(at Money) (Money, error) {
	c, err := common(j.Cost, j.Fixed, at)
	if err != nil {
		return Money{}, err
	}
	if j.Hours <= 0 {
		return Money{}, &measure.InputError{Value: "0", Problem: "hours leave no hourly rate", Hint: "7.5 or 7h30"}
	}
	e := exact{num: j.left(at).Mul(nanosecondsAnHour), den: inNanoseconds(j.Hours)}
	return bounded(Money{amount: e.halfEven(c.digits), currency: c})
}

func (j Job) left(at Money) decimal.Decimal {
	return at.amount.Mul(j.Fee.left()).Sub(j.Fixed.amount).Sub(j.Cost.amount)
}
