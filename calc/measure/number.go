package measure

import (
	"math"
	"math/big"
	"strconv"
)

// Number is a small exact fraction that is not negative, as people write one:
// whole, decimal, fraction or mixed. Two Numbers read from text that means the
// same are equal under ==. The zero value is zero.
type Number struct {
	num int64
	den int64 // 0 stands for 1, so that the zero value is a number
}

// The limits of a number as written. They keep every product with a unit inside
// 128 bits, and no measure in a shop needs more.
const (
	maxWholeDigits = 9
	maxDecimals    = 9
	maxDenominator = 1000
	// maxNumberText is how many bytes of text are looked at.
	maxNumberText = 64
)

const numberHint = "2.5 or 1-3/4"

// ParseNumber reads a number that is not negative.
//
//	number   = whole | decimal | fraction | mixed | glyph .
//	whole    = digit { digit } | digit [ digit [ digit ] ] { group digit digit digit } .
//	decimal  = [ whole ] ( "." | "," ) digit { digit } .
//	fraction = digit { digit } slash digit { digit } .
//	mixed    = digit { digit } ( hyphen | space ) fraction
//	         | digit { digit } [ hyphen | space ] glyph .
//	group    = "," | "." .                  (* one of them throughout, the decimal mark is the other *)
//	slash    = "/" | "⁄" | "∕" .
//	hyphen   = "-" | "‐" | "‑" | "–" .
//	glyph    = "½" | "⅓" | "¼" | … | "⅞" .  (* Unicode's vulgar fractions *)
//
// At most nine digits stand before the decimal mark and nine after it; a
// denominator is at most 1000. There are no signs, exponents, hexadecimal digits
// or underscores. A comma followed by exactly three digits, as in 1,234, may be
// either mark and is asked about; 1,234.50, 1.234,50, 0,125 and 1234,567 are
// clear.
func ParseNumber(text string) (Number, error) {
	if len(text) > maxNumberText {
		return Number{}, &InputError{Value: text, Problem: "is too long for a number", Hint: numberHint}
	}
	start := skipSpace(text, 0)
	n, i, e := scanNumber(text, start)
	if e == nil && i > start && skipSpace(text, i) == len(text) {
		return n.lowest(), nil
	}
	return Number{}, mistake(e, text, "is not a number", numberHint)
}

// Rat is the number as a new big.Rat.
func (n Number) Rat() *big.Rat {
	return new(big.Rat).SetFrac64(n.num, int64(n.denominator()))
}

// onTopOf is the number and a whole one.
func (n Number) onTopOf(whole int64) *big.Rat {
	den := int64(n.denominator())
	if whole > math.MaxInt64/2/den { // the number's own numerator is less than the other half
		return new(big.Rat).Add(n.Rat(), new(big.Rat).SetInt64(whole))
	}
	return big.NewRat(whole*den+n.num, den)
}

// IsZero reports whether the number is zero.
func (n Number) IsZero() bool { return n.num == 0 }

// Whole is the number as an integer, and whether it is one.
func (n Number) Whole() (int64, bool) {
	d := int64(n.denominator())
	return n.num / d, n.num%d == 0
}

// String is the number as a decimal where that ends within nine decimals, and as
// a plain fraction otherwise. ParseNumber reads it back to the same number.
func (n Number) String() string {
	n = n.lowest()
	if places, ends := n.decimals(); ends {
		return Decimal(n.Rat(), places)
	}
	return strconv.FormatInt(n.num, 10) + "/" + strconv.FormatInt(n.den, 10)
}

// decimals is how many decimals write the number exactly, and whether at most
// maxDecimals do.
func (n Number) decimals() (places int, ends bool) {
	den, scale := int64(n.denominator()), int64(1)
	for places = 0; places <= maxDecimals; places++ {
		if scale%den == 0 {
			return places, true
		}
		scale *= 10
	}
	return 0, false
}

func (n Number) denominator() uint64 {
	if n.den == 0 {
		return 1
	}
	return uint64(n.den)
}

// lowest is the number in lowest terms with its denominator written out, except
// that zero is the zero value.
func (n Number) lowest() Number {
	if n.num == 0 {
		return Number{}
	}
	a, b := n.num, int64(n.denominator())
	for b != 0 {
		a, b = b, a%b
	}
	return Number{num: n.num / a, den: int64(n.denominator()) / a}
}
