package measure_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
)

// Source: testdata/published/units-check.csv (GNU Units 2.22) has 1 US gallon = 3.785411784 L
// and 1 square foot = 0.09290304 m², both exact; the imperial gallon is 4.54609 L
// (NIST SP 811, appendix B.8). The quotients were
// worked out with Python's decimal module to 30 digits and cut to 12.
func TestCoverageConvertsBetweenTheSystems(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		value, to, want, unit string
	}{
		{"400 ft2/gal", "m2/L", "9.81695469884", "m²/L"},
		{"400 sq ft per gallon", "m² per litre", "9.81695469884", "m²/L"},
		{"100 square feet/qt", "ft2/gal", "400", "ft²/US gal"},
		{"10 m2/L", "sq ft/US gal", "407.458333333", "ft²/US gal"},
		{"10 m²/L", "sq ft/imp gal", "489.337055063", "ft²/imp gal"},
		{"500 ft2/imp gal", "square metres per litre", "10.2179059368", "m²/L"},
		{"1 ft2/imp qt", "ft²/imp gal", "4", "ft²/imp gal"},
	} {
		got, err := measure.Convert(tt.value, tt.to, measure.Inch)
		if assert.NoError(t, err, "Convert(%q, %q)", tt.value, tt.to) {
			assert.Equal(t, tt.want, got.Value, "Convert(%q, %q)", tt.value, tt.to)
			assert.Equal(t, tt.unit, got.Unit)
			assert.False(t, got.Float, "every coverage is a quotient of exact sizes")
		}
	}
}

// Source: testdata/published/shop-quantities.csv, row "resin yield": 9.23 lb in one
// mixed US gallon are 1.106 kg/L.
func TestTheDensityOfAMixedGallonConverts(t *testing.T) {
	t.Parallel()
	got, err := measure.Convert("9.23 lb/gal", "kg/L", measure.Inch)
	require.NoError(t, err)
	agrees(t, "1.106", got.Value, 4, "9.23 lb/gal")
	assert.Equal(t, []string{"I read lb/gal as the pound per US gallon."}, got.Notes)
}

func TestAGallonUnderACoverageIsAskedAboutWhereImperialOnesWereUsed(t *testing.T) {
	t.Parallel()
	_, err := measure.Convert("400 ft2/gal", "m2/L", measure.Millimetre)
	mistake := inputError(t, err)
	assert.Equal(t, "may be ft²/US gal or ft²/imp gal", mistake.Problem)
	hintsWork(t, err, inMillimetres(measure.ParseQuantity))
	_, err = measure.Convert("400 ft2/gal", "kg/m3", measure.Inch)
	assert.Equal(t, "is a unit of density and ft²/US gal one of coverage", inputError(t, err).Problem)
}
