package discord

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

func TestTheStatusTellsWhetherTheLineIsReadyAndHowManyWait(t *testing.T) {
	t.Parallel()
	release, running := make(chan struct{}), make(chan struct{}, 10)
	status := &Status{}
	assert.Empty(t, status.Connected(), "before it begins")
	waiting, room := status.Queue()
	assert.Zero(t, waiting+room)
	r := serve(t, func(c *Config) { c.Status, c.Workers, c.Queue = status, 1, 1 }, saying("slow", func(context.Context, commands.Request) (commands.Reply, error) {
		running <- struct{}{}
		<-release
		return commands.Reply{Title: "done"}, nil
	}))
	connected := func(want bool) {
		t.Helper()
		require.Eventually(t, func() bool { lines := status.Connected(); return len(lines) == 1 && lines[0] == want }, patience, time.Millisecond)
	}
	connected(true)
	r.deliver(asked("slow", nil))
	<-running
	r.deliver(asked("slow", nil))
	r.deliver(asked("slow", nil))
	r.next() // that it is busy
	waiting, room = status.Queue()
	assert.Equal(t, []int{1, 1}, []int{waiting, room})
	assert.EqualValues(t, 1, status.TurnedAway())
	close(release)
	for range 2 {
		r.next()
	}
	r.cancel()
	connected(false)
	require.NoError(t, r.stopped())
}

func TestWhoIsToldToWaitFindsTheLineToSendAgain(t *testing.T) {
	t.Parallel()
	pages := render(commands.Reply{Private: true, Again: true, Refusal: &commands.Refusal{Sentence: "Try again in 3 s."}},
		commands.Request{Path: "charge", Options: map[string]string{"about": "hall bench, 84 materials"}})
	require.Len(t, pages, 1)
	assert.Equal(t, "Try again in 3 s.\n```\n/charge about:hall bench, 84 materials\n```", pages[0].Content)
	assert.True(t, pages[0].private())
	assert.Empty(t, pages[0].Components)
}
