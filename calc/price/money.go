package price

import (
	"fmt"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// Money is an exact amount in one currency. The zero value is nothing in no
// currency, which may be added to any amount.
type Money struct {
	amount   number
	currency Currency
}

// MaxMinor is the largest amount that is read or stored, in minor units.
const MaxMinor = 10_000_000_000_000

// NewMoney makes an amount from whole minor units: 12490 of USD is $124.90.
func NewMoney(minor int64, c Currency) Money {
	return Money{amount: scaled(minor, -c.digits), currency: c}
}

// FromMicros is a value in millionths of a major unit as money, rounded half to even
// to the minor unit.
func FromMicros(micros int64, c Currency) Money {
	return Money{amount: exact{num: scaled(micros, -6), den: one}.halfEven(c.digits), currency: c}
}

// Decimal is the amount in major units.
func (m Money) Decimal() decimal.Decimal { return m.amount.Decimal() }

// Currency is the amount's currency.
func (m Money) Currency() Currency { return m.currency }

// String is the amount with all its minor digits and the code: "124.90 USD".
func (m Money) String() string { return m.Plain() + " " + m.currency.code }

// Plain is the amount alone with all its minor digits: "124.90".
func (m Money) Plain() string { return m.amount.StringFixed(m.currency.digits) }

// Fine is the amount alone with all its minor digits and whatever finer ones it
// has: "0.725".
func (m Money) Fine() string {
	return m.amount.StringFixed(max(m.currency.digits, -m.amount.Decimal().Normalize().Exponent()))
}

// Minor is the amount in whole minor units. It fails when the amount is finer
// than that or beyond MaxMinor; amounts out of this package's own roundings and
// parsers never are.
func (m Money) Minor() (int64, error) {
	minor, is := m.amount.Shift(m.currency.digits).Int64()
	if !is || max(minor, -minor) > MaxMinor {
		return 0, fmt.Errorf("amount %s is not in whole minor units within bounds", m)
	}
	return minor, nil
}

// bounded refuses an answer beyond MaxMinor, so that every amount this package
// returns can be stored and printed.
func bounded(m Money) (Money, error) {
	if m.amount.Abs().Cmp(scaled(MaxMinor, -m.currency.digits)) > 0 {
		return Money{}, &measure.InputError{Value: m.Decimal().Truncate(0).String(), Problem: "is more money than I count", Hint: "smaller amounts"}
	}
	return m, nil
}

// IsPositive is true above zero.
func (m Money) IsPositive() bool { return m.amount.IsPositive() }

// IsNegative is true below zero.
func (m Money) IsNegative() bool { return m.amount.IsNegative() }

// Cmp compares two amounts of one currency: -1, 0 or +1.
func (m Money) Cmp(o Money) int { return m.amount.Cmp(o.amount) }

// Add sums two amounts. Two currencies do not add.
func (m Money) Add(o Money) (Money, error) {
	c, err := common(m, o)
	if err != nil {
		return Money{}, err
	}
	return Money{amount: m.amount.Add(o.amount), currency: c}, nil
}

// common finds the one currency of some amounts.
func common(amounts ...Money) (Currency, error) {
	var c Currency
	for _, m := range amounts {
		switch {
		case m.currency == (Currency{}):
		case c == (Currency{}):
			c = m.currency
		case c != m.currency:
			return Currency{}, &measure.InputError{Value: m.String(),
				Problem: "is in another currency than the " + c.code + " beside it; I never convert money",
				Hint:    "every amount in " + c.code}
		}
	}
	return c, nil
}

// Less takes an amount off. The rest may be below zero. Two currencies do not
// subtract.
func (m Money) Less(o Money) (Money, error) {
	return m.Add(Money{amount: o.amount.Neg(), currency: o.currency})
}

// Discounted is an amount with a part of it taken off, P·(1−d), rounded half to
// even to the minor unit.
func Discounted(p Money, d Fraction) (Money, error) {
	return exact{num: p.amount.Mul(d.left()), den: one}.nearest(p.currency)
}
