package discord

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tallystick/commands"
)

func completing(path, option string, typed any, others map[string]string) event {
	e := asked(path, others)
	e["type"] = 4
	data := e["data"].(map[string]any)
	for data["options"] != nil {
		list := data["options"].([]any)
		inner, nested := map[string]any(nil), false
		if len(list) == 1 {
			inner, _ = list[0].(map[string]any)
			nested = inner["type"] == 1 || inner["type"] == 2
		}
		if !nested {
			data["options"] = append(list, map[string]any{"type": 3, "name": option, "value": typed, "focused": true})
			return e
		}
		data = inner
	}
	return e
}

func species(complete func(context.Context, commands.Request, string) ([]commands.Choice, error)) commands.Option {
	o := word("species", false)
	o.Complete = complete
	return o
}

func TestACompletionOffersWhatTheCommandKnows(t *testing.T) {
	t.Parallel()
	got := make(chan commands.Request, 1)
	r := serve(t, nil, saying("wood weight", always(commands.Reply{}), word("size", false), species(
		func(_ context.Context, req commands.Request, typed string) ([]commands.Choice, error) {
			got <- req
			return []commands.Choice{{Value: "red-oak", Label: "red oak, after " + typed}, {Value: "ash"},
				{Value: strings.Repeat("v", 101), Label: "too long to use"}, {Value: "long", Label: strings.Repeat("n", 120)}}, nil
		})))
	e := r.deliver(completing("wood weight", "species", "oa", map[string]string{"size": secretWord}))
	c := r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 8.0, c.Body["type"])
	assert.Equal(t, []any{
		map[string]any{"name": "red oak, after oa", "value": "red-oak"},
		map[string]any{"name": "ash", "value": "ash"},
		map[string]any{"name": strings.Repeat("n", 99) + "…", "value": "long"},
	}, c.Body["data"].(map[string]any)["choices"])
	req := <-got
	assert.Equal(t, "wood weight", req.Path)
	assert.Equal(t, secretWord, req.Options["size"])
	assert.Equal(t, "3001", req.Member)
}

func TestACompletionWithNothingToOfferIsAnEmptyList(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("weight", always(commands.Reply{}), species(
		func(context.Context, commands.Request, string) ([]commands.Choice, error) { return nil, nil })))
	for _, typed := range []any{"zzz", 12.5, nil, true} {
		r.deliver(completing("weight", "species", typed, map[string]string{"size": "x"}))
		assert.Equal(t, []any{}, r.next().Body["data"].(map[string]any)["choices"])
	}
}

func TestACompletionThatPanicsOrHangsIsAnEmptyListAndTheNextIsServed(t *testing.T) {
	t.Parallel()
	r := serve(t, func(c *Config) { soon(c); c.Workers = 1 }, saying("weight", always(commands.Reply{}), species(
		func(ctx context.Context, _ commands.Request, typed string) ([]commands.Choice, error) {
			switch typed {
			case "panic":
				panic("no such tree")
			case "hang":
				<-ctx.Done()
				return nil, ctx.Err()
			}
			return []commands.Choice{{Value: typed}}, nil
		})))
	for typed, want := range map[string]int{"panic": 0, "hang": 0, "ash": 1} {
		r.deliver(completing("weight", "species", typed, map[string]string{"size": "x"}))
		assert.Len(t, r.next().Body["data"].(map[string]any)["choices"], want, typed)
	}
	r.waitForLog("no such tree")
}

func TestACompletionThatFindsNoRoomIsAnEmptyList(t *testing.T) {
	t.Parallel()
	release, running := make(chan struct{}), make(chan struct{}, 10)
	r := serve(t, func(c *Config) { c.Workers, c.Queue = 1, 1 }, saying("slow", func(context.Context, commands.Request) (commands.Reply, error) {
		running <- struct{}{}
		<-release
		return commands.Reply{Title: "done"}, nil
	}, species(func(context.Context, commands.Request, string) ([]commands.Choice, error) {
		return []commands.Choice{{Value: "ash"}}, nil
	})))
	r.deliver(asked("slow", nil))
	<-running
	r.deliver(completing("slow", "species", "a", map[string]string{"size": "x"}))
	r.deliver(completing("slow", "species", "a", map[string]string{"size": "x"}))
	assert.Equal(t, []any{}, r.next().Body["data"].(map[string]any)["choices"])
	close(release)
	r.next()
	r.next()
}
