package lumber_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func dress(t *testing.T, b measure.Board) lumber.DressedLine {
	t.Helper()
	lines, err := lumber.Dress(measure.Lot{{Count: 1, Board: b}})
	require.NoError(t, err, "%v", b)
	require.Len(t, lines, 1)
	return lines[0]
}

// Source: testdata/published/ps20-sizes.csv, American Softwood Lumber Standard PS 20
// (NIST), least dressed sizes, dry and green. 29 rows: 26 sizes of boards and
// dimension, and three rules for timbers, tried on every whole inch from 5 to 24.
func TestEveryNominalSizeIsDressedAsPS20Says(t *testing.T) {
	t.Parallel()
	checked := 0
	for _, row := range table(t, "ps20-sizes.csv") {
		require.Equal(t, "looked up", row["status"])
		dry, green := row["min_dressed_dry_in"], row["min_dressed_green_in"]
		switch row["dimension"] {
		case "thickness":
			got := dress(t, measure.Board{Thickness: in(t, row["nominal_in"]), Width: in(t, "12"), Length: measure.Foot})
			assert.Equal(t, in(t, dry), got.Dry.Thickness, "%s thick, dry", row["nominal_in"])
			assert.Equal(t, in(t, green), got.Green.Thickness, "%s thick, green", row["nominal_in"])
			assert.Equal(t, measure.Foot, got.Dry.Length)
			checked += 2
		case "width":
			got := dress(t, measure.Board{Thickness: in(t, "1"), Width: in(t, row["nominal_in"]), Length: measure.Foot})
			assert.Equal(t, in(t, dry), got.Dry.Width, "%s wide, dry", row["nominal_in"])
			assert.Equal(t, in(t, green), got.Green.Width, "%s wide, green", row["nominal_in"])
			checked += 2
		case "thickness or width":
			first, last := timberRange(t, row["nominal_in"])
			for n := first; n <= last; n++ {
				nominal := measure.Length(n) * measure.Inch
				got := dress(t, measure.Board{Thickness: nominal, Width: nominal, Length: measure.Foot})
				assert.Equal(t, nominal-in(t, strings.TrimSuffix(dry, " off")), got.Dry.Width, "%d in timber, dry", n)
				assert.Equal(t, nominal-in(t, strings.TrimSuffix(green, " off")), got.Green.Thickness, "%d in timber, green", n)
				checked += 2
			}
		default:
			assert.Fail(t, "a row of no kind that is known", "%v", row)
		}
	}
	assert.Equal(t, 2*26+2*20, checked)
}

// timberRange is the whole inches of a timber row, the last one up to 24.
func timberRange(t *testing.T, name string) (first, last int) {
	t.Helper()
	low, high, _ := strings.Cut(strings.NewReplacer(" and over", "-24", " and ", "-").Replace(name), "-")
	first, err := strconv.Atoi(low)
	require.NoError(t, err)
	last, err = strconv.Atoi(high)
	require.NoError(t, err)
	return first, last
}

func TestANominalSizeMayBeNamedEitherWayRound(t *testing.T) {
	t.Parallel()
	one, other := dress(t, board(t, "2x4x8'")), dress(t, board(t, "4x2x8'"))
	assert.Equal(t, one.Dry.Thickness, other.Dry.Width)
	assert.Equal(t, one.Green.Width, other.Green.Thickness)
	assert.Equal(t, in(t, "1-1/2"), one.Dry.Thickness)
	assert.Equal(t, in(t, "3-1/2"), one.Dry.Width)
}

func TestASizeThatIsNoNameIsRefusedWithOneThatIs(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ given, problem, hint string }{
		{"3/4 x 3-1/2 x 40", "is a dressed size, which is named 1x4", `1x4x40"`},
		{"1-1/2 x 5-1/2 x 8'", "is a dressed size, which is named 2x6", `2x6x96"`},
		{"1 x 13 x 40", "is not a nominal size of softwood", "2x4x8'"},
		{"6-1/2 x 7 x 40", "is not a nominal size of softwood", "2x4x8'"},
		{"7/8 x 4 x 40", "is not a nominal size of softwood", "2x4x8'"},
	} {
		_, err := lumber.Dress(boards(t, tt.given))
		var mistake *measure.InputError
		require.ErrorAs(t, err, &mistake, tt.given)
		assert.Equal(t, tt.problem, mistake.Problem)
		assert.Equal(t, tt.hint, mistake.Hint)
		_, err = lumber.Dress(boards(t, mistake.Hint))
		assert.NoError(t, err, "the hint %q works", mistake.Hint)
	}
}
