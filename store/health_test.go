package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestTheLastReleaseIsThatOfWhoHasWaitedLongest(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, err := store.Open(ctx, config(t.TempDir()))
	require.NoError(t, err)
	_, any, err := s.LastRelease(ctx)
	require.NoError(t, err)
	assert.False(t, any, "nothing was ever released")
	assert.NoError(t, s.Answers(ctx))
	march := time.Date(2026, time.March, 1, 0, 0, 0, 0, time.UTC)
	for community, day := range map[string]time.Time{"one": march, "two": march.AddDate(0, 1, 0)} {
		_, err := s.Community(ctx, community)
		require.NoError(t, err)
		require.NoError(t, s.RunRelease(ctx, community, pool.DayAt(day), pool.StandardRules()))
	}
	last, any, err := s.LastRelease(ctx)
	require.NoError(t, err)
	assert.True(t, any)
	assert.Equal(t, march, last)
	require.NoError(t, s.Close())
	assert.Error(t, s.Answers(ctx))
}
