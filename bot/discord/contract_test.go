package discord

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// golden is where cmd/tallystick keeps what the real commands are sent as.
const golden = "../../testdata/discord"

// The registration of the real commands against the published description, and
// against the documented rules that it does not state.
// https://discord.com/developers/docs/interactions/application-commands
func TestTheRegistrationOfTheRealCommandsKeepsTheContract(t *testing.T) {
	t.Parallel()
	raw, err := os.ReadFile(filepath.Join(golden, "registration.json"))
	require.NoError(t, err)
	checkBody(t, commandsSchema, raw)
	var list []map[string]any
	require.NoError(t, json.Unmarshal(raw, &list))
	require.NotEmpty(t, list)
	assert.LessOrEqual(t, len(list), 100)
	names := map[string]bool{}
	for _, c := range list {
		name := c["name"].(string)
		assert.False(t, names[name], "/%s occurs twice", name)
		names[name] = true
		assert.LessOrEqual(t, checkNode(t, "/"+name, c, 0), 8000, "the texts of /%s together", name)
	}
}

// checkNode holds one command or option, and gives the length of its texts.
func checkNode(t *testing.T, path string, node map[string]any, depth int) int {
	name, description := node["name"].(string), node["description"].(string)
	assert.Regexp(t, `^[-_'\p{L}\p{N}]{1,32}$`, name, path)
	assert.Equal(t, strings.ToLower(name), name, path)
	assert.True(t, utf8.RuneCountInString(description) >= 1 && utf8.RuneCountInString(description) <= 100, path)
	assert.LessOrEqual(t, depth, 3, "%s: command, group, sub-command, option", path)
	sum := utf8.RuneCountInString(name + description)
	options, _ := node["options"].([]any)
	assert.LessOrEqual(t, len(options), 25, path)
	optional, seen := false, map[string]bool{}
	for _, o := range options {
		option := o.(map[string]any)
		inner := option["name"].(string)
		assert.False(t, seen[inner], "%s %s occurs twice", path, inner)
		seen[inner] = true
		required, _ := option["required"].(bool)
		assert.False(t, required && optional, "%s %s is required behind one that is not", path, inner)
		optional = optional || !required
		if kind := option["type"].(float64); kind <= 2 {
			assert.NotContains(t, option, "required", "%s %s", path, inner)
		} else {
			assert.Contains(t, []float64{3, 11}, kind, "%s %s: measures travel as text, and files as files", path, inner)
		}
		sum += checkNode(t, path+" "+inner, option, depth+1)
	}
	choices, _ := node["choices"].([]any)
	assert.LessOrEqual(t, len(choices), 25, path)
	auto, _ := node["autocomplete"].(bool)
	assert.False(t, auto && len(choices) > 0, "%s completes and has choices", path)
	for _, ch := range choices {
		choice := ch.(map[string]any)
		label, value := choice["name"].(string), choice["value"].(string)
		assert.True(t, label != "" && units(label) <= 100, "%s: %q", path, label)
		assert.True(t, value != "" && units(value) <= 100, "%s: %q", path, value)
		sum += utf8.RuneCountInString(label + value)
	}
	return sum
}

// Every answer of every conversation, as a first message and as a further one.
func TestTheAnswersOfTheRealCommandsKeepTheContract(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob(filepath.Join(golden, "replies", "*.jsonl"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	bodies, private := 0, 0
	for _, file := range files {
		for _, line := range linesOf(t, file) {
			bodies++
			checkBody(t, callbackSchema(t, 4.0), []byte(`{"type":4,"data":`+string(line)+`}`))
			checkBody(t, followSchema, line)
			var body map[string]any
			require.NoError(t, json.Unmarshal(line, &body))
			checkLimits(t, body)
			assert.Equal(t, map[string]any{"parse": []any{}, "replied_user": false}, body["allowed_mentions"])
			checkTables(t, file, body)
			if flags, _ := body["flags"].(float64); int(flags)&64 != 0 {
				private++
			}
		}
	}
	assert.Positive(t, private)
	assert.Greater(t, bodies, private, "some are for all")
}

// checkTables sees to it that no code block is wider than a phone but for lines to
// copy, and that no emoji stands anywhere.
func checkTables(t *testing.T, file string, body map[string]any) {
	embeds, _ := body["embeds"].([]any)
	for _, e := range embeds {
		text, _ := e.(map[string]any)["description"].(string)
		for _, r := range text {
			assert.False(t, unicode.Is(unicode.So, r) && r > 0x2b00, "%s: %q is an emoji", file, r)
		}
		for i, part := range strings.Split(text, fence) {
			for line := range strings.SplitSeq(part, "\n") {
				if i%2 == 1 && !strings.HasPrefix(line, "/") {
					assert.LessOrEqual(t, width(line), phoneColumns, "%s: %s", file, line)
				}
			}
		}
	}
}

func TestTheFormsOfTheRealCommandsKeepTheContract(t *testing.T) {
	t.Parallel()
	forms := linesOf(t, filepath.Join(golden, "forms.jsonl"))
	require.NotEmpty(t, forms)
	for _, line := range forms {
		checkBody(t, callbackSchema(t, 9.0), []byte(`{"type":9,"data":`+string(line)+`}`))
		var data map[string]any
		require.NoError(t, json.Unmarshal(line, &data))
		checkModal(t, data)
	}
}

func linesOf(t *testing.T, file string) [][]byte {
	raw, err := os.ReadFile(file)
	require.NoError(t, err)
	return bytes.Split(bytes.TrimSpace(raw), []byte("\n"))
}
