package lumber

import (
	"math"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/measure"
)

// Estimate is a physical quantity that is known to a few digits: a mass in kilograms,
// an area in square metres, a volume in cubic metres, a density in kilograms per cubic
// metre, a stress in pascals, a force in newtons. Nothing that is paid for passes
// through one.
type Estimate float64

// Unit is a unit an estimate is written in.
type Unit struct {
	Symbol string
	// size is the unit in the SI unit of its kind.
	size float64
}

// The units of estimates. Their sizes follow from 1 in = 0.0254 m, 1 lb = 0.45359237 kg,
// g = 9.80665 m/s² and the US gallon of 231 in³, all exact (NIST SP 811, 2008,
// appendix B.8).
var (
	Kilogram          = Unit{"kg", 1}
	Gram              = Unit{"g", 1e-3}
	Pound             = Unit{"lb", 0.45359237}
	Ounce             = Unit{"oz", 0.45359237 / 16}
	KilogramPerCubic  = Unit{"kg/m³", 1}
	PoundPerCubicFoot = Unit{"lb/ft³", 0.45359237 / 0.028316846592}
	Megapascal        = Unit{"MPa", 1e6}
	PoundPerSquare    = Unit{"psi", poundForce / 0.00064516}
	MillionPSI        = Unit{"million psi", 1e6 * poundForce / 0.00064516}
	Newton            = Unit{"N", 1}
	PoundForce        = Unit{"lbf", poundForce}
	SquareMetre       = Unit{"m²", 1}
	SquareFoot        = Unit{"ft²", 0.09290304}
	Litre             = Unit{"L", 1e-3}
	Millilitre        = Unit{"mL", 1e-6}
	USGallon          = Unit{"US gal", 0.003785411784}
	USFluidOunce      = Unit{"US fl oz", 0.003785411784 / 128}
	SquareMetrePerL   = Unit{"m²/L", 1e3}
	SquareFootPerGal  = Unit{"ft²/US gal", 0.09290304 / 0.003785411784}
)

const poundForce = 4.4482216152605

// One is one of a unit.
func One(u Unit) Estimate { return Estimate(u.size) }

// Write is the estimate in a unit as a plain decimal of the given significant digits.
func (e Estimate) Write(u Unit, digits int) string {
	x := float64(e) / u.size
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return "0"
	}
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(x, 'e', digits-1, 64), "e")
	power, _ := strconv.Atoi(exponent)
	r, _ := new(big.Rat).SetString(mantissa + "e" + exponent)
	return measure.Decimal(r, max(digits-1-power, 0))
}

// Text is Write with thousands parted and the unit behind it.
func (e Estimate) Text(u Unit, digits int) string {
	return thousands(e.Write(u, digits)) + " " + u.Symbol
}

// thousands parts the digits before the point by commas, from five of them on.
func thousands(decimal string) string {
	whole, rest, point := strings.Cut(decimal, ".")
	if len(whole) > 4 {
		for k := len(whole) - 3; k > 0; k -= 3 {
			whole = whole[:k] + "," + whole[k:]
		}
	}
	if point {
		whole += "." + rest
	}
	return whole
}

// IsKnown reports whether there is a figure at all.
func (e Estimate) IsKnown() bool { return e != 0 }

// metres is a length as an estimate counts it.
func metres(l measure.Length) float64 { return float64(l) / float64(measure.Metre) }

// lengthOf is a reckoned length, rounded to the micrometre.
func lengthOf(m float64) measure.Length {
	return measure.Length(math.Round(m*1e6)) * measure.Micrometre
}

// roundedUp is a length in whole steps, up and without its sign.
func roundedUp(l, step measure.Length) measure.Length {
	l = l.Abs()
	if rest := l % step; rest > 0 {
		l += step - rest
	}
	return l
}

// cubicMetres is an exact volume as an estimate.
func cubicMetres(v measure.Volume) Estimate {
	x, _ := v.Rat(measure.Metre).Float64()
	return Estimate(x)
}

// squareMetres is an exact area as an estimate.
func squareMetres(a measure.Area) Estimate {
	x, _ := a.Rat(measure.Metre).Float64()
	return Estimate(x)
}
