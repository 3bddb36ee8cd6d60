package discord

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// logbook keeps what is logged.
type logbook struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *logbook) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *logbook) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// running is a bot that serves against a fake.
type running struct {
	*fake
	log    *logbook
	cancel context.CancelFunc
	ended  chan error
}

// secretWord is in everything the tests type; it must never be logged.
const secretWord = "walnut-offcuts"

// start runs a bot against f. At the test's end it is stopped and must end well,
// and its log must hold no secret.
func start(t *testing.T, f *fake, change func(*Config), list ...commands.Command) *running {
	t.Helper()
	log := &logbook{}
	set, err := commands.NewSet(list, slog.New(slog.NewTextHandler(log, nil)), func() string { return "7F3A" })
	require.NoError(t, err)
	c := Config{Token: fakeToken, API: f.server.URL, Set: set, Reference: func() string { return "OWN1" },
		Log: slog.New(slog.NewTextHandler(log, &slog.HandlerOptions{Level: slog.LevelDebug}))}
	c.Timing.Retry, c.Timing.RetryMost, c.Timing.Greeting = 5*time.Millisecond, 20*time.Millisecond, time.Millisecond
	if change != nil {
		change(&c)
	}
	ctx, cancel := context.WithCancel(context.Background())
	r := &running{fake: f, log: log, cancel: cancel, ended: make(chan error, 1)}
	go func() { r.ended <- Run(ctx, c) }()
	t.Cleanup(func() {
		cancel()
		select {
		case err := <-r.ended:
			assert.NoError(t, err, "the end of Run")
		case <-time.After(patience):
			assert.Fail(t, "Run did not end")
		}
		r.checkLog()
	})
	return r
}

// serve is start with a platform of ordinary manners, waiting until it serves.
func serve(t *testing.T, change func(*Config), list ...commands.Command) *running {
	t.Helper()
	r := start(t, newFake(t), change, list...)
	assert.Equal(t, 2, r.greeting().Op)
	r.waitForLog("connected to the gateway")
	return r
}

func (r *running) checkLog() {
	logged := r.log.String()
	for _, secret := range []string{fakeToken, "for-tests", secretWord, "interaction-token"} {
		assert.NotContains(r.t, logged, secret)
	}
}

// stopped waits for Run to end by itself.
func (r *running) stopped() error {
	r.t.Helper()
	select {
	case err := <-r.ended:
		r.ended <- nil // for the cleanup, which has nothing left to see
		return err
	case <-time.After(patience):
		require.FailNow(r.t, "Run did not end")
		return nil
	}
}

func (r *running) waitForLog(text string) {
	r.t.Helper()
	require.Eventually(r.t, func() bool { return strings.Contains(r.log.String(), text) }, patience, time.Millisecond, "%q in the log", text)
}

var ids atomic.Int64

// snowflake is a fresh interaction id, made now.
func snowflake() string {
	return strconv.FormatInt((time.Now().UnixMilli()-epoch)<<22|ids.Add(1)&0x3fffff, 10)
}

// event is an INTERACTION_CREATE as the platform sends it.
type event map[string]any

func asked(path string, options map[string]string) event {
	words := strings.Fields(path)
	var leaves []any
	for name, value := range options {
		leaves = append(leaves, map[string]any{"type": 3, "name": name, "value": value})
	}
	for i := len(words) - 1; i > 0; i-- {
		kind := 1
		if i < len(words)-1 {
			kind = 2
		}
		leaves = []any{map[string]any{"type": kind, "name": words[i], "options": leaves}}
	}
	return interaction(2, map[string]any{"id": "5", "type": 1, "name": words[0], "options": leaves})
}

func pressed(id string) event {
	e := interaction(3, map[string]any{"component_type": 2, "custom_id": id})
	e["message"] = map[string]any{"id": "77", "channel_id": "66", "content": "", "components": []any{
		map[string]any{"type": 1, "components": []any{map[string]any{"type": 2, "style": 2, "label": "x", "custom_id": id}}}}}
	return e
}

func interaction(kind int, data map[string]any) event {
	id := snowflake()
	return event{"id": id, "application_id": fakeApplication, "type": kind, "token": "interaction-token-" + id, "version": 1,
		"guild_id": "4001", "channel_id": "4002", "locale": "en-GB", "context": 0, "data": data,
		"member": map[string]any{"permissions": "0", "user": map[string]any{"id": "3001", "username": "ann"}}}
}

func (e event) from(user string) event {
	e["member"].(map[string]any)["user"] = map[string]any{"id": user}
	return e
}

// deliver sends an event to the bot.
func (r *running) deliver(e event) event {
	r.t.Helper()
	raw, err := json.Marshal(e)
	require.NoError(r.t, err)
	r.newest.Load().dispatch("INTERACTION_CREATE", string(raw))
	return e
}

func (e event) callback() string {
	return fmt.Sprintf("/interactions/%s/%s/callback", e["id"], e["token"])
}

func (e event) original() string { return e.webhook() + "/messages/@original" }

func (e event) webhook() string { return fmt.Sprintf("/webhooks/%s/%s", fakeApplication, e["token"]) }

// message is what a call shows: the content, or the embed's title and description.
func (c call) message() (title, text string) {
	body := c.Body
	if data, ok := body["data"].(map[string]any); ok {
		body = data
	}
	if content, ok := body["content"].(string); ok {
		return "", content
	}
	embeds, _ := body["embeds"].([]any)
	if len(embeds) == 0 {
		return "", ""
	}
	embed := embeds[0].(map[string]any)
	title, _ = embed["title"].(string)
	text, _ = embed["description"].(string)
	return title, text
}

// hidden is true when only the asker sees the message.
func (c call) hidden() bool {
	body := c.Body
	if data, ok := body["data"].(map[string]any); ok {
		body = data
	}
	flags, _ := body["flags"].(float64)
	return int(flags)&64 != 0
}

// buttons are the ids of a message's buttons by label.
func (c call) buttons() map[string]string {
	body := c.Body
	if data, ok := body["data"].(map[string]any); ok {
		body = data
	}
	out := map[string]string{}
	rows, _ := body["components"].([]any)
	for _, row := range rows {
		for _, b := range row.(map[string]any)["components"].([]any) {
			button := b.(map[string]any)
			out[button["label"].(string)] = button["custom_id"].(string)
		}
	}
	return out
}

// saying is a command whose handler is run.
func saying(path string, run commands.Handler, options ...commands.Option) commands.Command {
	return commands.Command{Path: path, Summary: "says what it is told to", Examples: []string{"/" + path}, Options: options, Run: run}
}

func privately(c commands.Command) commands.Command {
	c.Private = true
	return c
}

func word(name string, required bool) commands.Option {
	return commands.Option{Name: name, Summary: "a word", Kind: commands.Word, Required: required, MaxLength: 5000, Example: "oak"}
}

func always(reply commands.Reply) commands.Handler {
	return func(context.Context, commands.Request) (commands.Reply, error) { return reply, nil }
}
