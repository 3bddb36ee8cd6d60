package pool_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tallystick/calc/pool"
)

func TestDaysToSellArePublishedAsABand(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ days, band string }{
		{"0", "0–7"}, {"7", "0–7"}, {"7.5", "8–14"}, {"8", "8–14"}, {"14", "8–14"}, {"14.5", "8–14"}, {"15", "15–30"},
		{"30", "15–30"}, {"31", "31–60"}, {"60", "31–60"}, {"61", "61–120"}, {"120", "61–120"}, {"121", "121+"}, {"4000", "121+"},
	} {
		assert.Equal(t, c.band, pool.DaysBandOf(micros(t, c.days)).String(), c.days)
	}
}

func TestACountOfMakersIsReadAsABand(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "8–14", pool.Makers8.String())
	assert.Equal(t, "15–24", pool.Makers15.String())
	assert.Equal(t, "25–49", pool.Makers25.String())
	assert.Equal(t, "50+", pool.Makers50.String())
}

func TestAFigureIsFoundByItsKey(t *testing.T) {
	t.Parallel()
	for _, f := range pool.Figures(pool.Everything) {
		got, ok := pool.ParseFigure(f.String())
		assert.True(t, ok)
		assert.Equal(t, f, got)
	}
	_, ok := pool.ParseFigure("no_figure")
	assert.False(t, ok)
	assert.Equal(t, "no_figure", pool.Figure(-1).String())
}

func TestASaleHasTheValuesItWasGiven(t *testing.T) {
	t.Parallel()
	v := pool.Values{}.With(pool.Price, 0).With(pool.RealisedHourly, -5)
	got, ok := v.Of(pool.Price)
	assert.True(t, ok, "nothing is a price too")
	assert.Zero(t, got)
	got, ok = v.Of(pool.RealisedHourly)
	assert.True(t, ok)
	assert.Equal(t, pool.Micros(-5), got)
	_, ok = v.Of(pool.DaysToSell)
	assert.False(t, ok)
	assert.Equal(t, v, v.With(pool.Figure(99), 1), "there is no such figure")
}
