package store

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

func TestAMemoryReadsOnceAndAgainAfterAWrite(t *testing.T) {
	t.Parallel()
	m := newMemory[string, int](2)
	reads := 0
	read := func() (int, error) { reads++; return reads, nil }
	for range 3 {
		got, err := m.get("a", read)
		require.NoError(t, err)
		assert.Equal(t, 1, got)
	}
	m.forget("a")
	got, _ := m.get("a", read)
	assert.Equal(t, 2, got)
	for i := range 10 {
		_, _ = m.get(fmt.Sprint(i), read)
	}
	assert.LessOrEqual(t, len(m.held), 2, "it holds no more than it may")
	broken := errors.New("broken")
	m.clear()
	_, err := m.get("b", func() (int, error) { return 0, broken })
	require.ErrorIs(t, err, broken)
	assert.Empty(t, m.held, "a failure is not remembered")
}

// The order that would make an old value stay: read, written, forgotten, kept.
func TestWhatWasReadBeforeAWriteIsNotKeptAfterIt(t *testing.T) {
	t.Parallel()
	m := newMemory[string, string](10)
	got, err := m.get("a", func() (string, error) {
		m.forget("a") // somebody writes meanwhile
		return "old", nil
	})
	require.NoError(t, err)
	assert.Equal(t, "old", got)
	got, _ = m.get("a", func() (string, error) { return "new", nil })
	assert.Equal(t, "new", got)
}

func TestAMemberReadsTheirOwnWriteWhateverOthersReadMeanwhile(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	stop := make(chan struct{})
	var readers, writers sync.WaitGroup
	who := func(i int) Who { return Who{"workshop", fmt.Sprint("member", i)} }
	for range 4 {
		readers.Go(func() {
			for i := 0; ; i++ {
				select {
				case <-stop:
					return
				default:
					_, _ = s.Settings(t.Context(), who(i%3))
					_, _ = s.Community(t.Context(), "workshop")
				}
			}
		})
	}
	for i := range 3 {
		writers.Go(func() {
			for n := range 25 {
				tape := []int{8, 16, 32, 64}[n%4]
				err := s.ChangeSettings(t.Context(), who(i), fmt.Sprint(i, n), now, func(c *Settings) error { c.Tape = tape; return nil })
				assert.NoError(t, err)
				got, err := s.Settings(t.Context(), who(i))
				assert.NoError(t, err)
				assert.Equal(t, tape, got.Tape, "after the write was answered")
			}
		})
	}
	writers.Go(func() {
		for n := range 25 {
			words := []string{fmt.Sprint("bench", n)}
			assert.NoError(t, s.SetCommunity(t.Context(), "workshop", Community{Currency: "USD", Categories: words}))
			got, err := s.Community(t.Context(), "workshop")
			assert.NoError(t, err)
			assert.Equal(t, words, got.Categories)
		}
	})
	writers.Wait()
	close(stop)
	readers.Wait()
}

func TestWhatIsForgottenIsForgottenInMemoryToo(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	who, now := Who{"workshop", "ann"}, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for i, forget := range []func() error{
		func() error { _, err := s.DropSettings(t.Context(), who); return err },
		func() error { _, err := s.WithdrawAll(t.Context(), who, "forget", now); return err },
	} {
		require.NoError(t, s.ChangeSettings(t.Context(), who, fmt.Sprint(i), now, func(c *Settings) error { c.Units = "metric"; return nil }))
		got, err := s.Settings(t.Context(), who)
		require.NoError(t, err)
		require.Equal(t, "metric", got.Units)
		require.NoError(t, forget())
		got, err = s.Settings(t.Context(), who)
		require.NoError(t, err)
		assert.Equal(t, Settings{}, got)
	}
}

func TestAReleaseIsReadAsSoonAsItIsMade(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	for day := range 2 {
		require.NoError(t, s.RunRelease(t.Context(), "workshop", pool.DayOf(2026, time.March, 1)+pool.Day(day), pool.StandardRules()))
		lines, err := s.Published(t.Context(), "workshop")
		require.NoError(t, err)
		read, err := s.readPublished(t.Context(), "workshop")
		require.NoError(t, err)
		assert.Equal(t, read, lines)
	}
	require.NoError(t, s.SetCommunity(t.Context(), "workshop", Community{Currency: "USD"}))
	what, err := s.Community(t.Context(), "workshop")
	require.NoError(t, err)
	assert.Empty(t, what.Categories)
}

func TestAListThatWasHandedOutIsTheCallersOwn(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	require.NoError(t, s.SetCommunity(t.Context(), "workshop", Community{Currency: "USD", Categories: []string{"bench"}}))
	c, err := s.Community(t.Context(), "workshop")
	require.NoError(t, err)
	c.Categories[0] = "stool"
	c, err = s.Community(t.Context(), "workshop")
	require.NoError(t, err)
	assert.Equal(t, []string{"bench"}, c.Categories)
}
