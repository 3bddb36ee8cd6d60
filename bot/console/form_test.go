package console

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/peterh/liner"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// asking is a console with a member who gives the answers, one a question. An
// answer of ^C leaves.
func asking(t *testing.T, answers ...string) (c *Console, out *strings.Builder, prompts *[]string) {
	t.Helper()
	option := func(name, example string, required bool) commands.Option {
		return commands.Option{Name: name, Summary: "how " + name, Kind: commands.Word, Example: example, Required: required}
	}
	say := func(_ context.Context, req commands.Request) (commands.Reply, error) {
		return commands.Reply{Title: "cut " + req.Options["sheet"] + "|" + req.Options["long"] + "|" + req.Options["wide"],
			Actions: []commands.Action{{Label: "Put it right", Path: "cut", Options: map[string]string{"sheet": "7"}, Asks: true}}}, nil
	}
	set, err := commands.NewSet([]commands.Command{
		{Path: "cut", Summary: "cut a board", Options: []commands.Option{option("long", "3 ft", true), option("wide", "5 in", false), option("sheet", "7", false)},
			Examples: []string{"/cut long:3 ft"}, Ask: []string{"long", "wide"}, FormTitle: "what to cut",
			Prefill: func(_ context.Context, req commands.Request) (map[string]string, error) {
				if req.Options["sheet"] == "broken" {
					return nil, errors.New("the sheet broke")
				}
				if req.Options["sheet"] == "" {
					return map[string]string{}, nil
				}
				return map[string]string{"long": "2 ft", "wide": "4 in"}, nil
			}, Run: say},
	}, slog.New(slog.DiscardHandler), func() string { return "AB12" })
	require.NoError(t, err)
	out, prompts = &strings.Builder{}, &[]string{}
	c = &Console{out: out, Config: Config{Set: set, Delivery: func() string { return "d" }, Now: func() time.Time { return time.Time{} }}}
	c.ask = func(prompt string) (string, error) {
		*prompts = append(*prompts, prompt)
		require.LessOrEqual(t, len(*prompts), len(answers), "a question too many")
		if answer := answers[len(*prompts)-1]; answer != "^C" {
			return answer, nil
		}
		return "", liner.ErrPromptAborted
	}
	return c, out, prompts
}

func TestAFormIsAskedOneFieldAtATime(t *testing.T) {
	t.Parallel()
	c, out, prompts := asking(t, "6 ft", "")
	assert.False(t, c.line(t.Context(), "/cut", true))
	assert.Equal(t, []string{"  long> ", "  wide> "}, *prompts)
	assert.Contains(t, out.String(), "What to cut\n")
	assert.Contains(t, out.String(), "Long (needed). For example: 3 ft\nWide. For example: 5 in\n")
	assert.Contains(t, out.String(), "cut |6 ft|\n")
}

func TestEnterKeepsWhatStandsInAFieldAndAHyphenEmptiesIt(t *testing.T) {
	t.Parallel()
	c, out, _ := asking(t, "", "-")
	c.line(t.Context(), "/cut long:1 ft", true)
	c.line(t.Context(), "1", true)
	assert.Contains(t, out.String(), "Long (needed), now: 2 ft. For example: 3 ft\n")
	assert.Contains(t, out.String(), "cut 7|2 ft|\n", "what was settled before goes with the request")
}

func TestCtrlCLeavesAFormAndAsksNothing(t *testing.T) {
	t.Parallel()
	c, out, _ := asking(t, "6 ft", "^C")
	assert.False(t, c.line(t.Context(), "/cut", true), "leaving a form does not leave the console")
	assert.Contains(t, out.String(), "Left. Nothing was sent.\n")
	assert.NotContains(t, out.String(), "cut |6 ft")
}

func TestAFormThatCannotBeMadeSaysWhy(t *testing.T) {
	t.Parallel()
	c, out, prompts := asking(t)
	c.next = []commands.Action{{Label: "Put it right", Path: "cut", Options: map[string]string{"sheet": "broken"}, Asks: true}}
	c.line(t.Context(), "1", true)
	assert.Contains(t, out.String(), "Something went wrong on my side. Reference AB12.")
	assert.Empty(t, *prompts)
}

func TestInAPipeAnActionThatAsksIsItsLine(t *testing.T) {
	t.Parallel()
	c, out, _ := asking(t)
	c.ask = nil
	c.line(t.Context(), "/cut long:1 ft", false)
	assert.Contains(t, out.String(), "> Put it right: /cut sheet:7\n")
	c.line(t.Context(), "1", false)
	assert.Contains(t, out.String(), "long: is needed: how long. Try long:3 ft.")
}
