package discord

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestShardsAreGreetedOneAfterTheOtherAndAllServe(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	clients := make(chan *client, 3)
	f.script = func(_ int, c *client) bool {
		c.write(hello)
		clients <- c
		return true
	}
	r := start(t, f, func(c *Config) { c.Shards, c.Timing.Greeting = 3, 100*time.Millisecond }, length())
	var last time.Time
	var greeted []any // on a busy machine not always in their order
	for i := range 3 {
		g := r.greeting()
		greeted = append(greeted, g.Data["shard"])
		if i > 0 {
			assert.GreaterOrEqual(t, g.At.Sub(last), 50*time.Millisecond, "100 ms apart when they were sent")
		}
		last = g.At
	}
	assert.ElementsMatch(t, []any{[]any{0.0, 3.0}, []any{1.0, 3.0}, []any{2.0, 3.0}}, greeted)
	for i := range 3 {
		r.waitForLog(fmt.Sprint("shard=", i))
	}
	for range 3 {
		r.newest.Store(<-clients)
		r.serves()
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	assert.Equal(t, 1, f.puts, "the commands are registered once")
}

func TestOneShardThatCannotBeHelpedEndsAll(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.script = func(n int, c *client) bool {
		c.write(hello)
		if n == 1 {
			c.read()
			c.hang(4011)
			return false
		}
		return true
	}
	r := start(t, f, func(c *Config) { c.Shards, c.Timing.Drain = 2, time.Second }, length())
	require.ErrorContains(t, r.stopped(), "raise the number of shards")
}
