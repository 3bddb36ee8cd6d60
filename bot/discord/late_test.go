package discord

import (
	"context"
	"net/http"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"tallystick/commands"
)

// aged makes an interaction look as if it had been made before.
func (e event) aged(by time.Duration) event {
	id, _ := strconv.ParseInt(e["id"].(string), 10, 64)
	e["id"] = strconv.FormatInt(id-by.Milliseconds()<<22, 10)
	e["token"] = "interaction-token-" + e["id"].(string)
	return e
}

// keeping is a command of which each run is counted.
func keeping(runs *atomic.Int64) commands.Command {
	return privately(saying("piece time", func(context.Context, commands.Request) (commands.Reply, error) {
		runs.Add(1)
		return commands.Reply{Title: "Kept", Private: true}, nil
	}, word("worked", false)))
}

// The line was down for a minute: the platform sends what was missed, and takes no
// answer to it any more.
func TestWhatComesTooLateToBeAnsweredHasNoEffect(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	var gone atomic.Bool
	f.delivered = func(call) *answer {
		if gone.Load() {
			return &answer{status: http.StatusNotFound, body: `{"code":10062,"message":"Unknown interaction"}`}
		}
		return nil
	}
	var runs atomic.Int64
	r := start(t, f, nil, keeping(&runs))
	r.greeting()
	r.waitForLog("connected to the gateway")
	gone.Store(true)
	for _, late := range []event{asked("piece time", map[string]string{"worked": "2h"}), pressed("1-|piece time|worked|2h|")} {
		r.deliver(late.aged(time.Minute))
		c := r.next()
		assert.Equal(t, late.callback(), c.Path)
		assert.Contains(t, []any{5.0, 6.0}, c.Body["type"], "it is tried")
	}
	r.waitForLog("it came too late to be answered")
	gone.Store(false)
	title, _ := r.pressedAgain("1-|piece time|worked|2h|").message()
	assert.Equal(t, "Kept", title)
	assert.EqualValues(t, 1, runs.Load(), "only what was asked again")
}

// Every interaction looks ten seconds old to a machine whose clock is as much ahead.
func TestAMachineWithAWrongClockStillAnswersEverybody(t *testing.T) {
	t.Parallel()
	const ahead = 10 * time.Second
	var runs atomic.Int64
	r := serve(t, nil, keeping(&runs), stepping(false), asking("price", always(commands.Reply{Title: "Price"}), "species"))
	e := r.deliver(asked("piece time", map[string]string{"worked": "2h"}).aged(ahead))
	c := r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 5.0, c.Body["type"])
	assert.True(t, c.hidden())
	c = r.next()
	assert.Equal(t, e.original(), c.Path)
	title, _ := c.message()
	assert.Equal(t, "Kept", title)

	e = r.deliver(pressed("1-|step|at|3|").aged(ahead))
	assert.Equal(t, map[string]any{"type": 6.0}, r.next().Body)
	c = r.next()
	assert.Equal(t, e.original(), c.Path)
	title, _ = c.message()
	assert.Equal(t, "At 3", title)

	r.deliver(asked("price", nil).aged(ahead))
	assert.Equal(t, 9.0, r.next().Body["type"], "a form")
	r.deliver(completing("price", "species", "as", nil).aged(ahead))
	assert.Equal(t, 8.0, r.next().Body["type"], "and what to choose from")
	assert.EqualValues(t, 1, runs.Load())
}
