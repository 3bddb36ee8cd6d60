package pool

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Efron and Morris (1977), from pr-shrinkage-checks.csv, LOOKED UP there: 18
// batters, grand mean 0.2654, shrinking factor 0.2124; Clemente's 0.400 becomes
// 0.294 and Alvis's 0.156 becomes 0.242. Averages are taken as logarithms to the
// base 10 here, and the factor as 531 parts of 2500.
func TestShrinkingIsThatOfEfronAndMorris(t *testing.T) {
	t.Parallel()
	raise := func(average float64) Micros { return Micros(math.Round(math.Pow(10, average) * 1e6)) }
	for average, want := range map[float64]float64{0.400: 0.294, 0.156: 0.242} {
		got := shrunk(raise(average), raise(0.2654), 531, 2500-531)
		assert.InDelta(t, want, math.Log10(float64(got)/1e6), 0.0005, "%v", average)
	}
}

func TestAnEstimateLiesBetweenTheTwoAndNearerTheMoreMakersThereAre(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		own := Micros(rapid.Int64Range(1, 1e15).Draw(t, "own"))
		all := Micros(rapid.Int64Range(1, 1e15).Draw(t, "all"))
		n := rapid.IntRange(1, 60).Draw(t, "makers")
		got := Shrunk(own, all, n)
		assert.GreaterOrEqual(t, got, min(own, all))
		assert.LessOrEqual(t, got, max(own, all))
		more := Shrunk(own, all, n+5)
		if own < all {
			assert.LessOrEqual(t, more, got)
		} else {
			assert.GreaterOrEqual(t, more, got)
		}
		want := math.Exp((float64(n)*math.Log(float64(own)) + 4*math.Log(float64(all))) / float64(n+4))
		assert.InEpsilon(t, want, float64(got)+0.5, 1e-9+1/want)
	})
	assert.Equal(t, Micros(-5), Shrunk(-5, 7, 8), "no logarithm, no drawing")
}
