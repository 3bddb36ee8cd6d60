package commands_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// Every conversation is logged as text and as JSON at the finest level: a line a
// request, a fault with its reference and its cause, and nothing that was typed.
func TestNothingThatIsTypedIsEverLogged(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob(filepath.Join(conversations, "*.chat"))
	require.NoError(t, err)
	var typed, faults atomic.Int64
	t.Cleanup(func() {
		assert.Greater(t, typed.Load(), int64(1000), "values were looked for")
		assert.GreaterOrEqual(t, faults.Load(), int64(len(files)-5), "and there were faults")
	})
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".chat"), func(t *testing.T) {
			t.Parallel()
			script, err := os.ReadFile(file)
			require.NoError(t, err)
			c := newChat(t)
			var text, lines bytes.Buffer
			options := &slog.HandlerOptions{Level: slog.LevelDebug, ReplaceAttr: untimed}
			c.log = slog.NewMultiHandler(slog.NewTextHandler(&text, options), slog.NewJSONHandler(&lines, options))
			c.build()
			c.heard = func(req commands.Request, reply commands.Reply) {
				if reply.Fault != nil {
					faults.Add(1)
				}
				typed.Add(checkLog(t, req, reply, text.String(), lines.String()))
				text.Reset()
				lines.Reset()
			}
			c.play(string(script))
		})
	}
}

// checkLog looks through what one request left in the log, and tells how many values
// it was looked for.
func checkLog(t *testing.T, req commands.Request, reply commands.Reply, text, lines string) (typed int64) {
	t.Helper()
	assert.Equal(t, 1, strings.Count(text, "msg=request"), "one line a request: %s", text)
	assert.Contains(t, text, "outcome="+string(reply.Outcome()))
	if reply.Fault != nil {
		assert.Regexp(t, `msg=fault command="?`+req.Path+`"? reference=`+reply.Fault.Reference+` cause=.*\S`, text)
	}
	cut := func(s string) string { return strings.ReplaceAll(s, req.Path, "") } // its own name, which is ours
	var said strings.Builder
	for line := range strings.Lines(lines) {
		var entry map[string]any
		require.NoError(t, json.Unmarshal([]byte(line), &entry), line)
		said.WriteString(fmt.Sprintln(entry)) // without the escapes of JSON
	}
	for _, name := range slices.Sorted(maps.Keys(req.Options)) {
		value := strings.TrimSpace(req.Options[name])
		if utf8.RuneCountInString(value) <= 3 {
			continue
		}
		typed++
		assert.NotContains(t, cut(text), value, "/%s %s", req.Path, name)
		assert.NotContains(t, cut(said.String()), value, "/%s %s", req.Path, name)
	}
	for _, who := range []string{req.Member + " ", req.Community, req.Delivery} {
		assert.NotContains(t, cut(text), who)
	}
	return typed
}
