package price

import (
	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// Fraction is a share from nothing up to, but never reaching, the whole: 2.9 %
// is 0.029. Fees, haggling and waste are fractions.
type Fraction struct{ of decimal.Decimal }

// ParseFraction reads a percentage below 100 as measure.ParsePercent does.
func ParseFraction(text string) (Fraction, error) {
	p, err := measure.ParsePercent(text)
	if err != nil {
		return Fraction{}, err
	}
	f := Fraction{of: decimal.New(p.Fraction())}
	if f.of.GreaterThanOrEqual(one) {
		return Fraction{}, &measure.InputError{Value: text, Problem: "is all of it or more, which leaves nothing"}
	}
	return f, nil
}

// Decimal is the share of one: 0.029.
func (f Fraction) Decimal() decimal.Decimal { return f.of }

// Percent is the share of a hundred, without the sign: "2.9".
func (f Fraction) Percent() string { return f.of.Shift(2).String() }

// IsZero is true for no share at all.
func (f Fraction) IsZero() bool { return f.of.IsZero() }

// left is what remains of one: 1 − f, always above zero.
func (f Fraction) left() decimal.Decimal { return one.Sub(f.of) }
