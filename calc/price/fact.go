package price

import (
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// Standing facts are read back by these; what was never said reads as the zero
// value. Unsound has seen to it that what is there can be read.

// Time reads a fact that is a time worked.
func (f Facts) Time(name Fact) time.Duration {
	seconds, _ := wholeNumber(f[name])
	return time.Duration(seconds) * time.Second
}

// Number reads a fact that is a whole number: minor units, or Unix seconds.
func (f Facts) Number(name Fact) int64 {
	n, _ := wholeNumber(f[name])
	return n
}

// Fraction reads a fact that is a share below one.
func (f Facts) Fraction(name Fact) Fraction {
	v, _ := fractionFact(f[name])
	return v
}

// Size reads the size.
func (f Facts) Size() measure.Size {
	s, _ := sizeFact(f[FactSize])
	return s
}

// Has reports whether the fact was ever said.
func (f Facts) Has(name Fact) bool { return f[name] != "" }

// NumberFact writes a whole number as a fact.
func NumberFact(n int64) string { return strconv.FormatInt(n, 10) }

// SecondsFact writes a time as a fact, rounded to the second half to even.
func SecondsFact(d time.Duration) string { return NumberFact(Seconds(d)) }

// Seconds is a time in whole seconds, rounded half to even.
func Seconds(d time.Duration) int64 {
	whole, rest := int64(d/time.Second), d%time.Second
	if twice := 2 * rest; twice > time.Second || twice == time.Second && whole%2 == 1 {
		whole++
	}
	return whole
}

// FractionFact writes a share as a fact.
func FractionFact(f Fraction) string { return f.of.String() }

// SizeFact writes a size as a fact.
func SizeFact(size measure.Size) string {
	sides := make([]string, len(size))
	for i, l := range size {
		sides[i] = NumberFact(int64(l))
	}
	return strings.Join(sides, ",")
}

// wholeNumber reads up to 18 digits and nothing else.
func wholeNumber(text string) (int64, bool) {
	if len(text) == 0 || len(text) > 18 || strings.Trim(text, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.ParseInt(text, 10, 64)
	return n, err == nil
}

// fractionFact reads a plain decimal from 0 up to, but not reaching, 1.
func fractionFact(text string) (Fraction, bool) {
	decimals, ok := strings.CutPrefix(text, "0")
	if !ok || decimals != "" && (decimals[0] != '.' || len(decimals) == 1 || strings.Trim(decimals[1:], "0123456789") != "") {
		return Fraction{}, false
	}
	d, err := decimal.NewFromString(text)
	return Fraction{of: numberOf(d)}, err == nil
}

func sizeFact(text string) (measure.Size, bool) {
	parts := strings.Split(text, ",")
	if len(parts) < 2 || len(parts) > 3 {
		return nil, false
	}
	size := make(measure.Size, len(parts))
	for i, p := range parts {
		n, ok := wholeNumber(p)
		if !ok || n == 0 {
			return nil, false
		}
		size[i] = measure.Length(n)
	}
	return size, true
}
