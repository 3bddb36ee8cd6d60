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

// Source: testdata/published/board-foot-examples.csv, the row of the export tally
// (americanhardwood.org, "Measurement") and the computed row of a dressed 2x4.
func TestTheExportTallyAndTheDressedStudOfTheTableComeOut(t *testing.T) {
	t.Parallel()
	tried := 0
	for _, row := range table(t, "board-foot-examples.csv") {
		switch row["board"] {
		case "board 5-1/4 in wide, 8-1/2 ft long":
			tried++
			assert.Contains(t, row["answer"], "tallied 5 in and 8 ft")
			tally, err := lumber.ExportTally(boards(t, "1 in x 5-1/4 in x 8.5 ft"))
			require.NoError(t, err)
			assert.Equal(t, boards(t, "1 in x 5 in x 8 ft"), tally)
		case "2x4 dressed 1-1/2 x 3-1/2, per foot":
			tried++
			assert.Equal(t, "63 in3 = 0.4375 BF true volume against 0.6667 BF nominal", row["answer"])
			lines, err := lumber.Dress(boards(t, "2x4x1 ft"))
			require.NoError(t, err)
			assert.Zero(t, lines[0].Dry.Volume().Rat(measure.Inch).Cmp(ratio(t, "63")))
			assert.Equal(t, "0.4375", lumber.VolumeOf(lumber.DryLot(lines)).Round(4))
			assert.Equal(t, "0.6667", lumber.CountedOf(boards(t, "2x4x1 ft")).Round(4))
		}
	}
	assert.Equal(t, 2, tried)
}

func TestHalvesOfAnExportTallyGoUpAndDownInTurn(t *testing.T) {
	t.Parallel()
	tally, err := lumber.ExportTally(boards(t, "5 @ 1 x 5-1/2 x 8'; 1 x 7-1/2 x 9'11\"; 1 x 6.6 x 8'; 1 x 4-1/2 x 8'"))
	require.NoError(t, err)
	assert.Equal(t, boards(t, "3 @ 1x6x8'; 2 @ 1x5x8'; 1x7x9'; 1x7x8'; 1x5x8'"), tally)
	_, err = lumber.ExportTally(boards(t, "1 x 5 x 11 in"))
	assert.ErrorContains(t, err, "is nothing in whole inches and feet")
}

func TestWholeBoardsAreBoughtForWaste(t *testing.T) {
	t.Parallel()
	waste := func(text string) measure.Percent {
		p, err := measure.ParsePercent(text)
		require.NoError(t, err)
		return p
	}
	for share, want := range map[string]int{"0%": 7, "12.5%": 8, "15%": 9, "30%": 10, "50%": 14, "99.99%": 70_000} {
		got, err := lumber.BoardsToBuy(7, waste(share))
		require.NoError(t, err)
		assert.Equal(t, want, got, "7/(1-%s) rounded up", share)
	}
	_, err := lumber.BoardsToBuy(7, waste("100%"))
	require.ErrorContains(t, err, "wastes all of the stock")
	_, err = lumber.BoardsToBuy(7, waste("99.999999%"))
	assert.ErrorContains(t, err, "cannot count the boards to buy")
}

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
	sm, err := lumber.SurfaceMeasureOf(lot)
	require.NoError(t, err)
	assert.EqualValues(t, 5000*(2*5+6), sm.SquareFeet, "5-1/3 ft² is 5")
	assert.Zero(t, sm.BoardFeet.Rat().Cmp(ratio(t, "92500")), "5000·(2·5·1.25 + 6)")
	surfaced, err := lumber.SurfacedLot(lot)
	require.NoError(t, err)
	assert.Zero(t, lumber.VolumeOf(surfaced).Rat().Cmp(ratio(t, "243125/3")), "5000·(2·17/16·8·8/12 + 13/16·6·12/12)")
	lines, err := lumber.Dress(boards(t, strings.ReplaceAll(text, "5/4", "2")))
	require.NoError(t, err)
	assert.Len(t, lines, measure.MaxLotLines)
	panel, err := lumber.PanelOf(lot, lumber.Cuts{})
	require.NoError(t, err)
	assert.Equal(t, 15_000, panel.Strips())
	assert.Equal(t, in(t, "1")*5000*(16+6), panel.Size.Width)
}
