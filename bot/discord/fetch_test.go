package discord

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// withFile is a command to which a member put a file.
func withFile(path string, file map[string]any) event {
	words := strings.Fields(path) // two of them
	leaf := []any{map[string]any{"type": 11, "name": "json", "value": "500"}}
	return interaction(2, map[string]any{"id": "5", "type": 1, "name": words[0],
		"options":  []any{map[string]any{"type": 1, "name": words[1], "options": leaf}},
		"resolved": map[string]any{"attachments": map[string]any{"500": file}}})
}

func takingIn() commands.Command {
	return privately(saying("piece import", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		if req.Options["json"] != `{"format":1}` {
			return commands.Reply{Private: true, Title: "Something else"}, nil
		}
		return commands.Reply{Private: true, Title: "Read"}, nil
	}, commands.Option{Name: "json", Summary: "a file", Kind: commands.FileText, Required: true, MaxLength: 100, Example: "{}"}))
}

func TestAFileThatAMemberSendsIsReadIntoItsOption(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.sent = map[string]string{"/attachments/1/2/job-sheets.json": "{\"format\":1}\n"}
	r := start(t, f, nil, takingIn())
	r.waitForLog("connected to the gateway")
	r.deliver(withFile("piece import", map[string]any{"filename": "job-sheets.json", "size": 13, "url": f.server.URL + "/attachments/1/2/job-sheets.json?ex=1&hm=2"}))
	c := r.next()
	assert.True(t, c.hidden())
	title, _ := c.message()
	assert.Equal(t, "Read", title)
}

func TestAFileIsFetchedFromThePlatformAlone(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	r := start(t, f, nil, takingIn())
	r.waitForLog("connected to the gateway")
	for _, file := range []map[string]any{
		{"filename": "a.json", "size": 13, "url": "http://127.0.0.1:9/a.json"},
		{"filename": "a.json", "size": 13, "url": "https://cdn.discordapp.com.example/a.json"},
		{"filename": "a.json", "size": 13, "url": "https://user@cdn.discordapp.com:8443/a.json"},
		{"filename": "a.json", "size": 13, "url": "file:///etc/hostname"},
		{"filename": "a.json", "size": 13, "url": "::"},
		{}, // the platform did not say where it is
	} {
		r.deliver(withFile("piece import", file))
		_, text := r.next().message()
		assert.Contains(t, text, "is a file that I could not fetch", "%v", file)
	}
	r.deliver(withFile("piece import", map[string]any{"filename": "big.json", "size": fileMost + 1, "url": f.server.URL + "/big"}))
	_, text := r.next().message()
	assert.Contains(t, text, `json: "big.json" is larger than the 8 MB that I read. Try the file as I gave it, once more.`)
}

func TestAMistakenFileIsNotRepeated(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.sent = map[string]string{"/notes.json": strings.Repeat("this is not a job sheet\n", 13000)}
	mistaken := takingIn()
	mistaken.Options[0].MaxLength = fileMost
	mistaken.Options = append(mistaken.Options, word("beside", false))
	mistaken.Run = func(_ context.Context, req commands.Request) (commands.Reply, error) {
		return commands.Reply{}, &commands.Mistake{Option: "json", Given: req.Options["json"][:7], Problem: "is not an export", Try: "the file"}
	}
	r := start(t, f, nil, mistaken, length())
	r.waitForLog("connected to the gateway")
	e := withFile("piece import", map[string]any{"filename": "notes.json", "size": 312000, "url": f.server.URL + "/notes.json"})
	sub := e["data"].(map[string]any)["options"].([]any)[0].(map[string]any)
	sub["options"] = append(sub["options"].([]any), map[string]any{"type": 3, "name": "beside", "value": "yes"})
	r.deliver(e)
	_, text := r.next().message()
	assert.Equal(t, "json: \"this is\" is not an export. Try the file.\n```\n/piece import beside:yes\n```", text, "what was typed is")
	r.serves()
}

func TestAFileOptionIsRegisteredAsAnAttachment(t *testing.T) {
	t.Parallel()
	body, err := RegistrationBody(newSet(t, takingIn()))
	require.NoError(t, err)
	checkBody(t, commandsSchema, body)
	assert.Contains(t, string(body), `"type": 11,`)
	assert.NotContains(t, string(body), "max_length")
}
