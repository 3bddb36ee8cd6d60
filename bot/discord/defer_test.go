package discord

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"tallystick/commands"
)

// slowly is a handler that answers when it is let.
func slowly(release <-chan struct{}, reply commands.Reply) commands.Handler {
	return func(ctx context.Context, _ commands.Request) (commands.Reply, error) {
		select {
		case <-release:
			return reply, nil
		case <-ctx.Done():
			return commands.Reply{}, ctx.Err()
		}
	}
}

func soon(c *Config) { c.Timing.Defer = 20 * time.Millisecond }

func TestASlowAnswerIsDeferredAndThenPutInItsPlace(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	e := r.deliver(asked("slow", nil))
	c := r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, map[string]any{"type": 5.0}, c.Body, "thinking, for all to see")
	close(release)
	c = r.next()
	assert.Equal(t, http.MethodPatch, c.Method)
	assert.Equal(t, e.original(), c.Path)
	title, _ := c.message()
	assert.Equal(t, "done", title)
	assert.NotContains(t, c.Body, "flags")
}

func TestTheDefaultDeferralComesOneAndAHalfSecondsAfterTheArrival(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, nil, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	sent := time.Now()
	r.deliver(asked("slow", nil))
	c := r.next()
	assert.Equal(t, 5.0, c.Body["type"])
	assert.GreaterOrEqual(t, c.At.Sub(sent), 1500*time.Millisecond)
	close(release)
	r.next()
}

func TestWaitingInTheQueueCountsTowardsTheDeferral(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, func(c *Config) { soon(c); c.Workers = 1 }, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	first, second := r.deliver(asked("slow", nil)), r.deliver(asked("slow", nil))
	got := map[string]any{}
	for range 2 {
		c := r.next()
		got[c.Path] = c.Body["type"]
	}
	assert.Equal(t, map[string]any{first.callback(): 5.0, second.callback(): 5.0}, got)
	close(release)
	r.next()
	r.next()
}

func TestAPrivateCommandIsDeferredForTheAskerAlone(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, privately(saying("sheet", slowly(release, commands.Reply{Title: "Yours", Private: true, Notes: []string{strings.Repeat("board ", 1000)}}))))
	e := r.deliver(asked("sheet", nil))
	c := r.next()
	assert.Equal(t, 5.0, c.Body["type"])
	assert.True(t, c.hidden())
	close(release)
	assert.Equal(t, e.original(), r.next().Path)
	c = r.next()
	assert.Equal(t, e.webhook(), c.Path)
	assert.True(t, c.hidden(), "the further page is as private as the first")
}

func TestAPrivateAnswerNeverTakesThePlaceOfAPublicDeferral(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, saying("price", func(ctx context.Context, _ commands.Request) (commands.Reply, error) {
		<-release
		return commands.Reply{}, &commands.Mistake{Option: "hours", Given: "x", Problem: "is not a time", Try: "8h"}
	}))
	e := r.deliver(asked("price", nil))
	assert.False(t, r.next().hidden())
	close(release)
	c := r.next()
	assert.Equal(t, http.MethodDelete, c.Method)
	assert.Equal(t, e.original(), c.Path)
	c = r.next()
	assert.Equal(t, http.MethodPost, c.Method)
	assert.Equal(t, e.webhook(), c.Path)
	assert.True(t, c.hidden())
	_, text := c.message()
	assert.Contains(t, text, "is not a time")
}

func TestWhenTheDeferralCannotBeTakenAwayItIsFilledWithNothingPrivate(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	f := newFake(t)
	f.delivered = func(c call) *answer {
		if c.Method == http.MethodDelete {
			return &answer{status: http.StatusForbidden, body: `{"code":50001,"message":"Missing Access"}`}
		}
		return nil
	}
	r := start(t, f, soon, saying("sheet", slowly(release, commands.Reply{Title: "Yours", Private: true})))
	r.greeting()
	e := r.deliver(asked("sheet", nil))
	r.next()
	close(release)
	assert.Equal(t, http.MethodDelete, r.next().Method)
	c := r.next()
	assert.Equal(t, e.original(), c.Path)
	_, text := c.message()
	assert.Equal(t, "The answer went to the asker alone.", text)
	c = r.next()
	assert.Equal(t, e.webhook(), c.Path)
	assert.True(t, c.hidden())
	title, _ := c.message()
	assert.Equal(t, "Yours", title)
}

func TestAHandlerIsCancelledAtItsLimitAndStillAnswered(t *testing.T) {
	t.Parallel()
	r := serve(t, func(c *Config) { soon(c); c.Timing.Handler = 100 * time.Millisecond },
		saying("slow", slowly(nil, commands.Reply{})))
	e := r.deliver(asked("slow", nil))
	assert.Equal(t, 5.0, r.next().Body["type"])
	assert.Equal(t, http.MethodDelete, r.next().Method)
	c := r.next()
	assert.Equal(t, e.webhook(), c.Path)
	_, text := c.message()
	assert.Equal(t, "Something went wrong on my side. Reference 7F3A.", text)
}
