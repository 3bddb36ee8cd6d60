package measure_test

import (
	"errors"
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"

	"tallystick/calc/measure"
)

// inputError is err as the mistake it must be, complete enough to be shown.
func inputError(t require.TestingT, err error) *measure.InputError {
	var mistake *measure.InputError
	require.ErrorAs(t, err, &mistake)
	require.NotEmpty(t, mistake.Problem)
	require.NotEmpty(t, mistake.Hint)
	return mistake
}

// hintsWork asserts that what a mistake offers is itself read.
func hintsWork(t require.TestingT, err error, read func(text string) error) {
	for hint := range strings.SplitSeq(inputError(t, err).Hint, " or ") {
		assert.NoError(t, read(hint), "the hint of %v", err)
	}
}

func ignoring[T any](parse func(string) (T, error)) func(string) error {
	return func(text string) error {
		_, err := parse(text)
		return err
	}
}

func inInches[T any](parse func(string, measure.Length) (T, error)) func(string) error {
	return ignoring(func(text string) (T, error) { return parse(text, measure.Inch) })
}

func inMillimetres[T any](parse func(string, measure.Length) (T, error)) func(string) error {
	return ignoring(func(text string) (T, error) { return parse(text, measure.Millimetre) })
}

func TestNumbersAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"39": "39", " 39 ": "39", "0": "0", "007": "7", "999999999": "999999999",
		"1-3/4": "1.75", "1 3/4": "1.75", "1  3/4": "1.75", "1¾": "1.75", "1 ¾": "1.75", "1-¾": "1.75", "⅞": "0.875",
		"13/16": "0.8125", "13⁄16": "0.8125", "5/4": "1.25", "1/3": "1/3", "⅔": "2/3", "2/6": "1/3", "0/5": "0", "7/1": "7",
		"1–3/4": "1.75", "1‑3/4": "1.75", "1\u00a03/4": "1.75", "1\u202f¾": "1.75",
		".75": "0.75", ",75": "0.75", "2,5": "2.5", "2.5": "2.5", "1.234": "1.234", "0,125": "0.125", "1234,567": "1234.567",
		"1,234.50": "1234.5", "1.234,50": "1234.5", "1,234,567": "1234567", "1.234.567": "1234567", "1.234,567": "1234.567",
		"12,34": "12.34", "1,2345": "1.2345", "0.000000001": "0.000000001", "999999999.999999999": "999999999.999999999",
		"1/1000": "0.001", "1/512": "0.001953125",
	} {
		got, err := measure.ParseNumber(text)
		if assert.NoError(t, err, "ParseNumber(%q)", text) {
			assert.Equal(t, want, got.String(), "ParseNumber(%q)", text)
		}
	}
}

// Source: Unicode's compatibility decomposition, which writes ¾ as 3⁄4.
func TestEveryVulgarFractionIsWhatUnicodeDecomposesItTo(t *testing.T) {
	t.Parallel()
	const glyphs = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒"
	for _, glyph := range glyphs {
		got, err := measure.ParseNumber(string(glyph))
		require.NoError(t, err)
		want, err := measure.ParseNumber(norm.NFKC.String(string(glyph)))
		require.NoError(t, err)
		assert.Equal(t, want, got, "%c", glyph)
		assert.False(t, got.IsZero())
		mixed, err := measure.ParseNumber("2" + string(glyph))
		require.NoError(t, err)
		assert.Zero(t, got.Rat().Add(got.Rat(), big.NewRat(2, 1)).Cmp(mixed.Rat()), "2%c", glyph)
	}
	zero, err := measure.ParseNumber("0.0")
	require.NoError(t, err)
	assert.True(t, zero.IsZero())
	assert.Equal(t, measure.Number{}, zero)
}

func TestNumbersThatAreNoneOrMayBeTwoAreRefused(t *testing.T) {
	t.Parallel()
	for text, problem := range map[string]string{
		"": "is empty", "  ": "is empty", "x": "is not a number", "-3": "is below zero", "−3": "is below zero",
		"+3": "is not a number", "1e3": "is not a number", "0x10": "is not a number", "1_000": "is not a number",
		"5.": "is not a number", "1.5-1/2": "is not a number", "1/": "is not a number", "/2": "is not a number",
		"1 2": "is not a number", "3-4": "is not a number", "½½": "is not a number", "Inf": "is not a number", "NaN": "is not a number",
		"٣": "is not a number", "1-": "is not a number", "1/2/3": "is not a number",
		"1/0": "divides by zero", "1-1/0": "divides by zero", "1/1001": "has a denominator above 1000",
		"1,234": "may be 1.234 or 1234", "12,345": "may be 12.345 or 12345", "123,456": "may be 123.456 or 123456",
		"1 5/4":   "has a fraction of one or more behind a whole number",
		"1-4/4":   "has a fraction of one or more behind a whole number",
		"1,23.45": "has separators I cannot place", "1.2.3": "has separators I cannot place", "12,34,567": "has separators I cannot place",
		"1,234.5,6": "has separators I cannot place", "0,123,456": "has separators I cannot place",
		"1234567890": "has more than 9 digits before the decimal point", "1,234,567,890": "has more than 9 digits before the decimal point",
		"0.1234567890": "has more than 9 decimals", "1,234.1234567890": "has more than 9 decimals",
		strings.Repeat("1", 65): "is too long for a number",
	} {
		_, err := measure.ParseNumber(text)
		mistake := inputError(t, err)
		assert.Equal(t, problem, mistake.Problem, "ParseNumber(%q)", text)
		assert.Equal(t, text, mistake.Value)
		hintsWork(t, err, ignoring(measure.ParseNumber))
	}
}

func TestLengthsAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	const (
		in = measure.Inch
		mm = measure.Millimetre
	)
	for text, want := range map[string]measure.Length{
		"39": 39 * in, `39"`: 39 * in, "39 in": 39 * in, "39in": 39 * in, "39 in.": 39 * in, "39″": 39 * in, "39”": 39 * in,
		"39''": 39 * in, "39’’": 39 * in, "39 Inches": 39 * in, "1 INCH": in, "1 inch": in, `39 "`: 39 * in,
		`3'3"`: 39 * in, "3'3": 39 * in, `3' 3"`: 39 * in, "3′ 3″": 39 * in, "3’ 3”": 39 * in, "3'3''": 39 * in,
		"3 ft 3 in": 39 * in, "3ft3in": 39 * in, "3 feet 3 inches": 39 * in, "3 ft. 3 in.": 39 * in, "3 foot 3": 39 * in,
		`3' 3-1/4"`: 39*in + in/4, "3ft 3 1/4in": 39*in + in/4, `3'-3 1/4"`: 39*in + in/4, `3' 3¼"`: 39*in + in/4, `0' 6"`: 6 * in, `3' 0"`: 36 * in,
		"1-3/4": in * 7 / 4, `1¾"`: in * 7 / 4, "⅞": in * 7 / 8, `.75"`: in * 3 / 4, "5/4": in * 5 / 4, "13/16": in * 13 / 16,
		"3.5'": 42 * in, "3½ ft": 42 * in, "1/3 ft": 4 * in, "2 yd": 72 * in, "1 yard": 36 * in, "2 yds.": 72 * in,
		"990 mm": 990 * mm, "99cm": 990 * mm, "0.99 m": 990 * mm, "2,5 cm": 25 * mm, "19mm": 19 * mm, "19 MM": 19 * mm,
		"1 metre": 1000 * mm, "2 meters": 2000 * mm, "3 millimetres": 3 * mm, "4 centimeters": 40 * mm,
		"1,234.5 mm": 1234*mm + mm/2, "1.234,5 mm": 1234*mm + mm/2, "0": 0, "0 mm": 0, "  39  ": 39 * in, "39\u00a0in": 39 * in,
	} {
		got, err := measure.ParseLength(text, in)
		if assert.NoError(t, err, "ParseLength(%q, Inch)", text) {
			assert.Equal(t, want, got, "ParseLength(%q, Inch)", text)
		}
	}
}

func TestABareNumberTakesTheUnitOfTheMember(t *testing.T) {
	t.Parallel()
	for _, unit := range []measure.Length{measure.Millimetre, measure.Centimetre, measure.Metre, measure.Inch, measure.Foot, measure.Yard} {
		got, err := measure.ParseLength("2,5", unit)
		require.NoError(t, err)
		assert.Equal(t, unit*5/2, got)
		marked, err := measure.ParseLength(`3'3`, unit)
		require.NoError(t, err)
		assert.Equal(t, 39*measure.Inch, marked, "behind feet a bare number is inches whatever the member's unit")
	}
	_, err := measure.ParseLength("999999999", 1_000_000*measure.Metre)
	assert.Equal(t, "is longer than I can hold", inputError(t, err).Problem)
	_, err = measure.ParseLength("3", 0)
	assert.Equal(t, "has no unit", inputError(t, err).Problem)
}

func TestLengthsThatAreNoneOrMayBeTwoAreRefused(t *testing.T) {
	t.Parallel()
	for text, problem := range map[string]string{
		"": "is empty", "\n": "is empty", "x": "is not a length", `"`: "is not a length", "mm": "is not a length", "-3": "is below zero", `-3' 2"`: "is below zero",
		"39 inchs": "is not a length", "8 hrz": "is not a length", "3 mm 4": "is not a length", `3" 4"`: "is not a length", `3 4`: "is not a length",
		"3 ft 2 ft": "has a unit behind the feet that is not inches", "3' 20 mm": "has a unit behind the feet that is not inches",
		`3'14"`:   `has 12 inches or more behind the feet, and may be 4'2" or a slip`,
		`3' 12`:   `has 12 inches or more behind the feet, and may be 4'0" or a slip`,
		`1'30.5"`: `has 12 inches or more behind the feet, and may be 3'6.5" or a slip`,
		`3.5' 6"`: "has a fraction of a foot and inches as well", "1/0": "divides by zero", `3' 1/0"`: "divides by zero",
		"1,234": "may be 1.234 or 1234", "1,234 mm": "may be 1.234 or 1234", "4cmx": "is not a length", "3 m2": "is not a length",
		strings.Repeat(" ", 60) + "39 in": "is too long for a length", "1e3 mm": "is not a length", "0x10": "is not a length",
		"3 survey feet": "is not a length", "3 millimetresss": "is not a length", "3 LEAGUES": "is not a length", "3§": "is not a length",
		"999999999'12": `has 12 inches or more behind the feet, and may be 1000000000'0" or a slip`, "\xff": "is not a length", "3\xff": "is not a length", "3′\xe2": "is not a length",
	} {
		_, err := measure.ParseLength(text, measure.Inch)
		mistake := inputError(t, err)
		assert.Equal(t, problem, mistake.Problem, "ParseLength(%q, Inch)", text)
		assert.Equal(t, text, mistake.Value)
		hintsWork(t, err, inInches(measure.ParseLength))
	}
}

func TestWhatDoesNotFitANanometreIsRoundedHalfToEven(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]measure.Length{
		"0.0000005 mm": 0, "0.0000015 mm": 2, "0.0000025 mm": 2, "0.0000035 mm": 4, "0.000000501 mm": 1, "0.000000499 mm": 0,
		"1/3 mm": 333_333, "2/3 mm": 666_667, "1/64": 396_875, "1/7 in": 3_628_571,
	} {
		got, err := measure.ParseLength(text, measure.Inch)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, "ParseLength(%q)", text)
	}
}

func TestReadingALengthDoesNotAllocate(t *testing.T) {
	for _, text := range []string{"39", `3' 3-1/4"`, "3ft 3 1/4in", "990 mm", "1-3/4", "2,5 cm", "1¾”", "39 Inches"} {
		allocations := testing.AllocsPerRun(100, func() {
			if _, err := measure.ParseLength(text, measure.Inch); err != nil {
				t.Fatal(err)
			}
		})
		assert.Zero(t, allocations, "ParseLength(%q)", text)
	}
}

func TestAMistakeIsAnErrorOfItsOwnKind(t *testing.T) {
	t.Parallel()
	_, err := measure.ParseLength("39 inchs", measure.Inch)
	_, is := errors.AsType[*measure.InputError](err)
	assert.True(t, is)
	assert.EqualError(t, err, `"39 inchs" is not a length; try 3/4 or 19mm`)
}
