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

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

var update = flag.Bool("update", false, "write the README's command table anew")

const readme = top + "/README.md"

// tableMark stands before the table that is made, and before no other.
const tableMark = "<!-- The table is made from the definitions; a test holds the two together. -->\n"

var madeTable = regexp.MustCompile("(?m)^" + regexp.QuoteMeta(tableMark) + `((?:\|.*\n)+)`)

// withTable puts a table behind its mark, and leaves every other one alone.
func withTable(text, table string) string {
	return madeTable.ReplaceAllLiteralString(text, tableMark+table)
}

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
	table := realSet(t).Markdown()
	text, err := os.ReadFile(readme)
	require.NoError(t, err)
	if *update {
		require.NoError(t, os.WriteFile(readme, []byte(withTable(string(text), table)), 0o644))
		return
	}
	made := madeTable.FindAllStringSubmatch(string(text), -1)
	require.Len(t, made, 1, "the README has one table that is made")
	assert.Equal(t, table, made[0][1], "go test ./cmd/tallystick -update writes it anew")
	head, _, _ := strings.Cut(table, "\n")
	assert.Equal(t, 1, strings.Count(string(text), head), "the chat's commands stand in the README once")
}

func TestWritingTheTableAnewLeavesEveryOtherTableAlone(t *testing.T) {
	t.Parallel()
	other := "| command | does |\n| --- | --- |\n| `tallystick check` | looks |\n"
	assert.Equal(t, other+"\n"+tableMark+"| new |\n\n"+other,
		withTable(other+"\n"+tableMark+"| command |\n| --- |\n| `/old` |\n\n"+other, "| new |\n"))
}

// The sub-commands that look after a database are those that choose one by a flag.
func TestTheReadmesTableOfSubCommandsIsTheProgramsOwn(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(readme)
	require.NoError(t, err)
	_, after, found := strings.Cut(string(text), "\n## Looking after the data\n")
	require.True(t, found)
	rows := map[string]string{}
	for _, m := range regexp.MustCompile("(?m)^\\| `tallystick ([^`]+)` \\|(.*)$").FindAllStringSubmatch(after, -1) {
		rows[m[1]] = m[2]
	}
	parser, err := kong.New(&arguments{})
	require.NoError(t, err)
	for _, command := range parser.Model.Children {
		if _, looksAfter := command.Target.Type().FieldByName("which"); !looksAfter {
			continue
		}
		words := []string{command.Name}
		for _, argument := range command.Positional {
			words = append(words, strings.ToUpper(argument.Name))
		}
		call := strings.Join(words, " ")
		row, there := rows[call]
		assert.True(t, there, "%q is missing from the table", call)
		for _, flag := range command.Flags {
			if flag.Name != "own" && flag.Name != "practice" { // those stand above the table
				assert.Contains(t, row, "`--"+flag.Name+"`", call)
			}
		}
		delete(rows, call)
	}
	assert.Empty(t, rows, "the table lists what is no such sub-command")
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
