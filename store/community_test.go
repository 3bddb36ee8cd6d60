package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestACommunityBeginsWithTheDefaultsAndKeepsItsOwnSettings(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s := open(t, c)
	for range 2 {
		got, err := s.Community(t.Context(), "guild")
		require.NoError(t, err)
		assert.Equal(t, c.Defaults, got)
	}
	own := store.Community{Currency: "JPY", Categories: []string{"stool", "clock", "bench"}, Regions: []string{"north", "east"}, Practice: true}
	require.NoError(t, s.SetCommunity(t.Context(), "guild", own))
	got, err := s.Community(t.Context(), "guild")
	require.NoError(t, err)
	assert.Equal(t, own, got)
	got, err = s.Community(t.Context(), "other guild")
	require.NoError(t, err)
	assert.Equal(t, c.Defaults, got)
}

func TestWithoutDefaultsPricesAreInDollars(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	c.Defaults = store.Community{}
	got, err := open(t, c).Community(t.Context(), "guild")
	require.NoError(t, err)
	assert.Equal(t, store.Community{Currency: "USD"}, got)
}

func TestTheMeaningOfPricesStaysWhileThereAreAny(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	settings, err := s.Community(t.Context(), "guild")
	require.NoError(t, err)
	share(t, s, ann, "1", bench(100))

	francs, invented, more := settings, settings, settings
	francs.Currency = "CHF"
	invented.Practice = true
	more.Categories = []string{"bench", "box", "clock"}
	require.ErrorIs(t, s.SetCommunity(t.Context(), "guild", francs), store.ErrConflict)
	require.ErrorIs(t, s.SetCommunity(t.Context(), "guild", invented), store.ErrConflict)
	require.NoError(t, s.SetCommunity(t.Context(), "guild", more))

	_, err = s.WithdrawAll(t.Context(), ann, "2", noon)
	require.NoError(t, err)
	require.NoError(t, s.SetCommunity(t.Context(), "guild", francs))
}

func TestSettingsThatCannotBeAreNotStored(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	require.Error(t, s.SetCommunity(t.Context(), "guild", store.Community{Currency: "dollars"}))
	err := s.SetCommunity(t.Context(), "guild", store.Community{Currency: "USD", Categories: []string{"box", "box"}})
	require.ErrorIs(t, err, store.ErrConflict)
	got, err := s.Community(t.Context(), "guild")
	require.NoError(t, err)
	assert.Equal(t, []string{"bench", "box"}, got.Categories, "as before")
}

func TestInventedSalesAreReplacedAndMembersOwnStay(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	practice(t, s, "guild", seeds(66, 4))
	share(t, s, ann, "1", bench(100))
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayAt(noon).Month().First(), pool.StandardRules()))
	before := published(t.Context(), t, s, "guild")
	require.True(t, before[pool.Everything].Shown)

	require.NoError(t, s.Seed(t.Context(), "guild", seeds(66, 4)))
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayAt(noon), pool.StandardRules()))
	assert.Equal(t, before, published(t.Context(), t, s, "guild"), "the same seeds are no change")

	require.NoError(t, s.Seed(t.Context(), "guild", nil))
	assert.Equal(t, []int{1}, numbers(t, s, ann))
	require.NoError(t, s.RunRelease(t.Context(), "guild", pool.DayAt(noon)+1, pool.StandardRules()))
	assert.False(t, published(t.Context(), t, s, "guild")[pool.Everything].Shown)
}

func TestInventedSalesGoNowhereButIntoAPracticeCommunity(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	require.ErrorIs(t, s.Seed(t.Context(), "guild", seeds(2, 2)), store.ErrConflict)
}
