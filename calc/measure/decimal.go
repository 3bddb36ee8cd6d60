package measure

import (
	"math/big"
	"strings"
)

// Decimal writes an exact fraction as a plain decimal with the given number of
// places, rounded half to even. There is no exponent and no minus before zero.
func Decimal(r *big.Rat, places int) string {
	places = max(places, 0)
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
