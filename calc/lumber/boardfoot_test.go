package lumber_test

import (
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// bf is an exact quantity of board feet.
func bf(t *testing.T, want string, got lumber.BoardFeet, message string) {
	t.Helper()
	assert.Zero(t, got.Rat().Cmp(ratio(t, want)), "%s: want %s, got %s", message, want, got.Rat())
}

func surface(t require.TestingT, lot measure.Lot) lumber.SurfaceMeasure {
	sm, err := lumber.SurfaceMeasureOf(lot)
	require.NoError(t, err)
	return sm
}

// Source: testdata/published/board-foot-examples.csv; every row names its own. Rows
// without a length or a thickness are tried on one foot or one inch.
func TestEveryWorkedExampleOfBoardFeetComesOut(t *testing.T) {
	t.Parallel()
	checks := map[string]func(t *testing.T){
		"2 in x 6-1/4 in x 8 ft": func(t *testing.T) {
			sm := surface(t, boards(t, "2 in x 6-1/4 in x 8 ft"))
			assert.EqualValues(t, 4, sm.SquareFeet)
			bf(t, "8", sm.BoardFeet, "NHLA/AHEC")
		},
		"6-1/2 in x 8 ft": func(t *testing.T) { assert.EqualValues(t, 4, surface(t, boards(t, "1 x 6-1/2 in x 8 ft")).SquareFeet) },
		"8 in x 12 ft":    func(t *testing.T) { assert.EqualValues(t, 8, surface(t, boards(t, "1 x 8 in x 12 ft")).SquareFeet) },
		"10 in x 13 ft":   func(t *testing.T) { assert.EqualValues(t, 11, surface(t, boards(t, "1 x 10 in x 13 ft")).SquareFeet) },
		"board 5-1/4 in wide, 8-1/2 ft long": func(t *testing.T) {
			tally, err := lumber.ExportTally(boards(t, "1 in x 5-1/4 in x 8.5 ft"))
			require.NoError(t, err)
			assert.Equal(t, boards(t, "1 in x 5 in x 8 ft"), tally)
		},
		"2x4, 14 ft":          func(t *testing.T) { bf(t, "28/3", lumber.CountedOf(boards(t, "2x4x14 ft")), "nominal") },
		"3 in x 8 in x 10 ft": func(t *testing.T) { bf(t, "20", lumber.VolumeOf(boards(t, "3 in x 8 in x 10 ft")), "plain") },
		"1 in x 4 in x 6 ft":  func(t *testing.T) { bf(t, "2", lumber.VolumeOf(boards(t, "1 in x 4 in x 6 ft")), "plain") },
		"2x4, 8 ft":           func(t *testing.T) { bf(t, "16/3", lumber.CountedOf(boards(t, "2x4x8 ft")), "nominal") },
		"2 in x 6 in x 8 ft":  func(t *testing.T) { bf(t, "8", lumber.VolumeOf(boards(t, "2 in x 6 in x 8 ft")), "plain") },
		"1000 BF": func(t *testing.T) {
			thousand := lumber.VolumeOf(boards(t, "1000 @ 1 x 12 x 12"))
			assert.Equal(t, "2.3597", measure.Decimal(thousand.CubicMetres(), 4))
			metre := lumber.VolumeOf(boards(t, "1 m x 1 m x 1 m"))
			assert.Equal(t, "423.776", metre.Round(3))
		},
		"2x4 dressed 1-1/2 x 3-1/2, per foot": func(t *testing.T) {
			lines, err := lumber.Dress(boards(t, "2x4x1 ft"))
			require.NoError(t, err)
			bf(t, "0.4375", lumber.VolumeOf(lumber.DryLot(lines)), "63 in³")
			assert.Zero(t, lines[0].Dry.Volume().Rat(measure.Inch).Cmp(ratio(t, "63")))
			assert.Equal(t, "0.6667", lumber.CountedOf(boards(t, "2x4x1 ft")).Round(4))
		},
		"5/8 in x 3-1/2 in x 40 in": func(t *testing.T) {
			slat := boards(t, "5/8 in x 3-1/2 in x 40 in")
			assert.Equal(t, "0.6076", lumber.VolumeOf(slat).Round(4))
			assert.Equal(t, "0.9722", lumber.CountedOf(slat).Round(4))
		},
		"hardwood measured after kiln drying": func(t *testing.T) {
			// Sold on net footage with no add-back: what is counted is the board as it
			// measures, so a dried board counts no more than its own volume.
			green, dry := boards(t, "1 x 6-1/4 x 96"), boards(t, "1 x 6 x 96")
			bf(t, "4", lumber.CountedOf(dry), "net")
			assert.Negative(t, lumber.CountedOf(dry).Rat().Cmp(lumber.CountedOf(green).Rat()))
		},
	}
	rows := table(t, "board-foot-examples.csv")
	for _, row := range rows {
		check, known := checks[row["board"]]
		require.True(t, known, "%q is not tried", row["board"])
		t.Run(row["rule"]+" "+row["board"], check)
		delete(checks, row["board"])
	}
	assert.Empty(t, checks, "examples the table does not have")
}

func TestHalvesOfAnExportTallyGoUpAndDownInTurn(t *testing.T) {
	t.Parallel()
	tally, err := lumber.ExportTally(boards(t, "5 @ 1 x 5-1/2 x 8'; 1 x 7-1/2 x 9'11\"; 1 x 6.6 x 8'; 1 x 4-1/2 x 8'"))
	require.NoError(t, err)
	assert.Equal(t, boards(t, "3 @ 1x6x8'; 2 @ 1x5x8'; 1x7x9'; 1x7x8'; 1x5x8'"), tally)
	_, err = lumber.ExportTally(boards(t, "1 x 5 x 11 in"))
	assert.ErrorContains(t, err, "is nothing in whole inches and feet")
}

func TestWasteIsTakenOffAndNotAddedOn(t *testing.T) {
	t.Parallel()
	waste := func(text string) measure.Percent {
		p, err := measure.ParsePercent(text)
		require.NoError(t, err)
		return p
	}
	ten := lumber.VolumeOf(boards(t, "10 @ 1 x 12 x 12"))
	toBuy, err := ten.ToBuy(waste("20%"))
	require.NoError(t, err)
	bf(t, "12.5", toBuy, "10/(1-0.2)")
	usable, err := ten.Usable(waste("20%"))
	require.NoError(t, err)
	bf(t, "8", usable, "10·(1-0.2)")
	for _, err := range []error{
		second(ten.ToBuy(waste("100%"))), second(ten.Usable(waste("250%"))), second(lumber.BoardsToBuy(3, waste("100%"))),
	} {
		assert.ErrorContains(t, err, "wastes all of the stock")
	}
	for percent, want := range map[string]int{"0%": 7, "12.5%": 8, "15%": 9, "30%": 10, "50%": 14, "99.99%": 70_000} {
		got, err := lumber.BoardsToBuy(7, waste(percent))
		require.NoError(t, err)
		assert.Equal(t, want, got, "7/(1-%s) rounded up", percent)
	}
	_, err = lumber.BoardsToBuy(7, waste("99.999999%"))
	assert.ErrorContains(t, err, "cannot count the boards to buy")
}

func second[T any](_ T, err error) error { return err }

// A yard's whole day: ten thousand lines are counted by every measure.
func TestALotOfTenThousandLinesIsCountedByEveryMeasure(t *testing.T) {
	t.Parallel()
	text := strings.TrimSuffix(strings.Repeat("2 @ 5/4 x 8 x 8'\n1 @ 1x6x12'\n", measure.MaxLotLines/2), "\n")
	lot := boards(t, text)
	require.Len(t, lot, measure.MaxLotLines)
	// Five thousand times 2 · 1.25 · 8 · 8/12 and 1 · 6 · 12/12.
	want := new(big.Rat).SetFrac64(5000*(40+18), 3)
	assert.Zero(t, lumber.VolumeOf(lot).Rat().Cmp(want))
	assert.Zero(t, lumber.CountedOf(lot).Rat().Cmp(want))
	sm := surface(t, lot)
	assert.EqualValues(t, 5000*(2*5+6), sm.SquareFeet, "5-1/3 ft² is 5")
	bf(t, "92500", sm.BoardFeet, "5000·(2·5·1.25 + 6)")
	surfaced, err := lumber.SurfacedLot(lot)
	require.NoError(t, err)
	bf(t, "243125/3", lumber.VolumeOf(surfaced), "5000·(2·17/16·8·8/12 + 13/16·6·12/12)")
	lines, err := lumber.Dress(boards(t, strings.ReplaceAll(text, "5/4", "2")))
	require.NoError(t, err)
	assert.Len(t, lines, measure.MaxLotLines)
	panel, err := lumber.PanelOf(lot, lumber.Cuts{})
	require.NoError(t, err)
	assert.Equal(t, 15_000, panel.Strips())
	assert.Equal(t, in(t, "1")*5000*(16+6), panel.Size.Width)
}
