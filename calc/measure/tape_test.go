package measure_test

import (
	"encoding/csv"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
)

// published reads a table of testdata, one map a row by the names in its heading.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "published", name))
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	records, err := reader.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(records), 1, "%s has rows", name)
	rows := make([]map[string]string, 0, len(records)-1)
	for _, record := range records[1:] {
		row := map[string]string{}
		for k, column := range records[0] {
			row[column] = record[k]
		}
		rows = append(rows, row)
	}
	return rows
}

// Source: inch-fractions.csv, 1/64 in steps by 1 in = 25.4 mm (NIST SP 811, appendix
// B.8; NIST Handbook 44, appendix C).
func TestEveryFractionOfATapeIsReadAndWrittenExactly(t *testing.T) {
	t.Parallel()
	rows := published(t, "inch-fractions.csv")
	assert.Len(t, rows, 64)
	for _, row := range rows {
		got, err := measure.ParseLength(row["fraction"], measure.Inch)
		require.NoError(t, err)
		sixtyFourths, err := strconv.Atoi(row["sixtyfourths"])
		require.NoError(t, err)
		assert.Equal(t, measure.Inch*measure.Length(sixtyFourths)/64, got, row["fraction"])
		assert.Equal(t, row["mm"]+" mm", got.Metric())
		assert.Equal(t, row["inch"], got.In(measure.Inch, 6))
		written, off := got.Tape(64)
		assert.Equal(t, row["fraction"]+" in", written)
		assert.Zero(t, off)
		metric, err := measure.ParseLength(row["mm"], measure.Millimetre)
		require.NoError(t, err)
		assert.Equal(t, got, metric, "the millimetres of %s", row["fraction"])
	}
}

func TestALengthIsWrittenAsItIsReadOffATape(t *testing.T) {
	t.Parallel()
	const in = measure.Inch
	for _, tt := range []struct {
		length       measure.Length
		denominator  int
		inches, feet string
		off          measure.Length
	}{
		{39*in + in/4, 16, "39-1/4 in", `3' 3-1/4"`, 0},
		{39 * in, 16, "39 in", `3' 3"`, 0},
		{36 * in, 16, "36 in", `3' 0"`, 0},
		{in / 4, 16, "1/4 in", `1/4"`, 0},
		{0, 16, "0 in", `0"`, 0},
		{in * 63 / 64, 32, "1 in", `1"`, in / 64}, // the even one of 62/64 and 64/64
		{in * 61 / 64, 32, "15/16 in", `15/16"`, -in / 64},
		{12*in - 1, 64, "12 in", `1' 0"`, 1},
		{990 * measure.Millimetre, 32, "38-31/32 in", `3' 2-31/32"`, -193_750},
		{-in / 4, 16, "-1/4 in", `-1/4"`, 0},
		{-13*in - 1, 16, "-13 in", `-1' 1"`, 1},
		{-1, 16, "0 in", `0"`, 1},
		{in / 64, 10, "1/64 in", `1/64"`, 0}, // no such tape: the finest
		{in / 3, 8, "3/8 in", `3/8"`, in*3/8 - 8_466_666},
	} {
		inches, off := tt.length.Tape(tt.denominator)
		assert.Equal(t, tt.inches, inches, "%v.Tape(%d)", tt.length, tt.denominator)
		assert.Equal(t, tt.off, off, "%v.Tape(%d)", tt.length, tt.denominator)
		feet, off := tt.length.TapeFeet(tt.denominator)
		assert.Equal(t, tt.feet, feet, "%v.TapeFeet(%d)", tt.length, tt.denominator)
		assert.Equal(t, tt.off, off)
	}
}

func TestALengthIsWrittenInMillimetresWithTheDigitsItTakes(t *testing.T) {
	t.Parallel()
	for length, want := range map[measure.Length]string{
		19 * measure.Millimetre: "19 mm", 2349_500_000: "2349.5 mm", 396_875: "0.396875 mm", 0: "0 mm", -1: "-0.000001 mm", 100 * measure.Metre: "100000 mm",
	} {
		assert.Equal(t, want, length.Metric())
		assert.Equal(t, want, length.String())
	}
	for _, tt := range []struct {
		length measure.Length
		places int
		want   string
		off    measure.Length
	}{
		{396_875, 1, "0.4 mm", 3_125}, {396_875, 0, "0 mm", -396_875}, {500_000, 0, "0 mm", -500_000}, {1_500_000, 0, "2 mm", 500_000},
		{396_875, 9, "0.396875 mm", 0}, {-1_500_000, 0, "-2 mm", -500_000}, {2349_500_000, 3, "2349.5 mm", 0},
	} {
		got, off := tt.length.MetricTo(tt.places)
		assert.Equal(t, tt.want, got)
		assert.Equal(t, tt.off, off, "%v.MetricTo(%d)", tt.length, tt.places)
	}
	assert.Equal(t, "3.271", (39*measure.Inch+measure.Inch/4).In(measure.Foot, 3))
	assert.Equal(t, "1", measure.Foot.In(measure.Foot, 3))
}

// anyLength draws lengths of every size, shop sizes among them.
func anyLength() *rapid.Generator[measure.Length] {
	return rapid.OneOf(
		rapid.Custom(func(t *rapid.T) measure.Length {
			return measure.Inch / 64 * measure.Length(rapid.Int64Range(0, 64*12*100).Draw(t, "sixty-fourths"))
		}),
		rapid.Custom(func(t *rapid.T) measure.Length {
			return measure.Length(rapid.Int64Range(0, 100*int64(measure.Metre)).Draw(t, "nanometres"))
		}),
		rapid.Custom(func(t *rapid.T) measure.Length { return measure.Length(rapid.Int64().Draw(t, "any")) }),
	)
}

func TestWritingOffATapeIsTheNearestStepAndSaysByHowMuchItIsOff(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		length := anyLength().Filter(func(l measure.Length) bool { return l.Abs() < 900_000_000*measure.Inch }).Draw(t, "length")
		denominator := rapid.SampledFrom([]int{1, 2, 4, 8, 16, 32, 64}).Draw(t, "denominator")
		step := measure.Inch / measure.Length(denominator)
		for _, write := range []func(measure.Length, int) (string, measure.Length){measure.Length.Tape, measure.Length.TapeFeet} {
			text, off := write(length, denominator)
			if 2*off.Abs() > step {
				t.Fatalf("%v is written %q, off by %v", int64(length), text, off)
			}
			if length < 0 {
				continue
			}
			got, err := measure.ParseLength(text, measure.Millimetre)
			require.NoError(t, err, text)
			assert.Equal(t, length+off, got, "%q", text)
			if 2*off.Abs() == step {
				assert.Zero(t, got/step%2, "%q rounds a half to the even step", text)
			}
		}
	})
}

func TestMillimetresAreReadBackToTheSameNanometre(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		length := anyLength().Filter(func(l measure.Length) bool { return l >= 0 && l < 1_000_000_000*measure.Millimetre }).Draw(t, "length")
		got, err := measure.ParseLength(length.Metric(), measure.Inch)
		require.NoError(t, err)
		assert.Equal(t, length, got)
		places := rapid.IntRange(0, 6).Draw(t, "places")
		text, off := length.MetricTo(places)
		rounded, err := measure.ParseLength(text, measure.Inch)
		if err == nil { // the rounded text may have grown a tenth digit
			assert.Equal(t, length+off, rounded)
		}
	})
}

func TestANumberTimesAUnitIsTheNearestNanometre(t *testing.T) {
	t.Parallel()
	units := map[string]measure.Length{"mm": measure.Millimetre, "cm": measure.Centimetre, "m": measure.Metre, "in": measure.Inch, "ft": measure.Foot, "yd": measure.Yard}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"mm", "cm", "m", "in", "ft", "yd"}).Draw(t, "unit")
		text := rapid.StringMatching(`[0-9]{1,9}\.[0-9]{1,9}|[0-9]{1,9}/[1-9][0-9]{0,2}`).Draw(t, "number")
		number, err := measure.ParseNumber(text)
		require.NoError(t, err)
		exact := number.Rat()
		exact.Mul(exact, new(big.Rat).SetInt64(int64(units[name])))
		want := measure.Decimal(exact, 0)
		got, err := measure.ParseLength(text+" "+name, measure.Inch)
		if whole, _ := new(big.Int).SetString(want, 10); !whole.IsInt64() {
			assert.Equal(t, "is longer than I can hold", inputError(t, err).Problem)
			return
		}
		require.NoError(t, err)
		assert.Equal(t, want, strconv.FormatInt(int64(got), 10), "%s %s", text, name)
	})
}

func TestLengthsAddAndMultiplyOrSayThatTheyDoNotFit(t *testing.T) {
	t.Parallel()
	edge := rapid.SampledFrom([]int64{math.MinInt64, math.MinInt64 + 1, -2, -1, 0, 1, 2, math.MaxInt64 - 1, math.MaxInt64, 3_037_000_500})
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.OneOf(edge, rapid.Int64()).Draw(t, "a")
		b := rapid.OneOf(edge, rapid.Int64()).Draw(t, "b")
		for _, tt := range []struct {
			want *big.Int
			got  func() (measure.Length, error)
		}{
			{new(big.Int).Add(big.NewInt(a), big.NewInt(b)), func() (measure.Length, error) { return measure.Length(a).Plus(measure.Length(b)) }},
			{new(big.Int).Mul(big.NewInt(a), big.NewInt(b)), func() (measure.Length, error) { return measure.Length(a).Times(b) }},
		} {
			got, err := tt.got()
			if !tt.want.IsInt64() {
				assert.Equal(t, "is longer than I can hold", inputError(t, err).Problem)
				continue
			}
			require.NoError(t, err)
			assert.Equal(t, tt.want.Int64(), int64(got))
		}
	})
	assert.Equal(t, measure.Length(math.MaxInt64), measure.Length(math.MinInt64).Abs())
	assert.Equal(t, measure.Inch, (-measure.Inch).Abs())
}
