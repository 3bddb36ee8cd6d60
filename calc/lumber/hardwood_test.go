package lumber_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// Source: testdata/published/hardwood-thickness.csv, NHLA Rules for the Measurement &
// Inspection of Hardwood & Cypress (two sides), trade custom (one side). 13 rows; the
// row 10/4 is FROM MEMORY.
func TestEveryRoughThicknessIsSurfacedAsTheTableSays(t *testing.T) {
	t.Parallel()
	rows := table(t, "hardwood-thickness.csv")
	assert.Len(t, lumber.Quarters(), len(rows))
	checked, memory := 0, 0
	for _, row := range rows {
		name := row["quarters"]
		if name == "" {
			name = row["rough_in"]
		}
		b := board(t, name+" x 6 x 96 in") // a quarter is read as the fraction it is
		got, err := lumber.QuarterOf(b.Thickness)
		require.NoError(t, err, name)
		assert.Equal(t, row["quarters"], got.Name)
		assert.Equal(t, in(t, row["rough_in"]), got.Rough, name)
		assert.Equal(t, in(t, row["s2s_in"]), got.S2S, name)
		checked += 2
		if row["s1s_in"] == "" {
			assert.Zero(t, got.S1S, "%s has no one-side thickness", name)
		} else {
			assert.Equal(t, in(t, row["s1s_in"]), got.S1S, name)
			checked++
		}
		assert.Equal(t, row["status"] == "memory", got.FromMemory, name)
		if got.FromMemory {
			memory++
		}
		surfaced, err := lumber.SurfacedLot(measure.Lot{{Count: 3, Board: b}})
		require.NoError(t, err)
		assert.Equal(t, measure.Lot{{Count: 3, Board: measure.Board{Thickness: got.S2S, Width: b.Width, Length: b.Length}}}, surfaced)
	}
	assert.Equal(t, 35, checked)
	assert.Equal(t, 1, memory)
}

func TestAThicknessThatIsNotRoughIsRefused(t *testing.T) {
	t.Parallel()
	for given, want := range map[string][2]string{
		"13/16":  {"is what 4/4 is surfaced to on two sides, and lumber is counted rough", "4/4 x 6 x 8'"},
		"1-3/4":  {"", ""}, // 7/4 rough, and also what 8/4 is surfaced to
		"1-1/16": {"is what 5/4 is surfaced to on two sides, and lumber is counted rough", "5/4 x 6 x 8'"},
		"5":      {"is not a rough thickness of hardwood", "5/4 x 6 x 8'"},
	} {
		_, err := lumber.SurfacedLot(boards(t, given+" x 6 x 96"))
		if want[0] == "" {
			assert.NoError(t, err, given)
			continue
		}
		var mistake *measure.InputError
		require.ErrorAs(t, err, &mistake, given)
		assert.Equal(t, want, [2]string{mistake.Problem, mistake.Hint})
		_, err = lumber.SurfacedLot(boards(t, mistake.Hint))
		assert.NoError(t, err, "the hint %q works", mistake.Hint)
	}
}

// Source: testdata/published/plywood-thickness.csv, US Voluntary Product Standard
// PS 1, 15 performance categories. Tolerances: 1/32 in up to 13/16, 5 % above.
func TestEverySheetThicknessIsWhatPS1Allows(t *testing.T) {
	t.Parallel()
	rows := table(t, "plywood-thickness.csv")
	assert.Len(t, lumber.Plywoods(), len(rows))
	checked := 0
	for _, row := range rows {
		got, known := lumber.PlywoodOf(in(t, row["category"]))
		require.True(t, known, row["category"])
		assert.Equal(t, row["category"], got.Category)
		assert.Equal(t, in(t, row["min_in"]), got.Min, row["category"])
		assert.Equal(t, in(t, row["max_in"]), got.Max, row["category"])
		assert.Equal(t, in(t, row["recommended_label_in"]), got.Label, row["category"])
		assert.True(t, got.Min <= got.Label && got.Label <= got.Max, "%s: the label stands between the bounds", row["category"])
		assert.True(t, got.Min < got.Nominal && got.Nominal < got.Max, "%s: so does the name", row["category"])
		checked += 3
	}
	assert.Equal(t, 45, checked)
	_, known := lumber.PlywoodOf(18 * measure.Millimetre)
	assert.False(t, known, "18 mm follows another standard")
}

func TestTheAreaOfSheetsIsExact(t *testing.T) {
	t.Parallel()
	lot := boards(t, `3 @ 3/4 x 48 x 96; 2 @ 1/2 x 24 x 48`)
	assert.Zero(t, lumber.SheetArea(lot).Rat(measure.Foot).Cmp(ratio(t, "112")), "3 · 32 ft² + 2 · 8 ft²")
	// A count times a side that no longer fits a length is added up instead.
	const far = measure.Length(1) << 62
	huge := measure.Lot{{Count: 7, Board: measure.Board{Thickness: 1, Width: far, Length: far}}}
	want := measure.AreaOf(far, far).Rat(measure.Metre)
	assert.Zero(t, lumber.SheetArea(huge).Rat(measure.Metre).Cmp(want.Mul(want, ratio(t, "7"))))
}
