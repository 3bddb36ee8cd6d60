package price

import (
	"math"
	"math/big"
	"math/bits"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// number is an exact decimal. It is counted in 64 bits as long as they hold it, as
// they do for what a piece costs and sells for, and by decimal.Decimal where they do
// not. No step rounds, in either, so no result can tell which of them was taken.
// The zero value is zero.
type number struct {
	coefficient int64 // never math.MinInt64, so that it can be turned round
	exponent    int32
	wide        *decimal.Decimal // takes the place of both where they cannot hold it
}

var one, two = whole(1), whole(2)

func whole(n int64) number { return scaled(n, 0) }

// scaled is coefficient × 10^exponent.
func scaled(coefficient int64, exponent int32) number {
	if coefficient == math.MinInt64 {
		d := decimal.New(coefficient, exponent)
		return number{wide: &d}
	}
	return number{coefficient: coefficient, exponent: exponent}
}

// digitsHeld is how many digits 64 bits hold of any number.
const digitsHeld = 18

func numberOf(d decimal.Decimal) number {
	if d.NumDigits() <= digitsHeld {
		return number{coefficient: d.CoefficientInt64(), exponent: d.Exponent()}
	}
	wide := d // a copy, so that only what is wide is put on the heap
	return number{wide: &wide}
}

func numberOfInt(n *big.Int) number {
	if n.IsInt64() {
		return whole(n.Int64())
	}
	return numberOf(decimal.NewFromBigInt(n, 0))
}

func (n number) Decimal() decimal.Decimal {
	if n.wide != nil {
		return *n.wide
	}
	return decimal.New(n.coefficient, n.exponent)
}

func (n number) Sign() int {
	switch {
	case n.wide != nil:
		return n.wide.Sign()
	case n.coefficient < 0:
		return -1
	case n.coefficient > 0:
		return 1
	}
	return 0
}

func (n number) IsZero() bool     { return n.Sign() == 0 }
func (n number) IsPositive() bool { return n.Sign() > 0 }
func (n number) IsNegative() bool { return n.Sign() < 0 }

func (n number) Neg() number {
	if n.wide != nil {
		return numberOf(n.wide.Neg())
	}
	return number{coefficient: -n.coefficient, exponent: n.exponent}
}

func (n number) Abs() number {
	if n.IsNegative() {
		return n.Neg()
	}
	return n
}

func (n number) Add(o number) number {
	if a, b, exponent, ok := aligned(n, o); ok {
		if sum := a + b; (sum > a) == (b > 0) && sum != math.MinInt64 {
			return number{coefficient: sum, exponent: exponent}
		}
	}
	return numberOf(n.Decimal().Add(o.Decimal()))
}

func (n number) Sub(o number) number { return n.Add(o.Neg()) }

func (n number) Mul(o number) number {
	if n.wide == nil && o.wide == nil {
		if product, ok := times(n.coefficient, o.coefficient); ok {
			return number{coefficient: product, exponent: n.exponent + o.exponent}
		}
	}
	return numberOf(n.Decimal().Mul(o.Decimal()))
}

func (n number) Cmp(o number) int {
	if a, b, _, ok := aligned(n, o); ok {
		switch {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	}
	return n.Decimal().Cmp(o.Decimal())
}

func lesser(a, b number) number {
	if a.Cmp(b) <= 0 {
		return a
	}
	return b
}

// QuoRem is n/o as a whole number, towards zero, and what is left of n.
func (n number) QuoRem(o number) (quotient, rest number) {
	if a, b, exponent, ok := aligned(n, o); ok {
		return whole(a / b), number{coefficient: a % b, exponent: exponent}
	}
	q, r := n.Decimal().QuoRem(o.Decimal(), 0)
	return numberOf(q), numberOf(r)
}

// Shift is n × 10^by.
func (n number) Shift(by int32) number {
	if n.wide != nil {
		return numberOf(n.wide.Shift(by))
	}
	return number{coefficient: n.coefficient, exponent: n.exponent + by}
}

// Int64 is n as a whole number, and whether it is one of 64 bits.
func (n number) Int64() (int64, bool) {
	if a, _, exponent, ok := aligned(n, one); ok {
		unit, _ := power(-exponent)
		return a / unit, a%unit == 0
	}
	d := n.Decimal()
	return d.IntPart(), d.IsInteger() && d.BigInt().IsInt64()
}

// finerThan tells whether it takes more than so many decimals to write n.
func (n number) finerThan(places int32) bool {
	if n.wide != nil {
		return !n.wide.Equal(n.wide.Truncate(places))
	}
	unit, ok := power(-n.exponent - places)
	return n.exponent < -places && (!ok && n.coefficient != 0 || ok && n.coefficient%unit != 0)
}

// String is n with as many decimals as it takes, as decimal.Decimal writes it.
func (n number) String() string {
	if n.wide != nil || n.exponent > 0 {
		return n.Decimal().String()
	}
	c, places := n.coefficient, int(-n.exponent)
	for ; places > 0 && c%10 == 0; places-- {
		c /= 10
	}
	return measure.Fixed(c, places)
}

// StringFixed is n with so many decimals, as decimal.Decimal writes and rounds it.
func (n number) StringFixed(places int32) string {
	if n.wide == nil && places >= 0 {
		if units, ok := raised(n.coefficient, n.exponent+places); ok {
			return measure.Fixed(units, int(places))
		}
	}
	return n.Decimal().StringFixed(places)
}

// aligned brings two numbers to the lesser of their exponents; ok is false where 64
// bits do not hold that.
func aligned(n, o number) (a, b int64, exponent int32, ok bool) {
	if n.wide != nil || o.wide != nil {
		return 0, 0, 0, false
	}
	a, b, exponent, ok = n.coefficient, o.coefficient, min(n.exponent, o.exponent), true
	if n.exponent > exponent {
		a, ok = raised(a, n.exponent-exponent)
	} else if o.exponent > exponent {
		b, ok = raised(b, o.exponent-exponent)
	}
	return a, b, exponent, ok
}

// raised is n × 10^by, and whether 64 bits hold it.
func raised(n int64, by int32) (int64, bool) {
	unit, ok := power(by)
	if !ok {
		return 0, false
	}
	return times(n, unit)
}

// times is a × b, and whether 64 bits hold it.
func times(a, b int64) (int64, bool) {
	high, low := bits.Mul64(uint64(max(a, -a)), uint64(max(b, -b)))
	if high != 0 || low > math.MaxInt64 {
		return 0, false
	}
	if (a < 0) != (b < 0) {
		return -int64(low), true
	}
	return int64(low), true
}

// power is 10^exponent, and whether it is a whole number that 64 bits hold.
func power(exponent int32) (int64, bool) {
	if exponent < 0 || exponent > digitsHeld {
		return 0, false
	}
	return powers[exponent], true
}

var powers = func() (p [digitsHeld + 1]int64) {
	p[0] = 1
	for i := range digitsHeld {
		p[i+1] = 10 * p[i]
	}
	return p
}()
