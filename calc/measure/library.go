package measure

import (
	"math"
	"math/big"
	"strconv"

	"github.com/martinlindhe/unit"
)

// This file alone of the package counts in binary floating point. The unit library
// does, and each of its steps is off by up to 2.2e-16 of the value; twelve
// significant digits hide that. A test holds every size taken from it against the
// exact definition.

// significantDigits is how many digits of a number that does not end are shown.
const significantDigits = 12

// librarySize is the unit in the SI unit of its dimension, for the units whose size
// is taken from the library.
func librarySize(symbol string) (float64, bool) {
	switch symbol {
	case "US gal":
		return float64(unit.USLiquidGallon), true
	case "US qt":
		return float64(unit.USLiquidQuart), true
	case "US pt":
		return float64(unit.USLiquidPint), true
	case "US cup":
		return float64(unit.USCup), true
	case "US fl oz":
		return float64(unit.USFluidOunce), true
	case "imp gal":
		return float64(unit.ImperialGallon), true
	case "imp qt":
		return float64(unit.ImperialQuart), true
	case "imp pt":
		return float64(unit.ImperialPint), true
	case "imp fl oz":
		return float64(unit.ImperialFluidOunce), true
	case "g":
		return float64(unit.Gram), true
	case "kg":
		return float64(unit.Kilogram), true
	case "t":
		return float64(unit.Tonne), true
	case "oz":
		return float64(unit.AvoirdupoisOunce), true
	case "lb":
		return float64(unit.AvoirdupoisPound), true
	case "Pa":
		return float64(unit.Pascal), true
	case "kPa":
		return float64(unit.Kilopascal), true
	case "MPa":
		return float64(unit.Megapascal), true
	case "bar":
		return float64(unit.Bar), true
	}
	return 0, false
}

// inFloat is the unit in the SI unit of its dimension, from wherever it is known.
func (u *namedUnit) inFloat() float64 {
	if size, known := librarySize(u.symbol); known {
		return size
	}
	size, _ := u.exact().Float64()
	return size
}

// throughLibrary converts by ratio of sizes. A price is per unit, so its ratio is
// the other way up.
func throughLibrary(value *big.Rat, from, to *namedUnit, price bool) string {
	x, _ := value.Float64()
	if price {
		return plain(x * to.inFloat() / from.inFloat())
	}
	return plain(x * from.inFloat() / to.inFloat())
}

// temperature converts a reading, not a difference.
func temperature(value *big.Rat, from, to *namedUnit) string {
	x, _ := value.Float64()
	var t unit.Temperature
	switch from.symbol {
	case "°C":
		t = unit.FromCelsius(x)
	case "°F":
		t = unit.FromFahrenheit(x)
	default:
		t = unit.FromKelvin(x)
	}
	switch to.symbol {
	case "°C":
		x = t.Celsius()
	case "°F":
		x = t.Fahrenheit()
	default:
		x = t.Kelvin()
	}
	// The library goes by kelvin, whose hundreds carry about 1e-13 of drift. A
	// result near zero would show it, so nine decimals are the most.
	const billionth = 1e9
	if math.Abs(x) < 1000 {
		x = math.Round(x*billionth) / billionth
	}
	return plain(x)
}

// plain writes a float as a plain decimal of twelve significant digits without
// ending zeros.
func plain(x float64) string {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(x, 'e', significantDigits-1, 64))
	return significant(r)
}
