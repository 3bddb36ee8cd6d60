package store_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestNothingIsPublishedBeforeTheFirstRelease(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	assert.Empty(t, published(t.Context(), t, s, "guild"))
	ran, err := s.ReleaseDue(t.Context(), noon)
	require.NoError(t, err)
	assert.Zero(t, ran)
	_, err = s.Community(t.Context(), "guild")
	require.NoError(t, err)
	ran, err = s.ReleaseDue(t.Context(), noon)
	require.NoError(t, err)
	assert.Zero(t, ran, "a community without a sale has no release")
}

func TestAReleaseIsDueAtTheFirstSaleAndThenOnTheFirstOfAMonth(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	practice(t, s, "guild", seeds(66, 4))
	practice(t, s, "other guild", seeds(3, 2))
	due := func(now time.Time) int {
		ran, err := s.ReleaseDue(t.Context(), now)
		require.NoError(t, err)
		return ran
	}
	assert.Equal(t, 2, due(noon))
	assert.Equal(t, 0, due(noon.AddDate(0, 0, 1)))
	first := published(t.Context(), t, s, "guild")
	assert.Equal(t, "2026-03-01", first[pool.Everything].AsOf.String())
	assert.Equal(t, 0, due(time.Date(2026, time.March, 31, 23, 59, 59, 0, time.UTC)))
	assert.Equal(t, 2, due(time.Date(2026, time.April, 1, 0, 0, 0, 0, time.UTC)))
	assert.Equal(t, 2, due(time.Date(2026, time.July, 9, 0, 0, 0, 0, time.UTC)), "three were missed, the newest is made")
	history, err := s.History(t.Context(), "guild", pool.Everything, 10)
	require.NoError(t, err)
	require.Len(t, history, 3)
	assert.Equal(t, "2026-07-01", history[0].Day.String(), "the newest first")
	assert.Equal(t, "2026-03-01", history[2].Day.String())
	assert.Equal(t, "2026-03-01", history[0].Line.AsOf.String(), "a figure is renewed yearly at most")
	assert.Equal(t, history[2].Line.Figures, history[0].Line.Figures)
}

func TestAReleaseIsMadeOnce(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	practice(t, s, "guild", seeds(66, 4))
	day := pool.DayOf(2026, time.March, 1)
	require.NoError(t, s.RunRelease(t.Context(), "guild", day, pool.StandardRules()))
	first := published(t.Context(), t, s, "guild")
	require.NoError(t, s.Seed(t.Context(), "guild", nil))
	require.NoError(t, s.RunRelease(t.Context(), "guild", day, pool.StandardRules()))
	assert.Equal(t, first, published(t.Context(), t, s, "guild"))
	require.ErrorIs(t, s.RunRelease(t.Context(), "guild", day-31, pool.StandardRules()), store.ErrConflict)
}

func TestAReleaseSpeaksOfTheListedCutsAndOfNoOthersThatNeverWereShown(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	sales := seeds(66, 4)
	odd := sales[0]
	odd.Sale.Category, odd.Sale.Sold = "harp", pool.MonthOf(2025, time.June)
	practice(t, s, "guild", append(sales, odd))
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayAt(noon), pool.StandardRules()))
	cuts := published(t.Context(), t, s, "guild")
	assert.NotContains(t, cuts, pool.CategoryCut("harp"), "that there is a harp is nobody's business")
	for _, category := range []string{"bench", "box", "shelf"} {
		assert.Contains(t, cuts, pool.CategoryCut(category))
	}
	assert.Contains(t, cuts, pool.RegionCut("coast"), "not listed, but shown")
}

func TestASmallCommunityIsToldWhyNothingIsShown(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	practice(t, s, "guild", seeds(3, 2))
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayAt(noon), pool.StandardRules()))
	cuts := published(t.Context(), t, s, "guild")
	assert.Equal(t, pool.Line{Cut: pool.Everything, Reason: pool.TooFewMakers}, cuts[pool.Everything])
	assert.Equal(t, pool.Line{Cut: pool.CategoryCut("box"), Reason: pool.TooFewActive}, cuts[pool.CategoryCut("box")])
}

func TestASaleSharedTodayCountsAfterThirtyDays(t *testing.T) {
	t.Parallel()
	for shared, first := range map[string]string{
		"2026-03-01": "2026-04-01", // 31 days
		"2026-03-02": "2026-04-01", // 30 days
		"2026-03-03": "2026-05-01",
		"2026-01-30": "2026-03-01",
		"2026-01-31": "2026-04-01", // 29 days before 1 March
	} {
		s := fresh(t)
		now, err := time.Parse(time.DateOnly, shared)
		require.NoError(t, err)
		for i := range 30 {
			who := store.Who{Community: "guild", Member: fmt.Sprint("member ", i)}
			sale := bench(100)
			sale.Category, sale.Region = fmt.Sprint("bench ", i), "" // only everything has enough makers
			sale.Sold = pool.MonthOf(2025, time.September)
			code, err := s.SaveDraft(t.Context(), who, sale, now)
			require.NoError(t, err)
			_, err = s.ShareDraft(t.Context(), who, "1", code, 1, now)
			require.NoError(t, err)
		}
		day := pool.DayAt(now).Month().First()
		for {
			require.NoError(t, s.RunRelease(t.Context(), "guild", day, pool.StandardRules()))
			if published(t.Context(), t, s, "guild")[pool.Everything].Shown {
				break
			}
			day = (day.Month() + 1).First()
			require.Less(t, day, pool.DayOf(2026, time.July, 1))
		}
		assert.Equal(t, first, day.String(), "shared on %s", shared)
	}
}

func TestSalesDieWhenTheyLeaveTheWindow(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "1", bench(100)) // October 2025
	newer := bench(200)
	newer.Sold = pool.MonthOf(2025, time.November)
	share(t, s, ann, "2", newer)
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayOf(2027, time.September, 1), pool.StandardRules()))
	assert.Equal(t, []int{1, 2}, numbers(t, s, ann))
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayOf(2027, time.October, 1), pool.StandardRules()))
	assert.Equal(t, []int{2}, numbers(t, s, ann))
	_, err := s.ReleaseDue(t.Context(), time.Date(2027, time.November, 9, 0, 0, 0, 0, time.UTC))
	require.NoError(t, err)
	assert.Empty(t, numbers(t, s, ann), "the due release, like any other")
}
