package measure

import (
	"math"
	"math/big"
	"math/bits"
	"strconv"
	"strings"
)

// Decimal writes an exact fraction as a plain decimal with the given number of
// places, rounded half to even. There is no exponent and no minus before zero.
func Decimal(r *big.Rat, places int) string {
	places = max(places, 0)
	if r.IsInt() && r.Num().IsInt64() {
		if text, ok := decimalOf(r.Num().Int64(), 1, places); ok {
			return text
		}
	} else if r.Num().IsInt64() && r.Denom().IsInt64() {
		if text, ok := decimalOf(r.Num().Int64(), r.Denom().Int64(), places); ok {
			return text
		}
	}
	return decimalOfAny(r, places)
}

// decimalOf is Decimal of num/den; ok is false where its units do not fit 64 bits.
func decimalOf(num, den int64, places int) (text string, ok bool) {
	if den <= 0 || places < 0 || places >= len(powersOfTen) {
		return "", false
	}
	units, ok := nearest(magnitude(num), uint64(powersOfTen[places]), uint64(den))
	if !ok || units > math.MaxInt64 {
		return "", false
	}
	if num < 0 {
		return Fixed(-int64(units), places), true
	}
	return Fixed(int64(units), places), true
}

// nearest is a·b/den, rounded half to even; ok is false where that does not fit 64
// bits. den is below 2^63.
func nearest(a, b, den uint64) (quotient uint64, ok bool) {
	hi, lo := bits.Mul64(a, b)
	if hi >= den {
		return 0, false
	}
	var rest uint64
	switch {
	case den == 1:
		return lo, true
	case hi == 0:
		quotient, rest = lo/den, lo%den
	default:
		quotient, rest = bits.Div64(hi, lo, den)
	}
	if 2*rest > den || 2*rest == den && quotient&1 == 1 {
		quotient++
	}
	return quotient, true
}

// magnitude is the size of n without its sign.
func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n)
	}
	return uint64(n)
}

// Fixed writes a number of units of the last of so many decimals, not below none, as
// a plain decimal: 12490 with two is "124.90".
func Fixed(units int64, places int) string {
	var room, digits [40]byte
	d := strconv.AppendUint(digits[:0], magnitude(units), 10)
	out, before := room[:0], max(0, len(d)-places)
	if units < 0 {
		out = append(out, '-')
	}
	if before == 0 {
		out = append(out, '0')
	}
	out = append(out, d[:before]...)
	if places > 0 {
		out = append(out, '.')
		for range places - len(d) {
			out = append(out, '0')
		}
		out = append(out, d[before:]...)
	}
	return string(out)
}

// decimalOfAny is Decimal of a fraction of any size.
func decimalOfAny(r *big.Rat, places int) string {
	scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)
	top := new(big.Int).Mul(r.Num(), scale)
	units := roundHalfEven(top, r.Denom())
	digits := new(big.Int).Abs(units).String()
	if places > 0 {
		if missing := places + 1 - len(digits); missing > 0 {
			digits = strings.Repeat("0", missing) + digits
		}
		point := len(digits) - places
		digits = digits[:point] + "." + digits[point:]
	}
	if units.Sign() < 0 {
		return "-" + digits
	}
	return digits
}

// roundHalfEven is num/den as an integer; den is positive.
func roundHalfEven(num, den *big.Int) *big.Int {
	quotient, rest := new(big.Int).DivMod(num, den, new(big.Int))
	switch rest.Lsh(rest, 1).Cmp(den) {
	case 1:
		quotient.Add(quotient, big.NewInt(1))
	case 0:
		quotient.Add(quotient, new(big.Int).And(quotient, big.NewInt(1)))
	}
	return quotient
}

// trimZeros drops the zeros that end the decimals of a plain decimal.
func trimZeros(decimal string) string {
	if !strings.Contains(decimal, ".") {
		return decimal
	}
	return strings.TrimSuffix(strings.TrimRight(decimal, "0"), ".")
}
