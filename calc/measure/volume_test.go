package measure_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
)

// product is the slow way to a volume or an area.
func product(factors ...measure.Length) *big.Rat {
	n := big.NewInt(1)
	for _, factor := range factors {
		n.Mul(n, big.NewInt(int64(factor)))
	}
	return new(big.Rat).SetInt(n.Abs(n))
}

func TestVolumesAndAreasAreExactForEveryLength(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var volume measure.Volume
		var area measure.Area
		slowVolume, slowArea := new(big.Rat), new(big.Rat)
		for range rapid.IntRange(0, 5).Draw(t, "boards") {
			a, b, c := anyLength().Draw(t, "a"), anyLength().Draw(t, "b"), anyLength().Draw(t, "c")
			count := rapid.IntRange(1, 1<<60).Draw(t, "count")
			volume = volume.Plus(measure.VolumeOf(count, a, b, c))
			slowVolume.Add(slowVolume, product(a, b, c, measure.Length(count)))
			area = area.Plus(measure.AreaOf(a, b))
			slowArea.Add(slowArea, product(a, b))
		}
		assert.Zero(t, slowVolume.Cmp(volume.Rat(measure.Nanometre)))
		assert.Zero(t, slowArea.Cmp(area.Rat(measure.Nanometre)))
		assert.Equal(t, slowVolume.Sign() == 0, volume.IsZero())
		cubicInch := product(measure.Inch, measure.Inch, measure.Inch)
		assert.Zero(t, slowVolume.Quo(slowVolume, cubicInch).Cmp(volume.Rat(measure.Inch)))
	})
}

func TestAVolumeOfNoBoardsIsNone(t *testing.T) {
	t.Parallel()
	assert.True(t, measure.VolumeOf(0, measure.Inch, measure.Inch, measure.Inch).IsZero())
	assert.True(t, measure.VolumeOf(-3, measure.Inch, measure.Inch, measure.Inch).IsZero())
	assert.Equal(t, "0", measure.Volume{}.Rat(measure.Inch).RatString())
	assert.Equal(t, "0", measure.Area{}.Rat(measure.Foot).RatString())
}

func TestALotIsTheSumOfItsBoards(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var lot measure.Lot
		var sum measure.Volume
		boards := 0
		for range rapid.IntRange(0, 6).Draw(t, "lines") {
			b := board(anyLength().Draw(t, "thickness"), anyLength().Draw(t, "width"), anyLength().Draw(t, "length"))
			count := rapid.IntRange(1, 20).Draw(t, "count")
			lot = append(lot, measure.LotLine{Count: count, Board: b})
			for range count {
				sum = sum.Plus(b.Volume())
			}
			boards += count
		}
		assert.Equal(t, sum, lot.Volume())
		assert.Equal(t, boards, lot.Boards())
	})
}

func TestADecimalIsRoundedHalfToEvenAndHasNoMinusBeforeZero(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		num, den int64
		places   int
		want     string
	}{
		{1, 8, 2, "0.12"}, {3, 8, 2, "0.38"}, {-1, 8, 2, "-0.12"}, {-3, 8, 2, "-0.38"}, {-1, 1000, 2, "0.00"}, {5, 2, 0, "2"}, {7, 2, 0, "4"},
		{-5, 2, 0, "-2"}, {1, 3, 4, "0.3333"}, {2, 3, 4, "0.6667"}, {1234567, 1, 2, "1234567.00"}, {1, 2, -1, "0"}, {0, 1, 3, "0.000"},
	} {
		assert.Equal(t, tt.want, measure.Decimal(big.NewRat(tt.num, tt.den), tt.places), "Decimal(%d/%d, %d)", tt.num, tt.den, tt.places)
	}
	rapid.Check(t, func(t *rapid.T) {
		r := big.NewRat(rapid.Int64().Draw(t, "num"), rapid.Int64Range(1, 1<<62).Draw(t, "den"))
		places := rapid.IntRange(0, 20).Draw(t, "places")
		got, _ := new(big.Rat).SetString(measure.Decimal(r, places))
		off := got.Sub(got, r)
		scale := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil))
		assert.LessOrEqual(t, off.Abs(off).Mul(off, scale).Cmp(big.NewRat(1, 2)), 0, "Decimal(%v, %d) is the nearest", r, places)
	})
}
