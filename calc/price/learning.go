package price

import (
	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// Learning is how fast repeating a piece makes the maker quicker: each doubling
// of the count brings the time of a piece down to this share. The zero value is
// no learning.
type Learning struct{ rate decimal.Decimal }

// NoLearning is a learning rate of 100 %: every piece takes as long as the first.
var NoLearning = Learning{rate: one.Decimal()}

const learningHint = "90% or 85%"

// ParseLearning reads a learning rate from 50 % to 100 %.
func ParseLearning(text string) (Learning, error) {
	p, err := measure.ParsePercent(text)
	if err != nil {
		return Learning{}, err
	}
	l := Learning{rate: decimal.New(p.Fraction())}
	switch {
	case l.rate.GreaterThan(one.Decimal()):
		return Learning{}, &measure.InputError{Value: text, Problem: "would make every further piece slower", Hint: learningHint}
	case l.rate.LessThan(decimal.New(5, -1)):
		return Learning{}, &measure.InputError{Value: text, Problem: "would more than halve the time with each doubling, which nobody does", Hint: learningHint}
	}
	return l, nil
}

// Percent is the rate without the sign: "85".
func (l Learning) Percent() string { return l.of().Shift(2).String() }

// IsNone is true where nothing is learnt.
func (l Learning) IsNone() bool { return l.of().Equal(one.Decimal()) }

func (l Learning) of() decimal.Decimal {
	if l.rate.IsZero() {
		return one.Decimal()
	}
	return l.rate
}

// learningPlaces are the decimals that factors are carried with.
const learningPlaces = 30

// Units gives the time of each piece from the first to the nth as a share of the
// first's, by the unit model (Crawford 1944): u(n) = n^(log₂ b) with the learning
// rate b.
//
// No binary fraction is used. u is multiplicative, u(m·n) = u(m)·u(n), and u(2) is
// b itself; for the other primes u(p) = exp(ln p · ln b / ln 2) by the decimal
// library's logarithm and exponential. Everything is carried with 30 decimals.
func (l Learning) Units(n int) ([]decimal.Decimal, error) {
	b := l.of()
	units := make([]decimal.Decimal, n+1)
	slope := decimal.Zero
	if !l.IsNone() {
		lnB, err := b.Ln(learningPlaces + 5)
		if err != nil {
			return nil, err
		}
		ln2, err := decimal.New(2, 0).Ln(learningPlaces + 5)
		if err != nil {
			return nil, err
		}
		slope = lnB.DivRound(ln2, learningPlaces+5)
	}
	for k := 1; k <= n; k++ {
		switch divisor := leastDivisor(k); {
		case k == 1 || l.IsNone():
			units[k] = one.Decimal()
		case k == 2:
			units[k] = b
		case divisor < k:
			units[k] = units[divisor].Mul(units[k/divisor]).Round(learningPlaces)
		default:
			lnK, err := decimal.New(int64(k), 0).Ln(learningPlaces + 5)
			if err != nil {
				return nil, err
			}
			if units[k], err = slope.Mul(lnK).Round(learningPlaces + 5).ExpTaylor(learningPlaces + 5); err != nil {
				return nil, err
			}
			units[k] = units[k].Round(learningPlaces)
		}
	}
	return units[1:], nil
}

func leastDivisor(n int) int {
	for d := 2; d*d <= n; d++ {
		if n%d == 0 {
			return d
		}
	}
	return n
}
