package commands_test

import (
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/commands"
	"tallystick/store"
)

// The machine's clock is put back a day, past the 1st of a month: nothing that was
// told is told otherwise, no time is counted that was not worked, and nobody is
// refused.
func TestAClockPutBackADayBreaksNothing(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	s, err := store.Open(t.Context(), store.Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	set, err := commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(t, err)
	now := time.Date(2026, time.March, 1, 9, 0, 0, 0, time.UTC)
	back := now.Add(-24 * time.Hour)
	delivery := 0
	ask := func(at time.Time, path string, options ...string) string {
		t.Helper()
		told := map[string]string{}
		for _, o := range options {
			name, value, _ := strings.Cut(o, ":")
			told[name] = value
		}
		delivery++
		reply := set.Do(t.Context(), commands.Request{Delivery: string(rune('a' + delivery)), Community: "guild", Member: "ann", Path: path, Options: told, Time: at})
		require.Equal(t, commands.Answered, reply.Outcome(), "%s: %+v", path, reply)
		var text strings.Builder
		text.WriteString(reply.Title + "\n" + strings.Join(reply.Notes, "\n"))
		for _, f := range reply.Figures {
			text.WriteString("\n" + f.Key + " " + f.Text)
		}
		return text.String()
	}
	require.NoError(t, s.SetCommunity(t.Context(), "guild", store.Community{Currency: "USD", Categories: []string{"bench"}}))
	who := store.Who{Community: "guild", Member: "ann"}
	sale := store.Sale{Category: "bench", Sold: pool.MonthOf(2025, time.October), Values: pool.Values{}.With(pool.Price, pool.Whole(100))}
	code, err := s.SaveDraft(t.Context(), who, sale, now)
	require.NoError(t, err)
	ran, err := s.ReleaseDue(t.Context(), now)
	require.NoError(t, err)
	require.Zero(t, ran, "nobody shares yet")
	_, err = s.ShareDraft(t.Context(), who, "share", code, 1, back)
	require.NoError(t, err, "a draft of tomorrow is shared today")
	ran, err = s.ReleaseDue(t.Context(), now)
	require.NoError(t, err)
	require.Equal(t, 1, ran)
	before, err := s.Published(t.Context(), "guild")
	require.NoError(t, err)

	ask(now, "piece open", "name:Bench")
	ask(now, "piece clock in")
	said := ask(back.Add(time.Hour), "piece clock out")
	assert.Contains(t, said, "it counts nothing yet")
	assert.Contains(t, said, "the clock of my machine was put back")
	assert.Contains(t, said, "/piece clock right")
	ask(back.Add(time.Hour), "piece clock right", "worked:1h")
	assert.Contains(t, ask(back.Add(2*time.Hour), "piece show"), "1 h", "what was really worked counts")
	ran, err = s.ReleaseDue(t.Context(), back)
	require.NoError(t, err)
	assert.Zero(t, ran, "a release of last month is not made after that of this one")
	closed, err := s.CloseRooms(t.Context(), back)
	require.NoError(t, err)
	assert.Zero(t, closed)
	after, err := s.Published(t.Context(), "guild")
	require.NoError(t, err)
	assert.Equal(t, before, after)
	again, err := s.ShareDraft(t.Context(), who, "share", code, 1, back)
	require.NoError(t, err)
	assert.Equal(t, 1, again.Number, "a delivery that comes again does nothing again")
}
