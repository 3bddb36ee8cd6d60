package measure

import (
	"math"
	"math/big"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// drawWhole draws whole numbers from near nought as often as from the edge of 64 bits.
func drawWhole(t *rapid.T, label string) int64 {
	return rapid.OneOf(rapid.Int64Range(-2_000, 2_000), rapid.Int64(), rapid.Int64Range(math.MaxInt64-4, math.MaxInt64), rapid.Just[int64](math.MinInt64)).Draw(t, label)
}

// byLibrary rounds num/den by the decimal library, which is not used here otherwise:
// far more decimals than are kept, and one more that says whether anything follows.
func byLibrary(num, den int64, places int) string {
	const many = 60
	q, rest := decimal.New(num, 0).QuoRem(decimal.New(den, 0), many)
	if !rest.IsZero() {
		q = q.Add(decimal.New(int64(rest.Sign()), -many-1))
	}
	rounded := q.RoundBank(int32(places))
	if rounded.IsZero() {
		return decimal.Zero.StringFixed(int32(places))
	}
	return rounded.StringFixed(int32(places))
}

func TestDecimalsAreTheSameInSixtyFourBitsAndInAny(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		num, den, places := drawWhole(t, "num"), drawWhole(t, "den"), rapid.IntRange(0, 20).Draw(t, "places")
		if rapid.Bool().Draw(t, "a tie") { // an odd number of halves of the last place
			num, den = 2*(num%1_000_000)+1, 2*powersOfTen[places%7]
		}
		if den <= 0 {
			den = 1 + den&0xfff
		}
		r := big.NewRat(num, den)
		want := byLibrary(num, den, places)
		assert.Equal(t, want, Decimal(r, places))
		assert.Equal(t, want, decimalOfAny(r, places))
		if text, ok := decimalOf(num, den, places); ok {
			assert.Equal(t, want, text)
		}
		assert.Equal(t, trimZeros(want), Length(num).In(Length(den), places))
	})
}

func TestUnitsAreWrittenWithAsManyDecimalsAsAsked(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		units, places := drawWhole(t, "units"), rapid.IntRange(0, 30).Draw(t, "places")
		assert.Equal(t, decimal.New(units, -int32(places)).StringFixed(int32(places)), Fixed(units, places))
	})
}

func TestTimesAreRoundedToTheSecondAndToTheNanosecondHalfToEven(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(drawWhole(t, "nanoseconds"))
		if rapid.Bool().Draw(t, "half a second") {
			d = d.Truncate(time.Second)/2 + time.Second/2
		}
		whole := decimal.New(int64(d), -9).RoundBank(0).IntPart()
		if d.Abs() < maxDuration {
			assert.Equal(t, FormatDuration(time.Duration(whole)*time.Second), FormatDuration(d))
		}
		n := Number{num: rapid.Int64Range(0, 1e15).Draw(t, "num"), den: rapid.Int64Range(1, 1e9).Draw(t, "den")}
		for _, unit := range []time.Duration{time.Hour, time.Minute, time.Second} {
			got, fits := n.times(unit)
			want := decimal.New(n.num, 0).Mul(decimal.New(int64(unit), 0))
			q, _ := decimal.New(n.num, 0).QuoRem(decimal.New(n.den, 0), 0)
			assert.Equal(t, q.LessThanOrEqual(decimal.New(int64(maxDuration/unit), 0)), fits)
			if fits {
				nanoseconds, rest := want.QuoRem(decimal.New(n.den, 0), 0)
				if twice := rest.Mul(decimal.New(2, 0)).Cmp(decimal.New(n.den, 0)); twice > 0 || twice == 0 && nanoseconds.IntPart()%2 == 1 {
					nanoseconds = nanoseconds.Add(decimal.New(1, 0))
				}
				assert.Equal(t, nanoseconds.IntPart(), int64(got))
			}
		}
	})
}

func TestANumberOnTopOfAWholeOneIsTheirSum(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := Number{num: rapid.Int64Range(0, 1e18).Draw(t, "num"), den: rapid.Int64Range(1, 1e9).Draw(t, "den")}
		whole := rapid.OneOf(rapid.Int64Range(0, 20), rapid.Int64Range(0, 12*999_999_999)).Draw(t, "whole")
		want := new(big.Rat).Add(big.NewRat(n.num, n.den), big.NewRat(whole, 1))
		assert.Zero(t, want.Cmp(n.onTopOf(whole)), "%s and %d", n, whole)
	})
}
