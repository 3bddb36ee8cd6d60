package discord

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// counting notes how often each delivery reached its command.
type counting struct {
	mu  sync.Mutex
	ran map[string]int
}

func (c *counting) command() commands.Command {
	return saying("share", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.ran[req.Delivery]++
		return commands.Reply{Title: "Shared", Private: true}, nil
	})
}

func TestWhatIsReplayedAfterAResumeHasOneEffectAndWhatWasMissedHasItsOwn(t *testing.T) {
	t.Parallel()
	before, missed := asked("share", nil), asked("share", nil)
	f := newFake(t)
	f.script = func(n int, c *client) bool {
		c.write(hello)
		if n == 0 {
			return true
		}
		fr, ok := c.read()
		assert.True(f.t, ok)
		assert.Equal(f.t, 6, fr.Op)
		for _, e := range []event{before, missed} {
			raw, err := json.Marshal(e)
			assert.NoError(f.t, err)
			c.dispatch("INTERACTION_CREATE", string(raw))
		}
		c.dispatch("RESUMED", `{}`)
		return true
	}
	effects := &counting{ran: map[string]int{}}
	r := start(t, f, nil, effects.command())
	assert.Equal(t, 2, r.greeting().Op)
	r.waitForLog("connected")
	r.deliver(before)
	assert.Equal(t, before.callback(), r.next().Path)
	r.newest.Load().hang(4000)
	assert.Equal(t, missed.callback(), r.next().Path)
	r.waitForLog("again=true")
	r.waitForLog("it was delivered before")
	effects.mu.Lock()
	defer effects.mu.Unlock()
	assert.Equal(t, map[string]int{before["id"].(string): 1, missed["id"].(string): 1}, effects.ran)
}

func TestAPlatformThatTakesItsTimeHoldsUpNobodyElse(t *testing.T) {
	t.Parallel()
	const slowness = 2900 * time.Millisecond
	f := newFake(t)
	var slow string
	var mu sync.Mutex
	f.delivered = func(c call) *answer {
		mu.Lock()
		waits := c.Path == slow
		mu.Unlock()
		if waits {
			<-time.After(slowness)
		}
		return nil
	}
	r := start(t, f, func(c *Config) { c.Workers = 2 }, length())
	r.greeting()
	r.waitForLog("connected")
	e := asked("length", nil)
	mu.Lock()
	slow = e.callback()
	mu.Unlock()
	begun := time.Now()
	r.deliver(e)
	for range 20 {
		other := r.deliver(asked("length", nil))
		assert.Equal(t, other.callback(), r.next().Path)
	}
	assert.Less(t, time.Since(begun), slowness, "the others did not wait")
	assert.Equal(t, e.callback(), r.next().Path)
	assert.NotContains(t, r.log.String(), "did not take it")
	r.quiet() // it was answered once
}

func TestATokenThatHasRunOutIsLoggedAndTheNextIsServed(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	f := newFake(t)
	f.delivered = failing(isEdit, answer{status: http.StatusUnauthorized, body: `{"message":"Invalid Webhook Token","code":50027}`})
	r := start(t, f, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})), length())
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("slow", nil))
	r.next()
	close(release)
	r.next()
	r.waitForLog("code 50027, Invalid Webhook Token")
	r.serves()
}

func TestAnHTMLPageInsteadOfAnAnswerIsSentAgainOrLogged(t *testing.T) {
	t.Parallel()
	const page = `<!doctype html><title>Sorry</title>`
	for name, c := range map[string]struct {
		status int
		again  bool
	}{"500": {500, true}, "503": {503, true}, "403": {403, false}, "404": {404, false}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := newFake(t)
			f.delivered = failing(isCallback, answer{status: c.status, body: page})
			r := start(t, f, nil, length())
			r.greeting()
			r.waitForLog("connected")
			e := r.deliver(asked("length", nil))
			assert.Equal(t, e.callback(), r.next().Path)
			if c.again {
				assert.Equal(t, e.callback(), r.next().Path)
			} else {
				r.waitForLog("did not take it")
			}
			r.serves()
			assert.NotContains(t, r.log.String(), "doctype")
		})
	}
}

func TestAStopInTheMiddleOfADeferredAnswerStillBringsIt(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	e := r.deliver(asked("slow", nil))
	r.next()
	r.cancel()
	close(release)
	require.NoError(t, r.stopped())
	c := r.next()
	assert.Equal(t, e.original(), c.Path)
	title, _ := c.message()
	assert.Equal(t, "done", title)
}
