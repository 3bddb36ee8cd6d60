package discord

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"log/slog"
	"net/http"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func newSet(t *testing.T, list ...commands.Command) *commands.Set {
	t.Helper()
	set, err := commands.NewSet(list, slog.New(slog.DiscardHandler), func() string { return "7F3A" })
	require.NoError(t, err)
	return set
}

func emptySet(t *testing.T) *commands.Set { return newSet(t) }

// sample has every shape a registration can have.
func sample() []commands.Command {
	run := always(commands.Reply{Title: "x"})
	step := word("step", false)
	step.Choices = []commands.Choice{{Value: "1/16", Label: "a sixteenth"}, {Value: "1mm"}}
	many := word("grade", false)
	for i := range 26 {
		many.Choices = append(many.Choices, commands.Choice{Value: fmt.Sprint("g", i)})
	}
	long := word("note", false)
	long.MaxLength = 9000
	usual := word("size", true)
	usual.MaxLength = 0
	return []commands.Command{
		saying("length", run, usual, step, long),
		saying("help", run),
		saying("sheet open", run, word("name", true)),
		saying("sheet list", run),
		saying("log market add", run, many),
		saying("log market undo", run),
		saying("log export", run, species(func(context.Context, commands.Request, string) ([]commands.Choice, error) { return nil, nil })),
	}
}

func TestTheRegistrationIsDerivedFromTheDefinitions(t *testing.T) {
	t.Parallel()
	got, err := RegistrationBody(newSet(t, sample()...))
	require.NoError(t, err)
	checkBody(t, commandsSchema, got)
	const golden = "testdata/registration.json"
	if *update {
		require.NoError(t, os.WriteFile(golden, got, 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

func TestARegistrationThePlatformWouldNotTakeIsRefused(t *testing.T) {
	t.Parallel()
	run := always(commands.Reply{})
	summary := func(s string) commands.Command {
		c := saying("length", run)
		c.Summary = s
		return c
	}
	var crowd, options []commands.Command
	for i := range 101 {
		crowd = append(crowd, saying(fmt.Sprint("c", i), run))
	}
	var words []commands.Option
	for i := range 26 {
		words = append(words, word(fmt.Sprint("w", i), false))
	}
	options = append(options, saying("length", run, words...))
	bulky := saying("length", run)
	for i := range 4 {
		o := word(fmt.Sprint("w", i), false)
		for j := range 25 {
			o.Choices = append(o.Choices, commands.Choice{Value: fmt.Sprintf("%0100d", j)})
		}
		bulky.Options = append(bulky.Options, o)
	}
	longChoice := word("step", false)
	longChoice.Choices = []commands.Choice{{Value: strings.Repeat("x", 101)}}
	for name, c := range map[string]struct {
		list []commands.Command
		want string
	}{
		"a word that is a command and a family": {[]commands.Command{saying("price", run), saying("price batch", run)}, `"price batch": the word "price" is a command already`},
		"a second word that is both":            {[]commands.Command{saying("log add", run), saying("log add all", run)}, `the word "add" is a command already`},
		"four words":                            {[]commands.Command{saying("a b c d", run)}, "one to three words"},
		"upper case":                            {[]commands.Command{saying("Price", run)}, "lower case"},
		"an option with a space":                {[]commands.Command{saying("price", run, word("my hours", false))}, `option "my hours"`},
		"a long name":                           {[]commands.Command{saying(strings.Repeat("a", 33), run)}, "1 to 32"},
		"a long summary":                        {[]commands.Command{summary(strings.Repeat("a", 101))}, "has 101 characters and the platform takes 1 to 100"},
		"too many commands":                     {crowd, "101 commands are more than the platform's 100"},
		"too many options":                      {options, "26 options or sub-commands are more than the platform's 25"},
		"too much text":                         {[]commands.Command{bulky}, "the platform takes 8000"},
		"a long choice":                         {[]commands.Command{saying("length", run, longChoice)}, "is empty or over 100 characters"},
	} {
		_, err := RegistrationBody(newSet(t, c.list...))
		require.Error(t, err, name)
		assert.Contains(t, err.Error(), c.want, name)
	}
}

func TestAFamilyIsDescribedByItsWords(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "add", family([]string{"add"}))
	assert.Equal(t, "add or undo", family([]string{"add", "undo"}))
	assert.Equal(t, "add, list or undo", family([]string{"add", "list", "undo"}))
	var many []string
	for i := range 25 {
		many = append(many, fmt.Sprint("measure", i))
	}
	text := family(many)
	assert.LessOrEqual(t, units(text), 100)
	assert.True(t, strings.HasSuffix(text, " and more"), text)
	assert.LessOrEqual(t, units(family([]string{strings.Repeat("x", 300), "y"})), 100)
}

func kept(t *testing.T, list ...commands.Command) json.RawMessage {
	body, err := RegistrationBody(newSet(t, list...))
	require.NoError(t, err)
	return asKept(t, body)
}

func TestCommandsThatAreRegisteredAlreadyAreLeftAlone(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.registered = kept(t, sample()...)
	r := start(t, f, nil, sample()...)
	r.greeting()
	r.waitForLog("commands registered")
	f.mu.Lock()
	defer f.mu.Unlock()
	assert.Equal(t, 1, f.reads)
	assert.Zero(t, f.puts)
}

func TestCommandsThatDifferAreOverwrittenOnceAndTogether(t *testing.T) {
	t.Parallel()
	renamed, required, dropped := sample(), sample(), sample()[1:]
	renamed[0].Summary = "says something else"
	required[0].Options[0].Required = false
	swapped := sample()
	swapped[0].Options[1], swapped[0].Options[2] = swapped[0].Options[2], swapped[0].Options[1]
	for name, present := range map[string]json.RawMessage{
		"none":            json.RawMessage(`[]`),
		"a summary":       kept(t, renamed...),
		"a required mark": kept(t, required...),
		"one less":        kept(t, dropped...),
		"one more":        kept(t, append(sample(), saying("old", always(commands.Reply{})))...),
		"another order":   kept(t, swapped...),
		"other contexts":  json.RawMessage(strings.ReplaceAll(string(kept(t, sample()...)), `"contexts":[0,1]`, `"contexts":[0]`)),
		"permissions":     json.RawMessage(strings.Replace(string(kept(t, sample()...)), `"default_member_permissions":null`, `"default_member_permissions":"32"`, 1)),
		"another kind":    json.RawMessage(`[{"id":"1","type":3,"name":"length","description":""}]`),
		"another form":    json.RawMessage(`[{"id":"1","type":1,"name":"length","options":[{"choices":[{"name":"x","value":5}]}]}]`),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := newFake(t)
			f.registered = present
			r := start(t, f, nil, sample()...)
			r.greeting()
			r.waitForLog("commands registered")
			f.mu.Lock()
			defer f.mu.Unlock()
			assert.Equal(t, 1, f.puts)
			assert.JSONEq(t, string(kept(t, sample()...)), string(f.registered))
		})
	}
}

func TestARegistrationThatFailsForAMomentIsTriedAgainWhileServing(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	var n atomic.Int64
	f.registry = func(string) *answer {
		if n.Add(1) <= 6 {
			return &answer{status: 500, body: `{}`}
		}
		return nil
	}
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("length", nil))
	r.next()
	r.waitForLog("commands registered")
}

func TestARegistrationThePlatformRefusesIsLoggedAndTheRestGoesOn(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.registry = func(method string) *answer {
		if method == http.MethodPut {
			return &answer{status: http.StatusBadRequest, body: `{"code":50035,"message":"Invalid Form Body"}`}
		}
		return nil
	}
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	r.waitForLog("the platform refuses the commands")
	r.deliver(asked("length", nil))
	r.next()
}

func TestATokenTheAPIRefusesEndsTheRun(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.registry = func(string) *answer {
		return &answer{status: http.StatusUnauthorized, body: `{"code":0,"message":"401: Unauthorized"}`}
	}
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	require.EqualError(t, r.stopped(), "the bot token is not accepted: copy it again from the Bot page of the developer portal")
}

func TestTheApplicationIsAskedForWhenTheGatewayDoesNotTellIt(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.readyWithout = true
	r := start(t, f, func(c *Config) { c.Timing.Drain = time.Second }, sample()...)
	r.greeting()
	r.waitForLog("commands registered")
	f.mu.Lock()
	defer f.mu.Unlock()
	assert.Equal(t, 1, f.puts)
}
