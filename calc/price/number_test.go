package price

import (
	"math"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawNumber draws as many numbers at the edges of 64 bits as in the middle, and some
// beyond, with the same as a decimal made without this package's doing.
func drawNumber(t *rapid.T, label string) (number, decimal.Decimal) {
	coefficient := rapid.OneOf(
		rapid.Int64Range(-1_000_000, 1_000_000),
		rapid.Int64(),
		rapid.Map(rapid.Int64Range(-4, 4), func(n int64) int64 { return math.MaxInt64 + n }), // turns round at the top
	).Draw(t, label)
	exponent := rapid.Int32Range(-12, 12).Draw(t, label+" exponent")
	d := decimal.New(coefficient, exponent)
	switch rapid.IntRange(0, 5).Draw(t, label+" made") {
	case 0:
		d = d.Mul(decimal.New(rapid.Int64().Draw(t, label+" by"), 0))
		return numberOf(d), d
	case 1:
		return numberOf(d), d
	}
	return scaled(coefficient, exponent), d
}

// same holds a number against the decimal that it stands for.
func same(t require.TestingT, want decimal.Decimal, got number, of string) {
	require.True(t, want.Equal(got.Decimal()), "%s: %s, and by decimals %s", of, got.Decimal(), want)
}

func TestEveryStepInSixtyFourBitsIsTheDecimalLibrarys(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n, d := drawNumber(t, "n")
		o, p := drawNumber(t, "o")
		same(t, d, n, "n")
		same(t, d.Neg(), n.Neg(), "-n")
		same(t, d.Abs(), n.Abs(), "|n|")
		same(t, d.Add(p), n.Add(o), "n+o")
		same(t, d.Sub(p), n.Sub(o), "n-o")
		same(t, d.Mul(p), n.Mul(o), "n*o")
		same(t, decimal.Min(d, p), lesser(n, o), "the lesser")
		assert.Equal(t, d.Cmp(p), n.Cmp(o))
		assert.Equal(t, d.Sign(), n.Sign())
		by := rapid.Int32Range(-6, 6).Draw(t, "by")
		same(t, d.Shift(by), n.Shift(by), "shifted")
		if !p.IsZero() {
			q, r := n.QuoRem(o)
			wantQ, wantR := d.QuoRem(p, 0)
			same(t, wantQ, q, "n/o")
			same(t, wantR, r, "rest of n/o")
		}
		places := rapid.Int32Range(0, 14).Draw(t, "places")
		assert.Equal(t, d.StringFixed(places), n.StringFixed(places))
		assert.Equal(t, d.String(), n.String())
		assert.Equal(t, !d.Equal(d.Truncate(places)), n.finerThan(places), "%s finer than %d places", d, places)
		m, is := n.Int64()
		require.Equal(t, d.IsInteger() && d.BigInt().IsInt64(), is, "%s in 64 bits", d)
		if is {
			assert.Equal(t, d.IntPart(), m)
		}
	})
}

// The roundings are held against the decimal library's own, of a quotient that ends.
func TestQuotientsAreRoundedAsTheDecimalLibraryRounds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n, d := drawNumber(t, "n")
		e := exact{num: n, den: one}
		by := scaled(rapid.SampledFrom([]int64{1, 2, 4, 5, 8, 10, 16, 25}).Draw(t, "by"), rapid.Int32Range(-3, 3).Draw(t, "by's exponent"))
		e.num, e.den = e.num.Mul(by), by // the same again
		places := rapid.Int32Range(-2, 14).Draw(t, "places")
		same(t, d.RoundBank(places), e.halfEven(places), "half to even")
		same(t, d.RoundCeil(places), e.up(scaled(1, -places)), "up")
		same(t, d.RoundFloor(places), e.down(scaled(1, -places)), "down")
	})
}

func TestSharesAndMillionthsAreRoundedAsTheDecimalLibraryRounds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		_, share := drawNumber(t, "share")
		assert.Equal(t, share.Shift(2).RoundBank(1).String(), PercentOf(share, 1))
		micros := rapid.Int64Range(-1e15, 1e15).Draw(t, "micros")
		for _, c := range []Currency{{"JPY", 0}, {"USD", 2}, {"KWD", 3}, {"CLF", 4}} {
			m := FromMicros(micros, c)
			same(t, decimal.New(micros, -6).RoundBank(c.digits), m.amount, m.String())
			minor, err := m.Minor()
			if d := m.amount.Decimal().Shift(c.digits); d.Abs().LessThanOrEqual(decimal.New(MaxMinor, 0)) {
				require.NoError(t, err)
				assert.Equal(t, d.IntPart(), minor)
			} else {
				assert.Error(t, err)
			}
		}
	})
}

func TestATimeAsAFractionOfHoursIsTheSameTime(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(-int64(1e6*time.Hour), int64(1e6*time.Hour)).Draw(t, "nanoseconds"))
		if rapid.Bool().Draw(t, "whole minutes") {
			d = d.Truncate(time.Minute)
		}
		parts, anHour := inHours(d)
		assert.True(t, anHour.IsPositive())
		same(t, decimal.New(int64(d), 0).Mul(anHour.Decimal()), parts.Mul(whole(int64(time.Hour))), d.String())
		if d%time.Minute == 0 {
			assert.LessOrEqual(t, anHour.Cmp(whole(60)), 0, "in lowest terms")
		}
	})
}
