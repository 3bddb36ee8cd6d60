package commands_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
	"tallystick/commands"
	"tallystick/store"
)

// FuzzAnImport: whatever is given, an import is taken in or is a mistake, and what
// was taken in can be listed, shown and exported to the same bytes.
func FuzzAnImport(f *testing.F) {
	f.Add(`{"format":"tallystick job sheets 1","next":{"entry":3,"piece":2,"lot":1},"entries":[{"entry":1,"piece":1,"kind":"open","at":"2026-03-02T09:00:00Z","day":"2026-03-02","currency":"USD","facts":{"name":"a\u003a b"}},{"entry":2,"piece":1,"kind":"in","at":"2026-03-02T10:00:00Z","day":"2026-03-01","facts":{"began":"1772442000"}}]}`)
	f.Add(`{"format":"tallystick job sheets 1","entries":[{"entry":1,"lot":1,"kind":"lot","at":"2026-03-02T09:00:00Z","day":"2026-03-02","currency":"USD","amount_minor":5,"millionths":7,"facts":{"unit":"bf"}},{"entry":2,"piece":1,"kind":"open","at":"2026-03-02T09:00:00Z","day":"2026-03-02","currency":"USD","facts":{"name":"x"}},{"entry":3,"piece":1,"lot":1,"kind":"share","millionths":7,"at":"2026-03-02T09:00:00Z","day":"2026-03-02","currency":"USD"},{"entry":4,"piece":1,"lot":1,"kind":"undo","target":3,"at":"2026-03-02T09:00:00Z","day":"2026-03-02"}]}`)
	ask := asking(f)
	f.Fuzz(func(t *testing.T, text string) {
		who := fmt.Sprintf("%x", text)
		taken := ask(who, "piece import", map[string]string{"json": text})
		require.NotEqual(t, commands.WasFault, taken.Outcome(), taken.Sentence())
		if taken.Outcome() != commands.Answered {
			return
		}
		for _, path := range []string{"piece list", "piece learn", "lot list", "piece undo"} {
			require.NotEqual(t, commands.WasFault, ask(who, path, nil).Outcome(), path)
		}
		for _, as := range []string{"csv", "pieces"} {
			require.NotEqual(t, commands.WasFault, ask(who, "piece export", map[string]string{"as": as}).Outcome(), as)
		}
		out := ask(who, "piece export", nil)
		require.NotNil(t, out.File)
		again := ask(who+"+", "piece import", map[string]string{"json": string(bytes.TrimSpace(out.File.Bytes))})
		require.Equal(t, commands.Answered, again.Outcome(), again.Sentence())
		require.Equal(t, string(out.File.Bytes), string(ask(who+"+", "piece export", nil).File.Bytes))
	})
}

// FuzzAPieceOfText: whatever is typed into a job sheet is written down or is a
// mistake, and never a fault.
func FuzzAPieceOfText(f *testing.F) {
	for _, text := range []string{"2 Mar", "2026-02-30", "1/8", "60 of 946", "15%", "48h", "-1", "=1+1", "12 bf", "rest", "Feb 29", "yes", "\x00"} {
		f.Add(text)
	}
	ask := asking(f)
	f.Fuzz(func(t *testing.T, text string) {
		who := fmt.Sprintf("%x", text)
		for _, q := range []struct {
			path    string
			options map[string]string
		}{
			{"piece open", map[string]string{"name": text, "category": text}}, {"piece open", map[string]string{"name": "Box"}},
			{"lot add", map[string]string{"paid": "9", "count": "9", "unit": text, "what": text}},
			{"piece stock share", map[string]string{"lot": "1", "take": text}}, {"piece time", map[string]string{"worked": "1h", "on": text, "stage": text}},
			{"piece cost", map[string]string{"kind": "part", "paid": "5", "used": text, "what": text}}, {"piece offer", map[string]string{"who": text, "amount": "3", "hold": text}},
			{"piece listing", map[string]string{"weight": text}}, {"piece listing", map[string]string{"pictures": text}}, {"piece clock in", map[string]string{"helper": text, "ago": text}},
			{"piece correct", map[string]string{"entry": text, "strike": "yes"}}, {"piece show", map[string]string{"piece": text}}, {"piece learn", map[string]string{"category": text}},
			{"piece show", nil}, {"piece list", nil}, {"piece trail", nil}, {"lot list", nil}, {"piece export", map[string]string{"year": text}},
		} {
			reply := ask(who, q.path, q.options)
			require.NotEqual(t, commands.WasFault, reply.Outcome(), "%s %v", q.path, q.options)
		}
	})
}

// asking is a database that fuzzing asks, each text as another member.
func asking(f *testing.F) func(who, path string, options map[string]string) commands.Reply {
	folder := f.TempDir()
	s, err := store.Open(context.Background(), store.Config{Path: filepath.Join(folder, "f.db"), KeysPath: filepath.Join(folder, "f.keys")})
	require.NoError(f, err)
	f.Cleanup(func() { require.NoError(f, s.Close()) })
	set, err := commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(f, err)
	n := 0
	return func(who, path string, options map[string]string) commands.Reply {
		n++
		return set.Do(context.Background(), commands.Request{Delivery: fmt.Sprint(n), Community: "fuzz", Member: who, Path: path, Options: options,
			Time: time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)})
	}
}
