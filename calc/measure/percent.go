package measure

import (
	"math/big"
	"strings"
)

// Percent is an exact percentage that is not negative. Two Percents of the same
// size are equal under ==. The zero value is 0 %.
type Percent struct {
	coefficient int64
	exponent    int32 // the percentage is coefficient × 10^exponent; never above 0
}

const (
	maxPercentText = 32
	percentHint    = "2.9% or 12%"
)

// ParsePercent reads a percentage that is not negative.
//
//	percent = number [ "%" | "percent" | "per cent" | "pct" ] .
//	number  = as ParseNumber documents it, where it ends as a decimal .
//
// A bare number above 0 and below 1 may be a percentage or a share of one, and is
// asked about. There is no upper bound; where 100 % or more makes no sense the
// caller says so.
func ParsePercent(text string) (Percent, error) {
	if len(text) > maxPercentText {
		return Percent{}, &InputError{Value: text, Problem: "is too long for a percentage", Hint: percentHint}
	}
	p, e := scanPercent(text)
	if e == nil {
		return p, nil
	}
	return Percent{}, mistake(e, text, "is not a percentage", percentHint)
}

func scanPercent(s string) (Percent, *InputError) {
	start := skipSpace(s, 0)
	n, next, e := scanNumber(s, start)
	if e != nil {
		return Percent{}, e
	}
	unit := strings.ToLower(strings.Join(strings.Fields(s[next:]), " "))
	switch unit {
	case "", "%", "percent", "per cent", "pct":
	default:
		return Percent{}, &InputError{}
	}
	if next == start {
		return Percent{}, &InputError{}
	}
	n = n.lowest()
	places, ends := n.decimals()
	if !ends {
		return Percent{}, &InputError{Problem: "does not end as a decimal"}
	}
	p := Percent{coefficient: n.num * (powersOfTen[places] / int64(n.denominator())), exponent: -int32(places)}
	if unit == "" && n.num > 0 && uint64(n.num) < n.denominator() {
		share := trimZeros(Decimal(new(big.Rat).Mul(n.Rat(), big.NewRat(100, 1)), places)) + "%"
		return Percent{}, &InputError{Problem: "may be " + p.String() + " or " + share, Hint: share}
	}
	return p, nil
}

// Fraction is the percentage as a share of one, coefficient × 10^exponent, exactly:
// 2.9 % is 29 × 10^-3. A decimal type is made from the two.
func (p Percent) Fraction() (coefficient int64, exponent int32) {
	return p.coefficient, p.exponent - 2
}

// Rat is the percentage as a share of one: 2.9 % is 29/1000.
func (p Percent) Rat() *big.Rat {
	return new(big.Rat).SetFrac64(p.coefficient, 100*powersOfTen[-p.exponent])
}

// String is the percentage with its sign, "2.9%", as ParsePercent reads it.
func (p Percent) String() string {
	return Decimal(new(big.Rat).SetFrac64(p.coefficient, powersOfTen[-p.exponent]), int(-p.exponent)) + "%"
}
