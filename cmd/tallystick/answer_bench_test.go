package main

import (
	"log/slog"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tallystick/bot/discord"
	"tallystick/calc/measure"
	"tallystick/commands"
	"tallystick/store"
)

// go test ./cmd/tallystick -run '^$' -bench Answer -benchmem
//
// What working out and writing an answer of the workload takes, without the
// platform: the command, the layout and the JSON.
func BenchmarkAnswer(b *testing.B) {
	roomForGarbage()
	data := b.TempDir()
	fillMarket(b, data)
	s, err := store.Open(b.Context(), store.Config{Path: filepath.Join(data, "server.db"), KeysPath: filepath.Join(data, "server.keys"), Defaults: practiceCommunity()})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	set, err := commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(b, err)
	serial := 0
	answer := func(b *testing.B, member string, r request) {
		serial++
		req := commands.Request{Delivery: strconv.Itoa(serial), Community: guild, Member: member, Locale: "en-US", Time: time.Now(), Path: r.path, Options: r.options}
		reply := set.Do(b.Context(), req)
		require.Equal(b, commands.Answered, reply.Outcome(), reply.Sentence())
		_, err := discord.ReplyBodies(set, reply, req)
		require.NoError(b, err)
	}
	for _, r := range workload {
		b.Run(r.path, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				answer(b, "1", r)
			}
		})
	}
	b.Run("a clock on a new piece", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			member := strconv.Itoa(serial)
			for _, r := range []request{openPiece, clockIn, clockOut} {
				answer(b, member, r)
			}
		}
	})
}
