package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// stepping is a card with a button that puts the next one in its place.
func stepping(private bool) commands.Command {
	c := saying("step", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		n, _ := strconv.Atoi(req.Options["at"])
		reply := commands.Reply{Title: fmt.Sprint("At ", n), Private: private, Update: true,
			Actions: []commands.Action{{Label: "More", Path: "step", Options: map[string]string{"at": fmt.Sprint(n + 1)}}}}
		if n == 1 {
			reply.Picture = commands.NewPicture("bars.png", "bars", func() ([]byte, error) { return []byte("png"), nil })
		}
		return reply, nil
	}, word("at", false))
	c.Private = private
	return c
}

func TestAPressPutsTheNextCardInThePlaceOfItsOwn(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, stepping(true))
	r.deliver(asked("step", nil))
	c := r.next()
	assert.Equal(t, 4.0, c.Body["type"], "what was typed has no card to take the place of")
	e := r.deliver(pressed(c.buttons()["More"]).hide())
	c = r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 7.0, c.Body["type"])
	title, _ := c.message()
	assert.Equal(t, "At 1", title)
	assert.NotEmpty(t, c.Files, "its picture comes along")
	r.deliver(pressed(c.buttons()["More"]).hide())
	c = r.next()
	assert.Equal(t, []any{}, c.Body["data"].(map[string]any)["attachments"], "the picture of the card before goes")
}

func TestAPrivateAnswerNeverTakesThePlaceOfACardThatAllSee(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, stepping(true))
	r.deliver(pressed("1" + ownerMark("3001") + "|step|at|3|"))
	c := r.next()
	assert.Equal(t, 4.0, c.Body["type"])
	assert.True(t, c.hidden())
}

func TestASlowUpdateLeavesTheCardAndThenTakesItsPlace(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, saying("slow", slowly(release, commands.Reply{Title: "done", Update: true})))
	e := r.deliver(pressed("1-|slow|"))
	assert.Equal(t, map[string]any{"type": 6.0}, r.next().Body)
	close(release)
	c := r.next()
	assert.Equal(t, http.MethodPatch, c.Method)
	assert.Equal(t, e.original(), c.Path)
	assert.Equal(t, []any{}, c.Body["components"], "buttons of the card before go")
	title, _ := c.message()
	assert.Equal(t, "done", title)
}

func TestAMistakeAfterAPressStandsBesideItsCard(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, saying("slow", func(context.Context, commands.Request) (commands.Reply, error) {
		<-release
		return commands.Reply{}, &commands.Mistake{Option: "at", Problem: "is missing", Try: "3"}
	}))
	e := r.deliver(pressed("1-|slow|"))
	assert.Equal(t, 6.0, r.next().Body["type"])
	close(release)
	c := r.next()
	assert.Equal(t, e.webhook(), c.Path)
	assert.True(t, c.hidden())
}

func TestAnUpdateThePlatformFindsMalformedIsReplacedByASentenceBesideTheCard(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	f := newFake(t)
	f.delivered = failing(isEdit, answer{status: http.StatusBadRequest, body: `{"message":"Invalid Form Body","code":50035}`})
	r := start(t, f, soon, saying("slow", slowly(release, commands.Reply{Title: "done", Update: true})))
	r.greeting()
	r.waitForLog("connected")
	e := r.deliver(pressed("1-|slow|"))
	r.next()
	close(release)
	r.next()
	c := r.next()
	assert.Equal(t, e.webhook(), c.Path)
	_, text := c.message()
	assert.Contains(t, text, "I have an answer, but the chat did not take it")
}

func TestAButtonPressedTwiceIsAnsweredOnce(t *testing.T) {
	t.Parallel()
	release, running := make(chan struct{}), make(chan struct{}, 10)
	r := serve(t, nil, saying("clock", func(context.Context, commands.Request) (commands.Reply, error) {
		running <- struct{}{}
		<-release
		return commands.Reply{Title: "Clocked in"}, nil
	}))
	first := r.deliver(pressed("1-|clock|"))
	<-running
	second := r.deliver(pressed("1-|clock|"))
	c := r.next()
	assert.Equal(t, second.callback(), c.Path)
	assert.Equal(t, map[string]any{"type": 6.0}, c.Body, "seen, and nothing shown")
	close(release)
	c = r.next()
	assert.Equal(t, first.callback(), c.Path)

	r.deliver(pressed("1-|clock|")) // a bounce just after the answer
	assert.Equal(t, 6.0, r.next().Body["type"])
	r.deliver(pressed("1-|clock|").from("3002")) // another member
	title, _ := r.next().message()
	assert.Equal(t, "Clocked in", title)
	edited := pressed("1-|clock|") // the same card in another state
	edited["message"].(map[string]any)["edited_timestamp"] = "2026-03-02T09:00:00+00:00"
	r.deliver(edited)
	title, _ = r.next().message()
	assert.Equal(t, "Clocked in", title)
	assert.Len(t, running, 2)
}

// pressedAgain presses until it is not taken for a bounce, for less than a bounce's
// time: the press before is over when the platform has taken its answer.
func (r *running) pressedAgain(id string) call {
	r.t.Helper()
	for begun := time.Now(); ; {
		r.deliver(pressed(id))
		if c := r.next(); c.Body["type"] != 6.0 {
			return c
		}
		require.Less(r.t, time.Since(begun), pressWindow/2, "pressed again, and nothing happens")
	}
}

func TestAPressThatIsToldToTryAgainMayBeTriedAgain(t *testing.T) {
	t.Parallel()
	var full atomic.Bool
	full.Store(true)
	r := serve(t, func(c *Config) {
		c.Set.Limit(commands.Limits{Member: commands.Limit{Burst: 3, Every: time.Hour}})
	}, saying("keep", func(context.Context, commands.Request) (commands.Reply, error) {
		if full.Swap(false) {
			return commands.Reply{}, errors.New("the disk is full for a moment")
		}
		return commands.Reply{Title: "Kept"}, nil
	}, word("note", false)))
	r.deliver(pressed("1-|keep|"))
	_, text := r.next().message()
	require.Contains(t, text, "Something went wrong")
	title, _ := r.pressedAgain("1-|keep|").message()
	assert.Equal(t, "Kept", title)

	r.deliver(pressed("1-|keep|note|a|"))
	r.next()
	r.deliver(pressed("1-|keep|note|b|"))
	_, text = r.next().message()
	require.Contains(t, text, "Try again in 3600 s.")
	_, text = r.pressedAgain("1-|keep|note|b|").message()
	assert.Contains(t, text, "Try again in 3600 s.", "asked too early, and told so")
}

func TestAPressThatFoundNoRoomMayBePressedAgain(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, func(c *Config) { c.Workers, c.Queue = 1, 1 }, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	first, second := r.deliver(asked("slow", nil)), r.deliver(asked("slow", nil))
	r.deliver(pressed("1-|slow|"))
	_, text := r.next().message()
	require.Contains(t, text, "busy")
	close(release)
	assert.ElementsMatch(t, []string{first.callback(), second.callback()}, []string{r.next().Path, r.next().Path})
	title, _ := r.pressedAgain("1-|slow|").message()
	assert.Equal(t, "done", title)
}

func TestAPressMayBeRepeatedWhenItsMomentIsOver(t *testing.T) {
	t.Parallel()
	var p presses
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	require.True(t, p.begin("a", now))
	require.False(t, p.begin("a", now.Add(pressWindow*9)), "while it is being answered")
	p.end("a", now.Add(pressWindow))
	require.False(t, p.begin("a", now.Add(pressWindow-1)))
	require.True(t, p.begin("a", now.Add(pressWindow)))
	for i := range 3 * pressesMost {
		key := fmt.Sprint("b", i)
		require.True(t, p.begin(key, now))
		p.end(key, now)
	}
	assert.LessOrEqual(t, len(p.until), pressesMost+1, "what is over is dropped")
}

func TestALongChoiceAmongActionsIsAMenu(t *testing.T) {
	t.Parallel()
	got := make(chan string, 1)
	var actions []commands.Action
	for i := range 27 {
		actions = append(actions, commands.Action{Label: fmt.Sprint("Piece ", i), Path: "open", Options: map[string]string{"piece": fmt.Sprint(i)}})
	}
	actions = append(actions, commands.Action{Label: "New", Path: "list"})
	r := serve(t, nil, saying("list", always(commands.Reply{Title: "Pieces", Actions: actions})),
		saying("open", func(_ context.Context, req commands.Request) (commands.Reply, error) {
			got <- req.Options["piece"]
			return commands.Reply{Title: "Piece"}, nil
		}, word("piece", false)))
	r.deliver(asked("list", nil))
	c := r.next()
	rows := c.Body["data"].(map[string]any)["components"].([]any)
	require.Len(t, rows, 2, "one row of buttons and one menu")
	menu := rows[1].(map[string]any)["components"].([]any)[0].(map[string]any)
	assert.Len(t, menu["options"], 25)
	_, text := c.message()
	assert.Contains(t, text, "/open piece:26", "what finds no place is a line to type")
	chosen := pressed(menu["custom_id"].(string))
	chosen["data"] = map[string]any{"component_type": 3, "custom_id": menu["custom_id"], "values": []any{menu["options"].([]any)[4].(map[string]any)["value"]}}
	r.deliver(chosen)
	r.next()
	assert.Equal(t, "4", <-got)
}

func TestACardWithComponentsThatNobodyKnowsIsPressedAsAnyOther(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, stepping(false))
	strange := pressed("1-|step|at|3|")
	strange["message"].(map[string]any)["components"] = []any{map[string]any{"type": 99, "components": []any{map[string]any{"type": 98}}}}
	r.deliver(strange)
	title, _ := r.next().message()
	assert.Equal(t, "At 3", title)
}
