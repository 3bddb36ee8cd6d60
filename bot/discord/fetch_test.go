package discord

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"time"

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

func TestAFileIsFetchedOnlyForAMemberWhoNeedNotWait(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	var fetched atomic.Int64
	f.fetched = func() { fetched.Add(1) }
	f.sent = map[string]string{"/a.json": `{"format":1}`}
	r := start(t, f, func(c *Config) {
		c.Set.Limit(commands.Limits{Member: commands.Limit{Burst: 2, Every: time.Hour}})
	}, takingIn())
	r.waitForLog("connected to the gateway")
	file := map[string]any{"filename": "a.json", "size": 12, "url": f.server.URL + "/a.json"}
	for range 2 {
		r.deliver(withFile("piece import", file))
		title, _ := r.next().message()
		assert.Equal(t, "Read", title, "each counts once")
	}
	r.deliver(withFile("piece import", file))
	_, text := r.next().message()
	assert.Equal(t, "That is more at once than I answer one member. Try again in 3600 s.\n```\n/piece import\n```", text)
	assert.EqualValues(t, 2, fetched.Load())
	r.waitForLog("outcome=refused")
}

func TestNoMoreThanAFewFilesAreHeldAtTheSameTime(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	var held, most, fetched atomic.Int64
	f.sent = map[string]string{"/a.json": `{"format":1}`}
	full, release := make(chan struct{}), make(chan struct{})
	f.fetched = func() {
		if fetched.Add(1) == filesAtOnce {
			close(full)
		}
		most.Store(max(most.Load(), held.Add(1)))
	}
	command := takingIn()
	run := command.Run
	command.Run = func(ctx context.Context, req commands.Request) (commands.Reply, error) {
		<-release
		held.Add(-1)
		return run(ctx, req)
	}
	r := start(t, f, nil, command, length())
	r.waitForLog("connected to the gateway")
	const sent = 5 * filesAtOnce
	for range sent {
		r.deliver(withFile("piece import", map[string]any{"filename": "a.json", "size": 12, "url": f.server.URL + "/a.json"}))
	}
	<-full
	r.serves() // others are not held up
	close(release)
	for range sent {
		title, _ := r.next().message()
		assert.Equal(t, "Read", title)
	}
	assert.LessOrEqual(t, most.Load(), int64(filesAtOnce))
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
