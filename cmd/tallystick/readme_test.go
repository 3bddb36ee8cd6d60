package main

import (
	"context"
	"flag"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

var update = flag.Bool("update", false, "write the README's command table anew")

const readme = top + "/README.md"

var commandTable = regexp.MustCompile(`(?m)^\| command \|.*\n(?:\|.*\n)+`)

// realSet is the commands as the program builds them.
func realSet(t *testing.T) *commands.Set {
	t.Helper()
	p := &process{ctx: context.Background(), log: slog.New(slog.DiscardHandler), settings: settings{Data: t.TempDir(), Currency: "USD"}}
	r, _, err := p.openConsole(true)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, r.store.Close()) })
	return r.set
}

func TestTheReadmesCommandTableIsTheDefinitions(t *testing.T) {
	t.Parallel()
	set := realSet(t)
	text, err := os.ReadFile(readme)
	require.NoError(t, err)
	if *update {
		anew := commandTable.ReplaceAllLiteralString(string(text), set.Markdown())
		require.NoError(t, os.WriteFile(readme, []byte(anew), 0o644))
		return
	}
	assert.Equal(t, set.Markdown(), commandTable.FindString(string(text)), "go test ./cmd/tallystick -update writes it anew")
}

// Each text block of the README is a session: a line after each prompt, and what
// is said to it, of which an ellipsis stands for what is left out.
func TestTheReadmesSessionsAreWhatThePromptSays(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(readme)
	require.NoError(t, err)
	sessions := strings.Split(string(text), "```text\n")[1:]
	require.Len(t, sessions, 2)
	for _, session := range sessions {
		session, _, found := strings.Cut(session, "```")
		require.True(t, found)
		h := newHouse(t)
		asked := 0
		for part := range strings.SplitSeq(session, "tallystick> ") {
			line, answer, _ := strings.Cut(part, "\n")
			if line == "" || strings.HasPrefix(line, "/market") {
				continue // a figure of the practice log depends on its keys
			}
			asked++
			_, out, _ := h.run("", "ask", line)
			for said := range strings.SplitSeq(answer, "…\n") {
				assert.Contains(t, out, strings.TrimSpace(said), line)
			}
		}
		assert.Positive(t, asked)
	}
}

func TestTheReadmesTwoCommandsStandAloneInTheirBlock(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(top, "README.md"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "```sh\ngo run ./cmd/tallystick\ngo test ./...\n```")
}
