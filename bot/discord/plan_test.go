package discord

import (
	"context"
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

func TestRegisteringTellsWhatBecomesOfEachCommand(t *testing.T) {
	t.Parallel()
	before := sample()[1:]
	before[0].Summary = "says something else"
	before = append(before, saying("old", always(commands.Reply{})))
	want := []Change{{Changed, "help"}, {Added, "length"}, {Removed, "old"}}
	for _, dry := range []bool{true, false} {
		f := newFake(t)
		f.registered = kept(t, before...)
		c := Config{Token: fakeToken, API: f.server.URL, Set: newSet(t, sample()...)}
		got, err := Register(context.Background(), c, dry)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		if dry {
			assert.Zero(t, f.puts, "a dry run sends nothing")
			continue
		}
		assert.Equal(t, 1, f.puts)
		got, err = Register(context.Background(), c, dry)
		require.NoError(t, err)
		assert.Empty(t, got)
		assert.Equal(t, 1, f.puts, "what is the same is not sent again")
	}
}

func TestAnEntryOfAnotherKindIsAnotherCommand(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.registered = json.RawMessage(`[{"id":"1","type":3,"name":"length","description":""}]`)
	got, err := Register(context.Background(), Config{Token: fakeToken, API: f.server.URL, Set: newSet(t, length())}, true)
	require.NoError(t, err)
	assert.Equal(t, []Change{{Added, "length"}, {Removed, "length (kind 3)"}}, got)
}

func TestARegistrationThatFailsSaysWhyWithoutTheToken(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.registry = func(string) *answer { return &answer{status: http.StatusUnauthorized, body: `{}`} }
	_, err := Register(context.Background(), Config{Token: fakeToken, API: f.server.URL, Set: newSet(t, length())}, false)
	require.ErrorIs(t, err, errToken)
	f.registry = func(string) *answer {
		return &answer{status: http.StatusBadRequest, body: `{"code":50035,"message":"Invalid Form Body"}`}
	}
	_, err = Register(context.Background(), Config{Token: fakeToken, API: f.server.URL, Set: newSet(t, length())}, true)
	require.ErrorContains(t, err, "code 50035")
	assert.NotContains(t, err.Error(), fakeToken)
}

func TestACommandForHostsIsShownToHostsAlone(t *testing.T) {
	t.Parallel()
	hosts := func(c commands.Command) commands.Command { c.HostOnly = true; return c }
	run := always(commands.Reply{Title: "x"})
	list := []commands.Command{hosts(saying("host export", run)), hosts(saying("host regions", run)), hosts(saying("sale purge", run)), saying("sale mine", run)}
	body, err := registration(newSet(t, list...))
	require.NoError(t, err)
	for _, top := range body {
		if top.Name == "host" {
			assert.Equal(t, "32", top.Permissions, "who may manage the server")
			assert.Len(t, top.Contexts, 1, "and not in private messages")
		} else {
			assert.Nil(t, top.Permissions, "one word of it is for all")
		}
	}
	text, err := RegistrationBody(newSet(t, list...))
	require.NoError(t, err)
	checkBody(t, commandsSchema, text)

	r := serve(t, nil, list...)
	r.deliver(asked("sale purge", nil))
	_, said := r.next().message()
	assert.Contains(t, said, "Only the host of this community may use /sale purge.")
	e := asked("sale purge", nil)
	e["member"].(map[string]any)["permissions"] = "32"
	r.deliver(e)
	title, _ := r.next().message()
	assert.Equal(t, "x", title)
}
