package measure

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exactSizes defines every unit that is taken from the library, in the SI unit of
// its dimension: US gallon 231 in³, imperial gallon 4.54609 L, pound 0.45359237 kg,
// bar 100 kPa (NIST SP 811, 2008, appendix B.8), all of them exact.
var exactSizes = map[string]string{
	"US gal": "0.003785411784", "US qt": "0.000946352946", "US pt": "0.000473176473", "US cup": "0.0002365882365", "US fl oz": "0.0000295735295625",
	"imp gal": "0.00454609", "imp qt": "0.0011365225", "imp pt": "0.00056826125", "imp fl oz": "0.0000284130625",
	"g": "0.001", "kg": "1", "t": "1000", "oz": "0.028349523125", "lb": "0.45359237",
	"Pa": "1", "kPa": "1000", "MPa": "1000000", "bar": "100000",
}

func TestEveryUnitOfTheLibraryThatIsOfferedHasItsExactSize(t *testing.T) {
	t.Parallel()
	fromLibrary := 0
	for k := range namedUnits {
		u := &namedUnits[k]
		size, known := librarySize(u.symbol)
		if u.dimension == temperatureUnit {
			assert.False(t, known || u.size != "", "%s is a reading, not a size", u.symbol)
			continue
		}
		assert.NotEqual(t, known, u.size != "", "%s is known in one place", u.symbol)
		if !known {
			continue
		}
		fromLibrary++
		exact, ok := new(big.Rat).SetString(exactSizes[u.symbol])
		require.True(t, ok, "%s is defined", u.symbol)
		want, _ := exact.Float64()
		// Typed constants are rounded at each of up to three steps.
		assert.LessOrEqual(t, math.Abs(size/want-1), 5e-16, "%s = %v, exactly %v", u.symbol, size, want)
	}
	assert.Len(t, exactSizes, fromLibrary)
}

// Source: NIST SP 811, appendix B.8: t/°C = (t/°F − 32)/1.8 and t/°C = T/K − 273.15.
func TestEveryWholeDegreeIsTheNearestDecimal(t *testing.T) {
	t.Parallel()
	celsius, fahrenheit, kelvin := unitIndex()["c"].unit, unitIndex()["f"].unit, unitIndex()["k"].unit
	for degrees := int64(-273); degrees <= 1000; degrees++ {
		c := new(big.Rat).SetInt64(degrees)
		f := new(big.Rat).Mul(c, big.NewRat(9, 5))
		f.Add(f, big.NewRat(32, 1))
		assert.Equal(t, trimZeros(Decimal(f, 1)), temperature(c, celsius, fahrenheit), "%d °C", degrees)
		assert.Equal(t, trimZeros(Decimal(c, 0)), temperature(f, fahrenheit, celsius), "%v °F", f)
		k := new(big.Rat).Add(c, big.NewRat(273_15, 100))
		assert.Equal(t, trimZeros(Decimal(k, 2)), temperature(c, celsius, kelvin), "%d °C", degrees)
		assert.Equal(t, trimZeros(Decimal(c, 0)), temperature(k, kelvin, celsius), "%v K", k)
	}
}

func TestTheTwelfthDigitOfAWholeAnswerIsNeverDrift(t *testing.T) {
	t.Parallel()
	pound, ounce := unitIndex()["lb"].unit, unitIndex()["oz"].unit
	gallon, fluidOunce := unitIndex()["us gal"].unit, unitIndex()["us fl oz"].unit
	for n := int64(1); n <= 10_000; n++ {
		value := new(big.Rat).SetInt64(n)
		assert.Equal(t, Decimal(new(big.Rat).SetInt64(16*n), 0), throughLibrary(value, pound, ounce, false))
		assert.Equal(t, Decimal(new(big.Rat).SetInt64(128*n), 0), throughLibrary(value, gallon, fluidOunce, false))
	}
}

func TestNoTwoUnitsAnswerToOneName(t *testing.T) {
	t.Parallel()
	owner := map[string]string{}
	claim := func(name, symbol string) {
		key := unitKey(name)
		if other, taken := owner[key]; taken {
			assert.Equal(t, other, symbol, "%q", name)
		}
		owner[key] = symbol
	}
	for k := range namedUnits {
		u := &namedUnits[k]
		for _, name := range append([]string{u.symbol, u.name}, u.aliases...) {
			claim(name, u.symbol)
		}
	}
	for _, custom := range customaryUnits {
		for _, name := range custom.names {
			claim(name, "either "+custom.us)
		}
	}
	for _, refused := range refusedUnits {
		for _, name := range refused.names {
			claim(name, "no unit: "+refused.problem)
		}
	}
}
