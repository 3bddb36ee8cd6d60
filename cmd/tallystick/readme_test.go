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

func TestTheReadmesSessionIsWhatThePromptSays(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(readme)
	require.NoError(t, err)
	_, after, found := strings.Cut(string(text), "```text\n")
	require.True(t, found)
	session, _, found := strings.Cut(after, "```")
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
		assert.Contains(t, out, strings.TrimSpace(answer), line)
	}
	assert.Positive(t, asked)
}

func TestTheReadmesTwoCommandsStandAloneInTheirBlock(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(top, "README.md"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "```sh\ngo run ./cmd/tallystick\ngo test ./...\n```")
}
