// Package measure reads and writes the measures of a wood shop: lengths, sizes,
// lots of boards, tape fractions, areas, volumes, shop time, percentages and the
// conversions between units.
//
// What is read is kept exactly: a Length is a whole number of nanometres, an
// area or a volume a whole number of square or cubic nanometres, every other
// number a small fraction. Floating point occurs only in the conversion of
// quantities that are not built from lengths, and says so there.
//
// The package refuses to guess. Text that can be read in two ways is an
// InputError that asks which one was meant. It knows nothing of species, money
// or people.
package measure

import "math"

// Length is a distance in whole nanometres, used the way time.Duration is: 1/64
// inch is exactly 396,875 of them and 0.001 mm exactly 1,000. What does not fit a
// nanometre is rounded to it, half to even, when text is read; arithmetic after
// that is exact. The largest length is a little over 9.2 million kilometres.
type Length int64

// The units a length is counted in. The inch is exactly 25.4 mm by the
// international yard and pound agreement of 1959 (NIST SP 811, appendix B.8), and
// foot and yard follow from it; the US survey foot is not offered.
const (
	Nanometre  Length = 1
	Micrometre        = 1000 * Nanometre
	Millimetre        = 1000 * Micrometre
	Centimetre        = 10 * Millimetre
	Metre             = 1000 * Millimetre
	Inch              = 25_400_000 * Nanometre
	Foot              = 12 * Inch
	Yard              = 3 * Foot
)

// lengthHint is what an asker can type where a length is wanted.
const lengthHint = "3/4 or 19mm"

// Plus adds two lengths. A sum that does not fit is an InputError.
func (l Length) Plus(m Length) (Length, error) {
	sum := l + m
	if (sum > l) != (m > 0) && m != 0 {
		return 0, tooLong(l.String() + " + " + m.String())
	}
	return sum, nil
}

// Times is n of the length end to end. A product that does not fit is an
// InputError.
func (l Length) Times(n int64) (Length, error) {
	if l == 0 || n == 0 {
		return 0, nil
	}
	product := Length(n) * l
	if product/l != Length(n) || (l == -1 && n == math.MinInt64) || (n == -1 && l == math.MinInt64) {
		return 0, tooLong(l.String() + " repeated")
	}
	return product, nil
}

// Abs is the length without its sign. The one length that has no positive twin
// becomes the largest length.
func (l Length) Abs() Length {
	switch {
	case l >= 0:
		return l
	case l == math.MinInt64:
		return math.MaxInt64
	default:
		return -l
	}
}

// String is the exact length in millimetres, for logs and test failures.
func (l Length) String() string { return l.Metric() }

// magnitude is the size of l as an unsigned number of nanometres.
func (l Length) magnitude() uint64 { return magnitude(int64(l)) }

func tooLong(value string) *InputError {
	return &InputError{Value: value, Problem: "is longer than I can hold", Hint: lengthHint}
}

// scale is n units as a length, rounded to the nanometre half to even.
func (n Number) scale(unit Length) (Length, *InputError) {
	if unit <= 0 {
		return 0, &InputError{Problem: "has no unit", Hint: lengthHint}
	}
	quotient, ok := nearest(uint64(n.num), uint64(unit), n.denominator())
	if !ok || quotient > math.MaxInt64 {
		return 0, tooLong("")
	}
	return Length(quotient), nil
}
