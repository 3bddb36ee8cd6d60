package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestAHostsRulesAndAccessAreKept(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	settings, err := s.Community(t.Context(), "guild")
	require.NoError(t, err)
	settings.Access = store.Sharers
	settings.Rules = pool.StandardRules()
	settings.Rules.Makers, settings.Rules.Window = 11, 18
	require.NoError(t, s.SetCommunity(t.Context(), "guild", settings))
	got, err := s.Community(t.Context(), "guild")
	require.NoError(t, err)
	assert.Equal(t, settings, got)

	settings.Rules, settings.Access = pool.Rules{}, store.Everybody
	require.NoError(t, s.SetCommunity(t.Context(), "guild", settings))
	got, err = s.Community(t.Context(), "guild")
	require.NoError(t, err)
	assert.Equal(t, settings, got)

	settings.Rules = pool.StandardRules()
	settings.Rules.Makers = 7
	var looser *pool.LooserError
	require.ErrorAs(t, s.SetCommunity(t.Context(), "guild", settings), &looser)
	settings.Rules, settings.Access = pool.Rules{}, "friends"
	require.Error(t, s.SetCommunity(t.Context(), "guild", settings))
}

func TestAHostsStricterRulesHoldInTheDueRelease(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	practice(t, s, "guild", seeds(40, 4))
	settings, err := s.Community(t.Context(), "guild")
	require.NoError(t, err)
	settings.Rules = pool.StandardRules()
	settings.Rules.Makers, settings.Rules.Window = 100, 12
	require.NoError(t, s.SetCommunity(t.Context(), "guild", settings))
	old := bench(100)
	old.Sold = pool.MonthOf(2025, time.February)
	share(t, s, ann, "1", old)
	share(t, s, ann, "2", bench(100))
	ran, err := s.ReleaseDue(t.Context(), noon)
	require.NoError(t, err)
	assert.Equal(t, 1, ran)
	line := published(t.Context(), t, s, "guild")[pool.Everything]
	assert.Equal(t, pool.TooFewMakers, line.Reason, "not even everything has a hundred makers")
	assert.Equal(t, []int{2}, numbers(t, s, ann), "the older one is out of the shorter window")
}

func TestAHostSeesCountsInBandsAsOfTheRelease(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	practice(t, s, "guild", seeds(20, 2))
	_, counted, err := s.Headcount(t.Context(), "guild")
	require.NoError(t, err)
	assert.False(t, counted, "before the first release")
	day := pool.DayOf(2026, time.March, 1)
	require.NoError(t, s.RunRelease(t.Context(), "guild", day, pool.StandardRules()))
	want := store.Headcount{AsOf: day, Makers: pool.Makers15, Sales: pool.Makers25}
	for range 2 {
		got, counted, err := s.Headcount(t.Context(), "guild")
		require.NoError(t, err)
		assert.True(t, counted)
		assert.Equal(t, want, got)
		share(t, s, ann, "1", bench(100)) // nothing of it is seen until the next release
	}
}

func TestAHostRemovesAMembersSalesWithoutLearningOfThem(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "1", bench(100))
	share(t, s, bert, "1", bench(200))
	code, err := s.SaveDraft(t.Context(), ann, bench(300), noon)
	require.NoError(t, err)
	for _, who := range []store.Who{ann, ann, {Community: "guild", Member: "nobody"}} {
		require.NoError(t, s.RemoveMember(t.Context(), who, "9", noon), "the same answer, whatever there was")
	}
	assert.Empty(t, numbers(t, s, ann))
	_, err = s.Draft(t.Context(), ann, code)
	require.ErrorIs(t, err, store.ErrNotFound)
	assert.Equal(t, []int{1}, numbers(t, s, bert))
	_, given, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.True(t, given, "what she agreed to is hers to take back")
	assert.Equal(t, 2, share(t, s, ann, "10", bench(100)).Number)
	require.NoError(t, s.RemoveMember(t.Context(), ann, "9", noon))
	assert.Equal(t, []int{2}, numbers(t, s, ann), "the same delivery again does nothing")
}

func TestMakersWhoShareAShopCountAsOne(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	shown := func(day pool.Day) bool {
		require.NoError(t, s.RunRelease(t.Context(), "guild", day, pool.StandardRules()))
		return published(t.Context(), t, s, "guild")[pool.Everything].Shown
	}
	var members []store.Who
	for i := range 30 {
		who := store.Who{Community: "guild", Member: string(rune('a' + i))}
		sale := bench(100 + i)
		sale.Category, sale.Region = "kind "+who.Member, "" // only everything has enough makers
		share(t, s, who, "1", sale)
		members = append(members, who)
	}
	day := pool.DayOf(2026, time.May, 1)
	for _, who := range members {
		require.NoError(t, s.JoinShop(t.Context(), who, "larch-tuesday"))
	}
	require.False(t, shown(day), "thirty accounts of one shop are one maker")
	for _, who := range members {
		require.NoError(t, s.LeaveShop(t.Context(), who))
	}
	require.ErrorIs(t, s.LeaveShop(t.Context(), members[0]), store.ErrNotFound)
	for i, who := range members {
		require.NoError(t, s.JoinShop(t.Context(), who, "word of "+members[i%15].Member))
	}
	require.NoError(t, s.JoinShop(t.Context(), store.Who{Community: "other guild", Member: "z"}, "word of a"), "another community is another shop")
	require.True(t, shown(pool.DayOf(2026, time.June, 1)), "fifteen shops of two")
	assert.LessOrEqual(t, int(published(t.Context(), t, s, "guild")[pool.Everything].Makers), 15)
}
