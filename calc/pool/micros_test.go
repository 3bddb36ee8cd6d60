package pool_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tallystick/calc/pool"
)

func TestThreeSignificantFiguresAreLeft(t *testing.T) {
	t.Parallel()
	for value, want := range map[string]string{
		"12.345":  "12.3",
		"12.35":   "12.4", // half: 12.4 is even in its third figure
		"12.45":   "12.4",
		"999.5":   "1000",
		"998.5":   "998",
		"1234567": "1230000",
		"-0.9995": "-1",
		"-21.35":  "-21.4",
		"0.00012": "0.00012",
		"0":       "0",
	} {
		assert.Equal(t, micros(t, want), pool.ThreeFigures(micros(t, value)), value)
	}
	assert.Equal(t, pool.Micros(9_220_000_000_000_000_000), pool.ThreeFigures(math.MaxInt64))
	assert.Equal(t, pool.Micros(-9_220_000_000_000_000_000), pool.ThreeFigures(math.MinInt64))
}

func TestRatiosAreInTwentieths(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ value, nearest, down, up string }{
		{"0.92", "0.9", "0.9", "0.95"},
		{"0.93", "0.95", "0.9", "0.95"},
		{"0.925", "0.9", "0.9", "0.95"}, // half: 18 twentieths, not 19
		{"0.975", "1", "0.95", "1"},
		{"1.05", "1.05", "1.05", "1.05"},
	} {
		v := micros(t, c.value)
		assert.Equal(t, micros(t, c.nearest), pool.Twentieths(v, pool.Nearest), "nearest %s", c.value)
		assert.Equal(t, micros(t, c.down), pool.Twentieths(v, pool.Down), "down from %s", c.value)
		assert.Equal(t, micros(t, c.up), pool.Twentieths(v, pool.Up), "up from %s", c.value)
	}
}

func TestRoundingStaysNearAndInOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := pool.Micros(rapid.Int64Range(-1e18, 1e18).Draw(t, "a"))
		b := pool.Micros(rapid.Int64Range(-1e18, 1e18).Draw(t, "b"))
		low, high := min(a, b), max(a, b)
		for _, way := range []pool.Way{pool.Nearest, pool.Down, pool.Up} {
			assert.LessOrEqual(t, pool.Preferred(low, way), pool.Preferred(high, way), "in order, way %d", way)
			once := pool.Preferred(a, way)
			assert.Equal(t, once, pool.Preferred(once, pool.Nearest), "a preferred number stays")
		}
		down, up := pool.Preferred(a, pool.Down), pool.Preferred(a, pool.Up)
		assert.LessOrEqual(t, down, a)
		assert.GreaterOrEqual(t, up, a)
		nearest := pool.Preferred(a, pool.Nearest)
		assert.Contains(t, []pool.Micros{down, up}, nearest)
		assert.LessOrEqual(t, max(nearest-a, a-nearest), min(a-down, up-a))

		three := pool.ThreeFigures(a)
		assert.Equal(t, three, pool.ThreeFigures(three), "rounding again changes nothing")
		assert.LessOrEqual(t, 200*max(three-a, a-three), max(a, -a), "within half of the third figure")
	})
}
