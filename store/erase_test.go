package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

// What members of a community share goes; another community and the log of releases
// stay, and the next release is made as ever.
func TestErasingACommunityTakesWhatItsMembersShare(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	other := store.Who{Community: "another-guild", Member: ann.Member}
	for _, who := range []store.Who{ann, other} {
		share(t, s, who, "1-"+who.Community, bench(100))
		_, err := s.SaveDraft(t.Context(), who, bench(200), noon)
		require.NoError(t, err)
		_, err = s.OpenRoom(t.Context(), who, "room", store.Room{Currency: "CAD", Card: map[string]string{"piece": "bench"}, Closes: noon.Add(72 * time.Hour)}, noon)
		require.NoError(t, err)
		require.NoError(t, s.JoinShop(t.Context(), who, "clamp and glue"))
	}
	released := func() int {
		t.Helper()
		history, err := s.History(t.Context(), ann.Community, pool.Everything, 10)
		require.NoError(t, err)
		return len(history)
	}
	day := pool.DayAt(noon.AddDate(0, 1, 0))
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, day, pool.StandardRules()))
	before := released()
	require.Positive(t, before)

	n, err := s.EraseCommunity(t.Context(), ann.Community, noon)
	require.NoError(t, err)
	assert.Equal(t, store.Erased{Sales: 1, Previews: 1, Rooms: 1}, n)
	n, err = s.EraseCommunity(t.Context(), ann.Community, noon)
	require.NoError(t, err)
	assert.Zero(t, n, "once more finds nothing")
	assert.Equal(t, before, released(), "what was published is nobody's, and stays")
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, day+31, pool.StandardRules()))
	assert.Greater(t, released(), before)

	n, err = s.EraseCommunity(t.Context(), other.Community, noon)
	require.NoError(t, err)
	assert.Equal(t, store.Erased{Sales: 1, Previews: 1, Rooms: 1}, n, "the other community was as it was")
	_, err = s.EraseCommunity(t.Context(), "never here", noon)
	assert.ErrorIs(t, err, store.ErrNotFound)
}
