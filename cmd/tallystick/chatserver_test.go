package main

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// chatServer is the platform as members use it: they type, pick, fill in and press,
// and see what the bot makes of it. The bot is reached over the gateway or by
// signed requests; it is a whole run of the program and can be ended and begun anew.
type chatServer struct {
	t      *testing.T
	api    *httptest.Server
	byHTTP bool
	key    ed25519.PrivateKey
	env    *house

	// fails, when set, answers a request of the bot with that status instead.
	fails atomic.Pointer[func(path string) int]

	mu     sync.Mutex
	socket *websocket.Conn
	seq    int
	sent   map[string]chan shown // by interaction token
	log    bytes.Buffer

	serial atomic.Int64
	stop   context.CancelFunc
	ended  chan int
	up     chan string // the door's address, or "" for the gateway
	door   string
}

// shown is what an answer puts before a member.
type shown struct {
	t      *testing.T
	kind   float64 // 4 new, 5 and 6 later, 7 in place, 8 choices, 9 form; 0 behind the first
	body   map[string]any
	files  map[string][]byte
	path   string
	method string
	// under is the message that a form was opened from, nil where it was typed.
	under map[string]any
}

func openChatServer(t *testing.T, byHTTP bool) *chatServer {
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	c := &chatServer{t: t, byHTTP: byHTTP, key: private, sent: map[string]chan shown{}}
	c.api = httptest.NewServer(http.HandlerFunc(c.answer))
	t.Cleanup(c.api.Close)
	settings := []string{"TALLYSTICK_DISCORD_API=" + c.api.URL, "TALLYSTICK_DISCORD_TOKEN=" + standInToken, "TALLYSTICK_LOG_LEVEL=debug"}
	if byHTTP {
		settings = append(settings, "TALLYSTICK_DISCORD_HTTP=0", "TALLYSTICK_DISCORD_PUBLIC_KEY="+hex.EncodeToString(public))
	}
	c.env = newHouse(t, settings...)
	t.Cleanup(func() {
		c.endBot()
		c.mu.Lock()
		defer c.mu.Unlock()
		for _, secret := range []string{standInToken, "secret-token-of", member, guild, "very-findable-name"} {
			assert.NotContains(t, c.log.String(), secret)
		}
	})
	return c
}

// Write takes the bot's log, and learns from it where the door is.
func (c *chatServer) Write(p []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.log.Write(p)
	if _, rest, ok := strings.Cut(string(p), "listening for interactions\" address="); ok {
		c.up <- strings.Fields(rest)[0]
	}
	return len(p), nil
}

// beginBot starts the program and waits until it serves.
func (c *chatServer) beginBot() {
	c.t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	c.stop, c.ended, c.up = stop, make(chan int, 1), make(chan string, 1)
	ended := c.ended
	go func() { ended <- run(ctx, []string{"serve"}, c.env.env, strings.NewReader(""), io.Discard, c) }()
	c.waitUp()
}

func (c *chatServer) waitUp() {
	c.t.Helper()
	c.door = await(c.t, c.up, "the bot at its door")
}

func (c *chatServer) endBot() {
	if c.stop == nil {
		return
	}
	c.stop()
	c.stop = nil
	assert.Equal(c.t, exitAnswered, await(c.t, c.ended, "the end"))
}

func (c *chatServer) answer(w http.ResponseWriter, r *http.Request) {
	path := strings.TrimPrefix(r.URL.Path, "/api/v9")
	body, err := io.ReadAll(r.Body)
	if errors.Is(err, io.ErrUnexpectedEOF) && strings.HasSuffix(path, "/commands") {
		return // the bot was told to stop while it registered
	}
	assert.NoError(c.t, err, path)
	if fails := c.fails.Load(); fails != nil {
		if status := (*fails)(path); status != 0 {
			w.WriteHeader(status)
			return
		}
	}
	w.Header().Set("Content-Type", "application/json")
	parts := strings.Split(strings.Trim(path, "/"), "/")
	switch {
	case path == "/gateway":
		_, _ = io.WriteString(w, `{"url":"ws`+strings.TrimPrefix(c.api.URL, "http")+`/socket"}`)
	case strings.HasPrefix(r.URL.Path, "/socket"):
		c.gateway(w, r)
	case path == "/applications/@me":
		_, _ = io.WriteString(w, `{"id":"`+standInApp+`"}`)
	case path == "/applications/"+standInApp+"/commands":
		_, _ = io.WriteString(w, "[]")
	case len(parts) >= 3 && (parts[0] == "interactions" || parts[0] == "webhooks"):
		c.show(parts[2], c.unpack(r, body, path))
		_, _ = io.WriteString(w, `{"id":"1","content":""}`)
	default:
		assert.Fail(c.t, "the chat server does not know this request", "%s %s", r.Method, r.URL)
		w.WriteHeader(http.StatusTeapot)
	}
}

func (c *chatServer) unpack(r *http.Request, body []byte, path string) shown {
	s := shown{t: c.t, path: path, method: r.Method, files: map[string][]byte{}}
	if media, options, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); media == "multipart/form-data" {
		for parts := multipart.NewReader(bytes.NewReader(body), options["boundary"]); ; {
			part, err := parts.NextPart()
			if err != nil {
				break
			}
			content, err := io.ReadAll(part)
			assert.NoError(c.t, err)
			if part.FormName() == "payload_json" {
				body = content
			} else {
				s.files[part.FileName()] = content
			}
		}
	}
	return s.with(body)
}

func (s shown) with(body []byte) shown {
	var whole map[string]any
	if len(body) > 0 {
		require.NoError(s.t, json.Unmarshal(body, &whole))
	}
	s.body = whole
	if strings.HasSuffix(s.path, "/callback") {
		s.kind, _ = whole["type"].(float64)
		s.body, _ = whole["data"].(map[string]any)
	}
	return s
}

func (c *chatServer) show(token string, s shown) {
	c.mu.Lock()
	defer c.mu.Unlock()
	to := c.sent[token]
	if !assert.NotNil(c.t, to, "an answer to nothing that was asked: %s", s.path) {
		return
	}
	to <- s
}

func (c *chatServer) gateway(w http.ResponseWriter, r *http.Request) {
	conn, err := (&websocket.Upgrader{}).Upgrade(w, r, nil)
	if !assert.NoError(c.t, err) {
		return
	}
	defer func() { _ = conn.Close() }()
	c.mu.Lock()
	c.socket = conn
	c.mu.Unlock()
	c.push(`{"op":10,"d":{"heartbeat_interval":41250}}`)
	for {
		var frame struct{ Op int }
		if conn.ReadJSON(&frame) != nil {
			return
		}
		switch frame.Op {
		case 1:
			c.push(`{"op":11}`)
		case 2:
			c.event("READY", `{"session_id":"x","user":{"id":"`+standInApp+`"},"application":{"id":"`+standInApp+`"}}`)
			c.up <- ""
		case 6:
			c.event("RESUMED", `{}`)
			c.up <- ""
		}
	}
}

func (c *chatServer) push(text string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	_ = c.socket.WriteMessage(websocket.TextMessage, []byte(text))
}

func (c *chatServer) event(name, data string) {
	c.mu.Lock()
	c.seq++
	seq := c.seq
	c.mu.Unlock()
	c.push(fmt.Sprintf(`{"op":0,"t":%q,"s":%d,"d":%s}`, name, seq, data))
}

// cut drops the line, and waits until the bot is back on another.
func (c *chatServer) cut() {
	c.t.Helper()
	c.mu.Lock()
	_ = c.socket.Close()
	c.mu.Unlock()
	c.waitUp()
}

// interaction is one as the platform brings it.
type interaction struct {
	token string
	body  []byte
}

func (c *chatServer) interaction(who string, kind int, data, message map[string]any) interaction {
	const epoch = 1420070400000
	id := strconv.FormatInt((time.Now().UnixMilli()-epoch)<<22|c.serial.Add(1), 10)
	i := interaction{token: "secret-token-of-" + id}
	whole := map[string]any{"id": id, "type": kind, "token": i.token, "application_id": standInApp, "guild_id": guild, "locale": "en-US",
		"member": map[string]any{"permissions": "0", "user": map[string]any{"id": who, "username": "very-findable-name"}}, "data": data}
	if message != nil {
		whole["message"] = message
	}
	var err error
	i.body, err = json.Marshal(whole)
	require.NoError(c.t, err)
	c.mu.Lock()
	c.sent[i.token] = make(chan shown, 20)
	c.mu.Unlock()
	return i
}

// bring hands an interaction over and gives the first answer to it.
func (c *chatServer) bring(i interaction) shown {
	c.t.Helper()
	if !c.byHTTP {
		c.event("INTERACTION_CREATE", string(i.body))
		return c.next(i)
	}
	req, err := http.NewRequestWithContext(context.Background(), http.MethodPost, "http://"+c.door+"/", bytes.NewReader(i.body))
	require.NoError(c.t, err)
	stamp := fmt.Sprint(time.Now().Unix())
	req.Header.Set("X-Signature-Timestamp", stamp)
	req.Header.Set("X-Signature-Ed25519", hex.EncodeToString(ed25519.Sign(c.key, append([]byte(stamp), i.body...))))
	resp, err := http.DefaultClient.Do(req)
	require.NoError(c.t, err)
	defer func() { _ = resp.Body.Close() }()
	body, err := io.ReadAll(resp.Body)
	require.NoError(c.t, err)
	require.Equal(c.t, http.StatusOK, resp.StatusCode, "%s", body)
	return shown{t: c.t, path: "/callback"}.with(body)
}

// next is the next that the bot sends for an interaction.
func (c *chatServer) next(i interaction) shown {
	c.t.Helper()
	c.mu.Lock()
	from := c.sent[i.token]
	c.mu.Unlock()
	return await(c.t, from, "an answer")
}

// settled waits for what a first answer only announces. Who sees it was said there.
func (c *chatServer) settled(i interaction, s shown) shown {
	c.t.Helper()
	if s.kind != 5 && s.kind != 6 {
		return s
	}
	late := c.next(i)
	if late.method == http.MethodPatch && s.kind == 5 && s.body != nil {
		late.body["flags"] = s.body["flags"]
	}
	late.kind = map[bool]float64{true: 7, false: 4}[s.kind == 6 && late.method == http.MethodPatch]
	return late
}

// types is a command as a member types it.
func (c *chatServer) types(who, path string, options map[string]string) shown {
	c.t.Helper()
	i := c.interaction(who, 2, commandData(path, options, ""), nil)
	return c.settled(i, c.bring(i))
}

// completes is what is offered while an option is typed.
func (c *chatServer) completes(who, path, option, typed string) []string {
	c.t.Helper()
	s := c.bring(c.interaction(who, 4, commandData(path, map[string]string{option: typed}, option), nil))
	require.EqualValues(c.t, 8, s.kind)
	var values []string
	for _, ch := range s.body["choices"].([]any) {
		values = append(values, ch.(map[string]any)["value"].(string))
	}
	return values
}

func commandData(path string, options map[string]string, focused string) map[string]any {
	words := strings.Fields(path)
	leaves := []any{}
	for name, value := range options {
		leaf := map[string]any{"type": 3, "name": name, "value": value}
		if name == focused {
			leaf["focused"] = true
		}
		leaves = append(leaves, leaf)
	}
	for i := len(words) - 1; i > 0; i-- {
		leaves = []any{map[string]any{"type": map[bool]int{true: 1, false: 2}[i == len(words)-1], "name": words[i], "options": leaves}}
	}
	return map[string]any{"id": "5", "type": 1, "name": words[0], "options": leaves}
}

// press is a button under a card, pressed.
func (c *chatServer) press(who string, card shown, label string) interaction {
	c.t.Helper()
	id, ok := card.buttons()[label]
	require.True(c.t, ok, "no %q under %s; there is %v", label, card.text(), card.buttons())
	return c.interaction(who, 3, map[string]any{"component_type": 2, "custom_id": id}, card.message())
}

// message is a card as the platform hands it over with what is done to it.
func (s shown) message() map[string]any { return map[string]any{"id": "77", "flags": s.body["flags"]} }

func (c *chatServer) presses(who string, card shown, label string) shown {
	c.t.Helper()
	i := c.press(who, card, label)
	s := c.settled(i, c.bring(i))
	s.under = card.message()
	return s.where(card.body["flags"])
}

// where gives what stands where a card stood to the same eyes.
func (s shown) where(flags any) shown {
	if s.kind == 7 {
		s.body["flags"] = flags
	}
	return s
}

// fills is a form with its fields filled in.
func (c *chatServer) fills(who string, form shown, values map[string]string) shown {
	c.t.Helper()
	require.EqualValues(c.t, 9, form.kind, "%s is no form", form.text())
	fields := form.fields()
	var rows []any
	for name, standing := range fields {
		if text, ok := values[name]; ok {
			standing = text
		}
		rows = append(rows, map[string]any{"type": 1, "components": []any{map[string]any{"type": 4, "custom_id": name, "value": standing}}})
	}
	for name := range values {
		require.Contains(c.t, fields, name, "the form does not ask for it")
	}
	i := c.interaction(who, 5, map[string]any{"custom_id": form.body["custom_id"], "components": rows}, form.under)
	return c.settled(i, c.bring(i)).where(form.under["flags"])
}

// fields are a form's values by their names.
func (s shown) fields() map[string]string {
	out := map[string]string{}
	for _, row := range s.body["components"].([]any) {
		input := row.(map[string]any)["components"].([]any)[0].(map[string]any)
		out[input["custom_id"].(string)], _ = input["value"].(string)
	}
	return out
}

func (s shown) buttons() map[string]string {
	out := map[string]string{}
	rows, _ := s.body["components"].([]any)
	for _, row := range rows {
		for _, b := range row.(map[string]any)["components"].([]any) {
			if label, ok := b.(map[string]any)["label"].(string); ok {
				out[label], _ = b.(map[string]any)["custom_id"].(string)
			}
		}
	}
	return out
}

// text is everything the answer says.
func (s shown) text() string {
	raw, err := json.Marshal(s.body)
	require.NoError(s.t, err)
	return string(raw)
}

func (s shown) hidden() bool {
	flags, _ := s.body["flags"].(float64)
	return int(flags)&64 != 0
}
