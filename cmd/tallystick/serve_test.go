package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	standInApp   = "700000000000000007"
	standInToken = "a-token-for-this-test"
	member       = "812345678901234567"
	guild        = "809876543210987654"
)

// standIn is as much of the platform as a whole run needs; it fails on anything
// else. What the transport does in trouble is tested in bot/discord.
type standIn struct {
	t         *testing.T
	server    *httptest.Server
	callbacks chan map[string]any
	registers chan []map[string]any
	mu        sync.Mutex // one writer on the socket
	socket    *websocket.Conn
	ready     chan struct{}
	// flags are those of the last "thinking"; one member asks at a time.
	flags any
}

func newStandIn(t *testing.T) *standIn {
	s := &standIn{t: t, callbacks: make(chan map[string]any, 10), registers: make(chan []map[string]any, 10), ready: make(chan struct{})}
	s.server = httptest.NewServer(http.HandlerFunc(s.answer))
	t.Cleanup(s.server.Close)
	return s
}

func (s *standIn) answer(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/json")
	path := strings.TrimPrefix(r.URL.Path, "/api/v9")
	switch {
	case path == "/gateway":
		_, _ = io.WriteString(w, `{"url":"ws`+strings.TrimPrefix(s.server.URL, "http")+`/socket"}`)
	case strings.HasPrefix(r.URL.Path, "/socket"):
		s.gateway(w, r)
	case path == "/applications/"+standInApp+"/commands" && r.Method == http.MethodGet:
		_, _ = io.WriteString(w, "[]")
	case path == "/applications/"+standInApp+"/commands" && r.Method == http.MethodPut:
		var body []map[string]any
		assert.NoError(s.t, json.NewDecoder(r.Body).Decode(&body))
		s.registers <- body
		_, _ = io.WriteString(w, "[]")
	case strings.HasSuffix(path, "/callback"), r.Method == http.MethodPatch && strings.HasSuffix(path, "/messages/@original"):
		payload := io.Reader(r.Body)
		if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/") { // it brings a picture
			payload = strings.NewReader(r.FormValue("payload_json"))
		}
		var body map[string]any
		assert.NoError(s.t, json.NewDecoder(payload).Decode(&body))
		s.answered(r.Method, body)
		_, _ = io.WriteString(w, `{"id":"1","content":""}`)
	default:
		assert.Fail(s.t, "the stand-in does not know this request", "%s %s", r.Method, r.URL)
		w.WriteHeader(http.StatusTeapot)
	}
}

// answered hands an answer on. On a busy machine it may come after "thinking",
// which settles who sees it.
func (s *standIn) answered(method string, body map[string]any) {
	const thinking = 5.0
	switch {
	case method == http.MethodPatch:
		body["flags"] = s.flags
		s.callbacks <- map[string]any{"type": 4.0, "data": body}
	case body["type"] == thinking:
		s.flags = body["data"].(map[string]any)["flags"]
	default:
		s.callbacks <- body
	}
}

func (s *standIn) gateway(w http.ResponseWriter, r *http.Request) {
	conn, err := (&websocket.Upgrader{}).Upgrade(w, r, nil)
	if !assert.NoError(s.t, err) {
		return
	}
	defer func() { _ = conn.Close() }()
	s.socket = conn
	s.send(`{"op":10,"d":{"heartbeat_interval":41250}}`)
	for {
		var frame struct {
			Op int `json:"op"`
			D  any `json:"d"`
		}
		if conn.ReadJSON(&frame) != nil {
			return
		}
		switch frame.Op {
		case 1:
			s.send(`{"op":11}`)
		case 2:
			identify, _ := frame.D.(map[string]any)
			assert.Equal(s.t, "Bot "+standInToken, identify["token"])
			assert.EqualValues(s.t, 0, identify["intents"], "no intents are asked for")
			s.send(`{"op":0,"t":"READY","s":1,"d":{"session_id":"x","user":{"id":"` + standInApp + `"},"application":{"id":"` + standInApp + `"}}}`)
			close(s.ready)
		}
	}
}

func (s *standIn) send(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	assert.NoError(s.t, s.socket.WriteMessage(websocket.TextMessage, []byte(text)))
}

// say has the member use a command, and waits for the answer.
func (s *standIn) say(id, data string) map[string]any {
	s.t.Helper()
	s.send(`{"op":0,"t":"INTERACTION_CREATE","s":2,"d":{"id":"` + id + `","type":2,"token":"t` + id + `","application_id":"` + standInApp +
		`","guild_id":"` + guild + `","locale":"en-US","member":{"permissions":"0","user":{"id":"` + member + `","username":"very-findable-name"}},"data":` + data + `}}`)
	return await(s.t, s.callbacks, "an answer to "+data)
}

func await[T any](t *testing.T, from <-chan T, what string) T {
	t.Helper()
	select {
	case v := <-from:
		return v
	case <-time.After(20 * time.Second):
		require.Fail(t, "nothing came", what)
		panic("unreachable")
	}
}

func TestTheServerAnswersAMemberFromRegistrationToACleanEnd(t *testing.T) {
	t.Parallel()
	s := newStandIn(t)
	h := newHouse(t, "TALLYSTICK_DISCORD_API="+s.server.URL, "TALLYSTICK_DISCORD_TOKEN="+standInToken, "TALLYSTICK_LOG_LEVEL=debug")
	ctx, stop := context.WithCancel(context.Background())
	var out, log bytes.Buffer
	ended := make(chan int, 1)
	go func() { ended <- run(ctx, []string{"serve"}, h.env, strings.NewReader(""), &out, &log) }()

	names := map[string]bool{}
	for _, c := range await(t, s.registers, "the registration") {
		names[c["name"].(string)] = true
	}
	assert.Subset(t, names, map[string]bool{"price": true, "sale": true, "market": true, "help": true})

	// The figures are those of testdata/published/golden-piece.csv.
	answer := s.say("1300000000000000001", `{"id":"1","name":"price","type":1,"options":[{"name":"hours","type":3,"value":"14.25"},{"name":"materials","type":3,"value":"124.90"},`+
		`{"name":"rate","type":3,"value":"25"},{"name":"fee","type":3,"value":"2.9%"},{"name":"fixed-fee","type":3,"value":"0.30"},{"name":"haggle","type":3,"value":"12%"}]}`)
	text := asText(t, answer)
	for _, want := range []string{"128.94", "495.83", "563.45"} {
		assert.Contains(t, text, want)
	}
	assert.EqualValues(t, 64, answer["data"].(map[string]any)["flags"], "money is answered to the asker alone")

	text = asText(t, s.say("1300000000000000002", `{"id":"2","name":"sale","type":1,"options":[{"name":"share","type":1,"options":[{"name":"price","type":3,"value":"430"},{"name":"category","type":3,"value":"bench"}]}]}`))
	assert.Contains(t, text, "Preview")
	_, code, found := strings.Cut(text, "confirm with ")
	require.True(t, found, text)
	text = asText(t, s.say("1300000000000000003", `{"id":"2","name":"sale","type":1,"options":[{"name":"share","type":1,"options":[{"name":"confirm","type":3,"value":"`+code[:6]+`"}]}]}`))
	assert.Contains(t, text, "Shared")
	assert.Contains(t, asText(t, s.say("1300000000000000004", `{"id":"2","name":"sale","type":1,"options":[{"name":"mine","type":1}]}`)), "430")

	// While it runs and after its end, nothing on the disk and no line of the log
	// names who shared, or holds the token.
	noTrace := func(when string) {
		for _, name := range []string{"server.db", "server.db-wal", "server.db-shm", "server.keys"} {
			raw, err := os.ReadFile(filepath.Join(h.data, name))
			if err != nil {
				require.ErrorIs(t, err, os.ErrNotExist)
				continue
			}
			for _, trace := range []string{member, guild, "very-findable-name", standInToken} {
				assert.NotContains(t, string(raw), trace, "%s %s", name, when)
			}
		}
	}
	noTrace("while serving")
	stop()
	assert.Equal(t, exitAnswered, await(t, ended, "the end"))
	noTrace("after the end")
	said := regexp.MustCompile(`(time|took)=\S+`).ReplaceAllString(log.String(), "") // times have any digits
	for _, trace := range []string{member, guild, "very-findable-name", standInToken, "t1300000000000000001", "124.90"} {
		assert.NotContains(t, said, trace)
	}
	assert.Contains(t, log.String(), "command=price")
	assert.Contains(t, log.String(), "folder="+h.data, "it says from the root where the data is")
	assert.Empty(t, out.String())
}

func asText(t *testing.T, answer map[string]any) string {
	t.Helper()
	assert.EqualValues(t, 4, answer["type"], "answered at once")
	raw, err := json.Marshal(answer["data"])
	require.NoError(t, err)
	return string(raw)
}
