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

// answering is a set over a file with published figures, and a way to ask it.
func answering(b *testing.B) (set *commands.Set, ask func(b *testing.B, member string, r request) (commands.Reply, commands.Request)) {
	roomForGarbage()
	data := b.TempDir()
	fillMarket(b, data)
	s, err := store.Open(b.Context(), store.Config{Path: filepath.Join(data, "server.db"), KeysPath: filepath.Join(data, "server.keys"), Defaults: practiceCommunity()})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	set, err = commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(b, err)
	serial := 0
	return set, func(b *testing.B, member string, r request) (commands.Reply, commands.Request) {
		serial++
		req := commands.Request{Delivery: strconv.Itoa(serial), Community: guild, Member: member, Locale: "en-US", Time: time.Now(), Path: r.path, Options: r.options}
		reply := set.Do(b.Context(), req)
		require.Equal(b, commands.Answered, reply.Outcome(), reply.Sentence())
		return reply, req
	}
}

// go test ./cmd/tallystick -run '^$' -bench Answer -benchmem
//
// What working out and writing an answer of the workload takes, without the
// platform: the command, the layout and the JSON.
func BenchmarkAnswer(b *testing.B) {
	set, ask := answering(b)
	members := 0
	answer := func(b *testing.B, member string, r request) {
		reply, req := ask(b, member, r)
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
			members++
			member := "maker " + strconv.Itoa(members)
			for _, r := range []request{openPiece, clockIn, clockOut} {
				answer(b, member, r)
			}
		}
	})
}

// go test ./cmd/tallystick -run '^$' -bench WorkedOut -benchmem
//
// The part of an answer that is the command's own: nothing is laid out or encoded.
func BenchmarkWorkedOut(b *testing.B) {
	_, ask := answering(b)
	for _, r := range workload {
		b.Run(r.path, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				ask(b, "1", r)
			}
		})
	}
}
