package measure

import (
	"math/big"
	"strconv"
)

// FinestTape is the finest fraction of an inch a tape is read to.
const FinestTape = 64

// Tape writes the length in inches as it is read off a tape: "39-1/4 in". It is
// rounded half to even to the nearest 1/denominator inch, and the fraction
// reduced. Denominators are the powers of two up to FinestTape; any other counts
// as FinestTape. off is the written length less the true one: zero where the
// writing is exact.
func (l Length) Tape(denominator int) (text string, off Length) {
	steps, step, off := l.onTape(denominator)
	return sign(l, steps) + tapeInches(steps, step) + " in", off
}

// TapeFeet writes the length in feet and inches, 3' 3-1/4", below a foot in inches
// alone, and otherwise as Tape does.
func (l Length) TapeFeet(denominator int) (text string, off Length) {
	steps, step, off := l.onTape(denominator)
	perFoot := uint64(Foot / step)
	if steps < perFoot {
		return sign(l, steps) + tapeInches(steps, step) + "\"", off
	}
	feet := strconv.FormatUint(steps/perFoot, 10)
	return sign(l, steps) + feet + "' " + tapeInches(steps%perFoot, step) + "\"", off
}

// onTape counts the length in steps of the tape, without its sign.
func (l Length) onTape(denominator int) (steps uint64, step, off Length) {
	if denominator < 1 || denominator > FinestTape || denominator&(denominator-1) != 0 {
		denominator = FinestTape
	}
	step = Inch / Length(denominator)
	whole, rest := l.magnitude()/uint64(step), Length(l.magnitude()%uint64(step))
	off = -rest
	if 2*rest > step || 2*rest == step && whole&1 == 1 {
		whole++
		off = step - rest
	}
	if l < 0 {
		off = -off
	}
	return whole, step, off
}

func sign(l Length, steps uint64) string {
	if l < 0 && steps > 0 {
		return "-"
	}
	return ""
}

// tapeInches writes steps of a tape as inches with a reduced fraction.
func tapeInches(steps uint64, step Length) string {
	den := uint64(Inch / step)
	whole, num := steps/den, steps%den
	if num == 0 {
		return strconv.FormatUint(whole, 10)
	}
	for num%2 == 0 {
		num, den = num/2, den/2
	}
	fraction := strconv.FormatUint(num, 10) + "/" + strconv.FormatUint(den, 10)
	if whole == 0 {
		return fraction
	}
	return strconv.FormatUint(whole, 10) + "-" + fraction
}

// Metric writes the length in millimetres, exactly and with no more decimals than
// that takes: "19 mm", "2349.5 mm", "0.396875 mm".
func (l Length) Metric() string { return l.In(Millimetre, 6) + " mm" }

// MetricTo writes the length in millimetres rounded half to even to at most the
// given decimals. off is the written length less the true one.
func (l Length) MetricTo(places int) (text string, off Length) {
	places = min(max(places, 0), 6)
	step := big.NewInt(int64(Millimetre) / powersOfTen[places])
	rounded := roundHalfEven(big.NewInt(int64(l)), step)
	off = Length(rounded.Mul(rounded, step).Sub(rounded, big.NewInt(int64(l))).Int64())
	return l.In(Millimetre, places) + " mm", off
}

// In is the length counted in the given positive unit, as a plain decimal rounded
// half to even to at most the given places, without ending zeros.
func (l Length) In(unit Length, places int) string {
	text, ok := decimalOf(int64(l), int64(unit), places)
	if !ok {
		text = Decimal(l.Rat(unit), places)
	}
	return trimZeros(text)
}

// Rat is the length counted in the given positive unit, exactly.
func (l Length) Rat(unit Length) *big.Rat { return big.NewRat(int64(l), int64(unit)) }
