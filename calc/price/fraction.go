package price

import (
	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// Fraction is a share from nothing up to, but never reaching, the whole: 2.9 %
// is 0.029. Fees, haggling, waste and sales taxes are fractions.
type Fraction struct{ of number }

// ParseFraction reads a percentage below 100 as measure.ParsePercent does.
func ParseFraction(text string) (Fraction, error) {
	return parseBelow(text, "is all of it or more, which leaves nothing")
}

// ParseTax reads the percentage of a sales tax, below 100.
func ParseTax(text string) (Fraction, error) {
	return parseBelow(text, "is as much tax as the price itself or more")
}

func parseBelow(text, problem string) (Fraction, error) {
	p, err := measure.ParsePercent(text)
	if err != nil {
		return Fraction{}, err
	}
	f := Fraction{of: scaled(p.Fraction())}
	if f.of.Cmp(one) >= 0 {
		return Fraction{}, &measure.InputError{Value: text, Problem: problem}
	}
	return f, nil
}

// percentDigits is how many decimals of a percentage measure.ParsePercent reads.
const percentDigits = 9

// FractionOf makes a fraction from what Billionths gave.
func FractionOf(billionths int64) Fraction {
	return Fraction{of: scaled(billionths, -2-percentDigits)}
}

// Billionths is the fraction in billionths of a percent: a whole number for
// every fraction that was read, and the form it is stored in.
func (f Fraction) Billionths() int64 { return f.of.Decimal().Shift(2 + percentDigits).IntPart() }

// Decimal is the share of one: 0.029.
func (f Fraction) Decimal() decimal.Decimal { return f.of.Decimal() }

// Percent is the share of a hundred, without the sign: "2.9".
func (f Fraction) Percent() string { return f.of.Shift(2).String() }

// IsZero is true for no share at all.
func (f Fraction) IsZero() bool { return f.of.IsZero() }

// left is what remains of one: 1 − f, always above zero.
func (f Fraction) left() number { return one.Sub(f.of) }

// with is the whole with the share on top: 1 + f.
func (f Fraction) with() number { return one.Add(f.of) }
