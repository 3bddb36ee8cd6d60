package lumber

import (
	"math/big"

	"tallystick/calc/measure"
)

// LogRule reckons the board feet that a sawmill gets out of a log.
type LogRule string

// The rules. D is the diameter inside bark at the small end in inches and L the length
// in feet.
const (
	// Doyle is (D−4)²·L/16. It allows for a kerf of 5/16 in.
	Doyle LogRule = "doyle"
	// InternationalQuarter is the International 1/4-inch rule for a kerf of 1/4 in:
	// 0.04976191·L·D² + 0.006220239·L²·D − 0.1854762·L·D + 0.0002591767·L³ − 0.01159226·L²
	// + 0.04222222·L, rounded to the nearest 5 (Grosenbaugh's form, as Purdue Extension
	// FNR-191 is quoted in public code).
	InternationalQuarter LogRule = "international"
	// Scribner is the formula (0.79·D² − 2·D − 4)·L/16 for the old tables (Purdue
	// Extension FNR-191; University of Missouri).
	Scribner LogRule = "scribner"
)

// LogRules lists the rules in the order they are shown.
var LogRules = []LogRule{Doyle, InternationalQuarter, Scribner}

// The logs that are reckoned: sections of 4 feet and more, and twice the printed tables.
const (
	maxLogDiameter = 72 * measure.Inch
	maxLogLength   = 40 * measure.Foot
	minLogLength   = 4 * measure.Foot
	minLogDiameter = 4 * measure.Inch
)

// Saw is what the rule gives for a log, rounded as the rule asks for: to the board foot
// for Doyle and Scribner, to the nearest five for International, halves up. The
// arithmetic before that is exact. A log that the rules were not made for is an
// InputError whose value is the length in question.
func (rule LogRule) Saw(diameter, length measure.Length) (BoardFeet, error) {
	if diameter < minLogDiameter || diameter > maxLogDiameter {
		return BoardFeet{}, &measure.InputError{Value: diameter.In(measure.Inch, 2) + " in",
			Problem: "is not across a log that the rules were made for, 4 to 72 in (102 to 1828 mm)", Hint: "16 in or 40 cm"}
	}
	if length < minLogLength || length > maxLogLength {
		return BoardFeet{}, &measure.InputError{Value: length.In(measure.Foot, 2) + " ft",
			Problem: "is not along a log that the rules were made for, 4 to 40 ft (1.22 to 12.19 m)", Hint: "16 ft or 2.4 m"}
	}
	step := int64(1)
	if rule == InternationalQuarter {
		step = 5
	}
	return BoardFeet{exact: nearest(rule.reckon(diameter.Rat(measure.Inch), length.Rat(measure.Foot)), step)}, nil
}

// reckon is the rule's formula, not below zero.
func (rule LogRule) reckon(d, l *big.Rat) *big.Rat {
	var feet *big.Rat
	switch rule {
	case InternationalQuarter:
		feet = internationalQuarter(d, l)
	case Scribner:
		feet = times(quadratic(d, "0.79", "-2", "-4"), l, rat("1/16"))
	default:
		less := new(big.Rat).Sub(d, rat("4"))
		feet = times(less, less, l, rat("1/16"))
	}
	if feet.Sign() < 0 {
		return new(big.Rat)
	}
	return feet
}

func internationalQuarter(d, l *big.Rat) *big.Rat {
	sum := new(big.Rat)
	for _, term := range []*big.Rat{
		times(rat("0.04976191"), l, d, d),
		times(rat("0.006220239"), l, l, d),
		times(rat("-0.1854762"), l, d),
		times(rat("0.0002591767"), l, l, l),
		times(rat("-0.01159226"), l, l),
		times(rat("0.04222222"), l),
	} {
		sum.Add(sum, term)
	}
	return sum
}

// quadratic is a·x² + b·x + c.
func quadratic(x *big.Rat, a, b, c string) *big.Rat {
	sum := times(rat(a), x, x)
	sum.Add(sum, times(rat(b), x))
	return sum.Add(sum, rat(c))
}

// nearest rounds to a multiple of step, halves up, as the rules' tables are.
func nearest(x *big.Rat, step int64) *big.Rat {
	steps := new(big.Rat).Quo(x, big.NewRat(step, 1))
	steps.Add(steps, big.NewRat(1, 2))
	whole := new(big.Int).Div(steps.Num(), steps.Denom())
	return new(big.Rat).SetInt(whole.Mul(whole, big.NewInt(step)))
}

func times(factors ...*big.Rat) *big.Rat {
	product := big.NewRat(1, 1)
	for _, f := range factors {
		product.Mul(product, f)
	}
	return product
}

// rat is a coefficient as it is printed.
func rat(printed string) *big.Rat {
	r, ok := new(big.Rat).SetString(printed)
	if !ok {
		panic("no number: " + printed)
	}
	return r
}
