package lumber_test

import (
	"encoding/csv"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func lotOf(t require.TestingT, text string) measure.Lot {
	lot, err := measure.ParseLot(text, measure.Inch)
	require.NoError(t, err)
	return lot
}

func percent(t require.TestingT, text string) measure.Percent {
	p, err := measure.ParsePercent(text)
	require.NoError(t, err)
	return p
}

// rat is a published figure such as 9 1/3 or 2.3597.
func rat(t *testing.T, text string) *big.Rat {
	t.Helper()
	n, err := measure.ParseNumber(text)
	require.NoError(t, err)
	return n.Rat()
}

// workedExamples asks each row of board-foot-examples.csv in this package's terms.
// The key is the row's board.
var workedExamples = map[string]func(t *testing.T, answer string){
	"2 in x 6-1/4 in x 8 ft": func(t *testing.T, answer string) {
		got := surfaceMeasure(t, "2 in x 6-1/4 in x 8 ft")
		assert.Contains(t, answer, "-> 4 ft; BF = 4*2 = 8")
		assert.EqualValues(t, 4, got.SquareFeet)
		assert.Equal(t, "8", got.BoardFeet.Round(0))
	},
	"6-1/2 in x 8 ft": func(t *testing.T, answer string) {
		assert.Equal(t, "4 1/3 -> 4 SM", answer)
		assert.EqualValues(t, 4, surfaceMeasure(t, "1 in x 6-1/2 in x 8 ft").SquareFeet)
	},
	"8 in x 12 ft": func(t *testing.T, answer string) {
		assert.Equal(t, "8 SM", answer)
		assert.EqualValues(t, 8, surfaceMeasure(t, "1 in x 8 in x 12 ft").SquareFeet)
	},
	"10 in x 13 ft": func(t *testing.T, answer string) {
		assert.Equal(t, "10 10/12 -> 11 SM", answer)
		assert.EqualValues(t, 11, surfaceMeasure(t, "1 in x 10 in x 13 ft").SquareFeet)
	},
	"2x4, 14 ft": func(t *testing.T, answer string) {
		assert.Contains(t, answer, "9 1/3 BF")
		sameBoardFeet(t, "9 1/3", lumber.VolumeOf(lotOf(t, "2 x 4 x 14 ft")))
	},
	"3 in x 8 in x 10 ft": boardFeet("20 BF", "3 in x 8 in x 10 ft"),
	"1 in x 4 in x 6 ft":  boardFeet("2 BF", "1 in x 4 in x 6 ft"),
	"2x4, 8 ft":           boardFeet("5 1/3 BF", "2 x 4 x 8 ft"),
	"2 in x 6 in x 8 ft":  boardFeet("8 BF", "2 in x 6 in x 8 ft"),
	"1000 BF": func(t *testing.T, answer string) {
		assert.Equal(t, "2.3597 m3; 1 m3 = 423.776 BF", answer)
		thousand := lumber.VolumeOf(lotOf(t, "1000 @ 1 x 12 x 12"))
		sameBoardFeet(t, "1000", thousand)
		assert.Equal(t, "2.3597", measure.Decimal(thousand.CubicMetres(), 4))
		cubicMetre := lumber.FromVolume(measure.VolumeOf(1, measure.Metre, measure.Metre, measure.Metre))
		assert.Equal(t, "423.776", cubicMetre.Round(3))
	},
	"2x4 dressed 1-1/2 x 3-1/2, per foot": func(t *testing.T, answer string) {
		assert.Equal(t, "63 in3 = 0.4375 BF true volume against 0.6667 BF nominal", answer)
		lot := lotOf(t, "1-1/2 x 3-1/2 x 1 ft")
		assert.Equal(t, "63", lot.Volume().Rat(measure.Inch).RatString())
		assert.Equal(t, "0.4375", lumber.VolumeOf(lot).Round(4))
		assert.Equal(t, "0.6667", lumber.VolumeOf(lotOf(t, "2 x 4 x 1 ft")).Round(4))
	},
	"5/8 in x 3-1/2 in x 40 in": func(t *testing.T, answer string) {
		assert.Equal(t, "true 0.6076 BF; counted as 1 in thick: 0.9722 BF", answer)
		lot := lotOf(t, "5/8 in x 3-1/2 in x 40 in")
		assert.Equal(t, "0.6076", lumber.VolumeOf(lot).Round(4))
		assert.Equal(t, "0.9722", lumber.CountedOf(lot).Round(4))
	},
}

// otherRules are rows of the table that this package does not work out.
var otherRules = map[string]string{
	"board 5-1/4 in wide, 8-1/2 ft long":  "whoever tallies for export rounds width and length while measuring",
	"hardwood measured after kiln drying": "a method of sale, not a sum",
}

func surfaceMeasure(t require.TestingT, text string) lumber.SurfaceMeasure {
	got, err := lumber.SurfaceMeasureOf(lotOf(t, text))
	require.NoError(t, err)
	return got
}

func sameBoardFeet(t *testing.T, want string, got lumber.BoardFeet) {
	t.Helper()
	assert.Zero(t, rat(t, want).Cmp(got.Rat()), "want %s bf, got %v", want, got.Rat())
}

func boardFeet(published, text string) func(*testing.T, string) {
	return func(t *testing.T, answer string) {
		t.Helper()
		assert.Equal(t, published, answer)
		sameBoardFeet(t, strings.TrimSuffix(published, " BF"), lumber.VolumeOf(lotOf(t, text)))
	}
}

// Source: board-foot-examples.csv; each row names its own.
func TestEveryPublishedBoardFootExampleComesOut(t *testing.T) {
	t.Parallel()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "published", "board-foot-examples.csv"))
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows[1:], len(workedExamples)+len(otherRules))
	for _, row := range rows[1:] {
		if otherRules[row[1]] != "" {
			continue
		}
		check := workedExamples[row[1]]
		if assert.NotNil(t, check, "%q is neither worked out nor said to be absent", row[1]) {
			check(t, row[2])
		}
	}
}

// By hand: 6 · 5/8 · 3-1/2 · 40 = 525 in³, and 525/144 = 3.6458 bf; one inch thick,
// 840/144 = 5.8333 bf.
func TestThinBoardsCountAsAnInchOnlyWhenTheyAreCounted(t *testing.T) {
	t.Parallel()
	lot := lotOf(t, "6 @ 5/8 x 3-1/2 x 40 in")
	assert.Equal(t, "3.65", lumber.VolumeOf(lot).Round(2))
	assert.Equal(t, "3.6458", lumber.VolumeOf(lot).Round(4))
	assert.Equal(t, "5.83", lumber.CountedOf(lot).Round(2))
	assert.Equal(t, "3.65 bf", lumber.VolumeOf(lot).String())
	thick := lotOf(t, "6 @ 1x4x8'")
	assert.Equal(t, lumber.VolumeOf(thick).Rat(), lumber.CountedOf(thick).Rat())
	assert.Equal(t, "0.00", lumber.BoardFeet{}.Round(2))
	assert.Equal(t, "0.00 bf", lumber.VolumeOf(nil).String())
}

func TestRoundingIsHalfToEvenAndOnlyOnce(t *testing.T) {
	t.Parallel()
	half := lumber.VolumeOf(lotOf(t, "1 x 12 x 6"))
	assert.Equal(t, "0", half.Round(0))
	assert.Equal(t, "2", half.Plus(half).Plus(half).Round(0), "1.5")
	third := lumber.VolumeOf(lotOf(t, "1 x 12 x 4"))
	assert.Equal(t, "1.00", third.Plus(third).Plus(third).Round(2))
}

func TestWasteIsTakenFromWhatIsBought(t *testing.T) {
	t.Parallel()
	net := lumber.VolumeOf(lotOf(t, "6 @ 1x12x12"))
	gross, err := net.ToBuy(percent(t, "25%"))
	require.NoError(t, err)
	sameBoardFeet(t, "8", gross)
	left, err := gross.Usable(percent(t, "25%"))
	require.NoError(t, err)
	sameBoardFeet(t, "6", left)
	for _, all := range []string{"100%", "100.000000001%", "250%"} {
		for _, err := range []error{
			second(net.ToBuy(percent(t, all))),
			second(net.Usable(percent(t, all))),
		} {
			var mistake *measure.InputError
			require.ErrorAs(t, err, &mistake)
			assert.Equal(t, "wastes all of the stock", mistake.Problem)
			assert.Equal(t, all, mistake.Value)
		}
	}
}

func second[A any](_ A, err error) error { return err }

func anyLot() *rapid.Generator[measure.Lot] {
	return rapid.Custom(func(t *rapid.T) measure.Lot {
		var lot measure.Lot
		side := rapid.Custom(func(t *rapid.T) measure.Length {
			return measure.Length(rapid.Int64Range(1, int64(10*measure.Metre)).Draw(t, "side"))
		})
		for range rapid.IntRange(0, 8).Draw(t, "lines") {
			lot = append(lot, measure.LotLine{
				Count: rapid.IntRange(1, measure.MaxLotCount).Draw(t, "count"),
				Board: measure.Board{Thickness: side.Draw(t, "thickness"), Width: side.Draw(t, "width"), Length: side.Draw(t, "length")},
			})
		}
		return lot
	})
}

func TestTheLawsOfATally(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyLot().Draw(t, "a"), anyLot().Draw(t, "b")
		both := append(append(measure.Lot{}, a...), b...)
		for _, tally := range []func(measure.Lot) lumber.BoardFeet{lumber.VolumeOf, lumber.CountedOf} {
			assert.Zero(t, tally(a).Plus(tally(b)).Rat().Cmp(tally(both).Rat()), "the whole is the sum of its parts")
		}
		assert.LessOrEqual(t, lumber.VolumeOf(a).Rat().Cmp(lumber.CountedOf(a).Rat()), 0, "counting never makes less")

		twice := append(measure.Lot{}, a...)
		for k := range twice {
			twice[k].Board.Length *= 2
		}
		once := lumber.VolumeOf(a)
		assert.Zero(t, once.Plus(once).Rat().Cmp(lumber.VolumeOf(twice).Rat()), "boards twice as long hold twice as much")

		waste := percent(t, rapid.StringMatching(`[1-9]?[0-9]\.[0-9]{1,4}`).Draw(t, "waste")+"%")
		gross, err := once.ToBuy(waste)
		require.NoError(t, err)
		net, err := gross.Usable(waste)
		require.NoError(t, err)
		assert.Zero(t, once.Rat().Cmp(net.Rat()), "what is bought leaves what was wanted")
	})
}

func TestSurfaceMeasureIsTheNearestFootOfEveryBoard(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lot := anyLot().Draw(t, "lot")
		got, err := lumber.SurfaceMeasureOf(lot)
		require.NoError(t, err)
		feet, volume := new(big.Rat), new(big.Rat)
		for _, line := range lot {
			area := measure.AreaOf(line.Board.Width, line.Board.Length).Rat(measure.Foot)
			rounded, _ := new(big.Rat).SetString(measure.Decimal(area, 0))
			rounded.Mul(rounded, new(big.Rat).SetInt64(int64(line.Count)))
			feet.Add(feet, rounded)
			volume.Add(volume, rounded.Mul(rounded, max(line.Board.Thickness, measure.Inch).Rat(measure.Inch)))
		}
		assert.Equal(t, feet.RatString(), big.NewRat(got.SquareFeet, 1).RatString())
		assert.Zero(t, volume.Cmp(got.BoardFeet.Rat()))
	})
	half := surfaceMeasure(t, "1 x 6 x 1 ft; 1 x 6 x 3 ft")
	assert.EqualValues(t, 2, half.SquareFeet, "a half goes to the even foot: 0 and 2")
}

func TestMoreSurfaceThanCanBeCountedIsRefused(t *testing.T) {
	t.Parallel()
	const far = measure.Length(1<<63 - 1)
	for _, b := range []measure.Board{
		{Thickness: measure.Inch, Width: far, Length: far},
		{Thickness: measure.Inch, Width: 1_000_000 * measure.Metre, Length: far / 1000},
	} {
		lot := measure.Lot{{Count: 10_000, Board: b}, {Count: 10_000, Board: b}}
		for range 12 {
			lot = append(lot, lot...)
		}
		_, err := lumber.SurfaceMeasureOf(lot)
		var mistake *measure.InputError
		require.ErrorAs(t, err, &mistake)
		assert.Equal(t, "is more surface than I can count", mistake.Problem)
	}
}
