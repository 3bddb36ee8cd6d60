package measure_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
)

// Each target holds that any text is either read, and then written and read back to
// the same value, or refused with a complete mistake whose hints are themselves
// read.

func FuzzParseNumber(f *testing.F) {
	for _, seed := range []string{"39", "1-3/4", "1 3/4", "1¾", "⅞", ".75", "2,5", "13/16", "1,234", "1,234.50", "1.234,50", "1/0", "0x10", "1e9", "1_0", "-3", "1⁄2", "1 5/4"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		n, err := measure.ParseNumber(text)
		if err != nil {
			hintsWork(t, err, ignoring(measure.ParseNumber))
			return
		}
		assert.GreaterOrEqual(t, n.Rat().Sign(), 0)
		again, err := measure.ParseNumber(n.String())
		if err != nil { // a mixed number may be longer as a plain fraction
			require.Contains(t, n.String(), "/")
			require.Greater(t, len(n.String()), len("999999999/"))
			return
		}
		assert.Equal(t, n, again, "%q", text)
	})
}

func FuzzParseLength(f *testing.F) {
	for _, seed := range []string{`39"`, "39 in", `3'3"`, `3' 3-1/4"`, "3ft 3 1/4in", "1¾\"", "⅞", ".75\"", "990 mm", "99cm", "0.99 m", "2,5 cm", "3′ 3″", "3’ 3”", "39''", "2 yd", "1/0", `3'14"`, "1,234", "4cmx", "3'-4"} {
		f.Add(seed, true)
		f.Add(seed, false)
	}
	f.Fuzz(func(t *testing.T, text string, metric bool) {
		bare := measure.Inch
		if metric {
			bare = measure.Millimetre
		}
		parse := func(text string) (measure.Length, error) { return measure.ParseLength(text, bare) }
		length, err := parse(text)
		if err != nil {
			hintsWork(t, err, ignoring(parse))
			return
		}
		require.GreaterOrEqual(t, length, measure.Length(0))
		if length < 1_000_000_000*measure.Millimetre {
			again, err := parse(length.Metric())
			require.NoError(t, err)
			assert.Equal(t, length, again, "%q", text)
			tape, off := length.TapeFeet(64)
			again, err = parse(tape)
			require.NoError(t, err)
			assert.Equal(t, length+off, again, "%q is %s", text, tape)
		}
	})
}

func FuzzParseSize(f *testing.F) {
	for _, seed := range []string{"39 x 23 x 1-3/4 in", "99 × 58 × 4,5 cm", `39"L x 23"W x 18"H`, "39 by 23", "18H x 39L x 23W cm", "4cmx8cm", "39x", "0 x 4", "1x2x3x4", "39 x 4y x 3", "3' x 2' 6\" x 1"} {
		f.Add(seed)
	}
	parse := inInches(measure.ParseSize)
	f.Fuzz(func(t *testing.T, text string) {
		size, err := measure.ParseSize(text, measure.Inch)
		if err != nil {
			hintsWork(t, err, parse)
			return
		}
		require.Contains(t, []int{2, 3}, len(size))
		for _, side := range size {
			require.Positive(t, side)
			if side >= 1_000_000_000*measure.Millimetre {
				return
			}
		}
		again, err := measure.ParseSize(size.Metric(), measure.Inch)
		require.NoError(t, err)
		assert.Equal(t, size, again, "%q", text)
	})
}

// metricLot writes a lot so that it can be read back.
func metricLot(lot measure.Lot) string {
	var text strings.Builder
	for _, line := range lot {
		b := line.Board
		fmt.Fprintf(&text, "%d @ %s x %s x %s\n", line.Count, b.Thickness.Metric(), b.Width.Metric(), b.Length.Metric())
	}
	return text.String()
}

func FuzzParseLot(f *testing.F) {
	for _, seed := range []string{
		"6 @ 5/8 x 3-1/2 x 40 in", "6 @ 1x4x8'", "6 pcs 3/4 x 3-1/2 x 40", "6 1x4x8'", "27 x 150 x 2.4 m", "1 x 4 x 8 ft; 2@1x4x4'", "6 @ x", "1x4x8,2 @ 2x4x8", "1x4x8,2x4x8",
		"6 @ 1x4x8',\n 2 @ 2,5x4x4y", "6 3/4 x 3-1/2 x 40", "1,000 @ 1x4x8'", "6 boards of 1x4x8' + 1x1x1", "@", ";,+",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		lot, err := measure.ParseLot(text, measure.Inch)
		if err != nil {
			hintsWork(t, err, inInches(measure.ParseLot))
			return
		}
		require.NotEmpty(t, lot)
		for _, line := range lot {
			b := line.Board
			require.True(t, line.Count >= 1 && line.Count <= measure.MaxLotCount)
			require.Positive(t, min(b.Thickness, b.Width, b.Length))
			if max(b.Thickness, b.Width, b.Length) >= 1_000_000_000*measure.Millimetre {
				return
			}
		}
		again, err := measure.ParseLot(metricLot(lot), measure.Inch)
		require.NoError(t, err)
		assert.Equal(t, lot, again, "%q", text)
	})
}

func FuzzConvert(f *testing.F) {
	for _, seed := range [][2]string{
		{`7' 8-1/2"`, "mm"}, {"1 bf", "m3"}, {"-40 C", "F"}, {"1 gal", "in3"}, {"7.50/bf", "/m3"}, {"$7.50 per bf", "per m3"}, {"2.10 USD/ft", "EUR/m"}, {"12 lb", "mm"},
		{"40 lb/ft3", "kg/m³"}, {"1 face cord", "m3"}, {"50 ft-lbs", "N·m"}, {"1 cu. yd.", "cubic feet"}, {"−300 °C", "K"}, {"1/0", "/"}, {"3 galons", "u s gal"}, {"1 lbf/in²", "kPa"}, {"1 m 20 cm", "mm"}, {"3 Fm", "m3"}, {"5 gal/ft2", "L"}, {"2x4", "mm"}, {"USD 4kgg", "lb"},
	} {
		f.Add(seed[0], seed[1], true)
		f.Add(seed[0], seed[1], false)
	}
	f.Fuzz(func(t *testing.T, value, to string, metric bool) {
		bare := measure.Inch
		if metric {
			bare = measure.Millimetre
		}
		got, err := measure.Convert(value, to, bare)
		if err != nil {
			inputError(t, err)
			if _, err := measure.ParseQuantity(value, bare); err != nil {
				hintsWork(t, err, ignoring(func(text string) (measure.Quantity, error) { return measure.ParseQuantity(text, bare) }))
			}
			return
		}
		assert.Regexp(t, `^-?[0-9]+(\.[0-9]*[1-9])?$`, got.Value, "Convert(%q, %q)", value, to)
		assert.False(t, got.Exact && got.Float)
		assert.Contains(t, measure.UnitNames(), got.Unit)
		same, err := got.Quantity.To(got.Quantity.Unit, bare)
		require.NoError(t, err)
		assert.False(t, same.Float, "into its own unit nothing is converted")
	})
}

func FuzzParseDuration(f *testing.F) {
	for _, seed := range []string{"14.25", "14,25", "7h40", "7:40", "7:40:30", "7 h 40 min", "45m", "90 minutes", "1h", "8 hrz", "7h75", "1/7 h", "1h30m20", "100000.1", ":", "7:"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, err := measure.ParseDuration(text)
		if err != nil {
			hintsWork(t, err, ignoring(measure.ParseDuration))
			return
		}
		require.GreaterOrEqual(t, d.Nanoseconds(), int64(0))
		require.LessOrEqual(t, d.Hours(), 100_000.0)
		again, err := measure.ParseDuration(measure.FormatDuration(d))
		require.NoError(t, err)
		assert.LessOrEqual(t, (again - d).Abs().Milliseconds(), int64(500), "%q", text)
	})
}

func FuzzParsePercent(f *testing.F) {
	for _, seed := range []string{"2.9%", "2,9 %", "12 percent", "12", "0.029", "1/2", "8-7/8%", "1/3%", "-3%", "1,234", "100 per cent", "⅛%"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := measure.ParsePercent(text)
		if err != nil {
			hintsWork(t, err, ignoring(measure.ParsePercent))
			return
		}
		again, err := measure.ParsePercent(p.String())
		require.NoError(t, err)
		assert.Equal(t, p, again, "%q", text)
	})
}
