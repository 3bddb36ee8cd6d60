package discord

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	fakeToken       = "bot.token.for-tests.0123456789abcdefghijklmnopqrstuvwxyz"
	fakeApplication = "900000000000000001"
	// patience is how long a test waits for what must happen.
	patience = 20 * time.Second
)

// fake is the platform on a loopback port: its REST API and its gateway. It fails
// the test on a request that it does not know, and on a callback or webhook
// request that the test has not looked at.
type fake struct {
	t      *testing.T
	server *httptest.Server
	// calls are the callbacks and webhook requests in the order they arrived.
	calls chan call
	// frames are what the gateway's clients have sent, without heartbeats.
	frames chan frame
	// script, when set, talks to the n-th gateway client (from 0) instead of the
	// fake's own manners. When it returns true the fake goes on from there.
	script func(n int, c *client) bool
	// delivered, when set, is asked before a callback or webhook request is answered.
	delivered func(call) *answer

	clients atomic.Int64
	newest  atomic.Pointer[client]

	mu         sync.Mutex
	registered json.RawMessage
	puts       int
	reads      int
	// sent are the files of members that the fake keeps, by their path.
	sent map[string]string
	// fetched, when set, is told before one of them is handed over.
	fetched func()
	// registry, when set, answers the requests about commands.
	registry func(method string) *answer
	// readyWithout leaves the application out of READY.
	readyWithout bool
}

// call is one callback or webhook request.
type call struct {
	Method, Path string
	Body         map[string]any
	// Files are what came in parts beside the body, by name.
	Files map[string]string
	At    time.Time
}

// answer is what the fake says instead of a success.
type answer struct {
	status int
	body   string
	header map[string]string
}

type frame struct {
	Client int
	Op     int            `json:"op"`
	Data   map[string]any `json:"d"`
	At     time.Time
}

type client struct {
	f    *fake
	n    int
	conn *websocket.Conn
	mu   sync.Mutex
	seq  int
	// goodbye is the code of the close frame the client sent, -1 without one.
	goodbye chan int
}

func newFake(t *testing.T) *fake {
	f := &fake{t: t, calls: make(chan call, 2000), frames: make(chan frame, 2000), registered: json.RawMessage("[]")}
	f.server = httptest.NewServer(http.HandlerFunc(f.handle))
	t.Cleanup(func() {
		f.server.CloseClientConnections()
		f.server.Close()
		for {
			select {
			case c := <-f.calls:
				assert.Fail(t, "a request that the test does not expect", "%s %s %v", c.Method, c.Path, c.Body)
				continue
			default:
			}
			return
		}
	})
	return f
}

func (f *fake) handle(w http.ResponseWriter, r *http.Request) {
	path, ok := strings.CutPrefix(r.URL.Path, "/api/v9")
	switch {
	case r.URL.Path == "/socket/":
		f.gateway(w, r)
	case r.Method == http.MethodGet && f.sent[r.URL.Path] != "":
		assert.Empty(f.t, r.Header.Get("Authorization"), "no token goes for a file")
		if f.fetched != nil {
			f.fetched()
		}
		_, _ = io.WriteString(w, f.sent[r.URL.Path])
	case !ok:
		f.unexpected(w, r)
	case r.Method == http.MethodGet && path == "/gateway":
		reply(w, http.StatusOK, `{"url":"ws`+strings.TrimPrefix(f.server.URL, "http")+`/socket"}`)
	case path == "/applications/"+fakeApplication+"/commands":
		f.commands(w, r)
	case r.Method == http.MethodGet && path == "/applications/@me":
		f.wantToken(r)
		reply(w, http.StatusOK, `{"id":"`+fakeApplication+`"}`)
	case r.Method == http.MethodPost && strings.HasPrefix(path, "/interactions/") && strings.HasSuffix(path, "/callback"),
		r.Method == http.MethodPatch && strings.HasSuffix(path, "/messages/@original") && strings.HasPrefix(path, "/webhooks/"+fakeApplication+"/"),
		r.Method == http.MethodDelete && strings.HasSuffix(path, "/messages/@original") && strings.HasPrefix(path, "/webhooks/"+fakeApplication+"/"),
		r.Method == http.MethodPost && strings.HasPrefix(path, "/webhooks/"+fakeApplication+"/") && strings.Count(path, "/") == 3:
		f.message(w, r, path)
	default:
		f.unexpected(w, r)
	}
}

func (f *fake) unexpected(w http.ResponseWriter, r *http.Request) {
	assert.Fail(f.t, "the fake does not know this request", "%s %s", r.Method, r.URL)
	w.WriteHeader(http.StatusTeapot)
}

func (f *fake) wantToken(r *http.Request) {
	assert.Equal(f.t, "Bot "+fakeToken, r.Header.Get("Authorization"), r.URL.Path)
}

func reply(w http.ResponseWriter, status int, body string) {
	w.Header().Set("Content-Type", "application/json")
	exhaust(w)
	w.WriteHeader(status)
	_, _ = io.WriteString(w, body)
}

// exhaust tells the client that its limit is used up for an hour.
func exhaust(w http.ResponseWriter) {
	w.Header().Set("X-RateLimit-Remaining", "0")
	w.Header().Set("X-RateLimit-Reset-After", "3600")
}

func (f *fake) commands(w http.ResponseWriter, r *http.Request) {
	f.wantToken(r)
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.registry != nil {
		if a := f.registry(r.Method); a != nil {
			reply(w, a.status, a.body)
			return
		}
	}
	switch r.Method {
	case http.MethodGet:
		f.reads++
		reply(w, http.StatusOK, string(f.registered))
	case http.MethodPut:
		body, err := io.ReadAll(r.Body)
		assert.NoError(f.t, err)
		checkBody(f.t, commandsSchema, body)
		f.puts++
		f.registered = asKept(f.t, body)
		reply(w, http.StatusOK, string(f.registered))
	default:
		assert.Fail(f.t, "the fake does not know this request", "%s %s", r.Method, r.URL)
	}
}

// asKept is a registration as the platform gives it back: with ids, versions and
// defaults, and in an order of its own.
func asKept(t *testing.T, body []byte) json.RawMessage {
	var list []map[string]any
	require.NoError(t, json.Unmarshal(body, &list))
	kept := make([]map[string]any, len(list))
	for i, c := range list {
		c["id"], c["application_id"], c["version"] = fmt.Sprint(7000+i), fakeApplication, "1"
		c["default_member_permissions"], c["nsfw"], c["dm_permission"] = nil, false, true
		c["integration_types"], c["name_localizations"] = []int{0}, nil
		kept[len(list)-1-i] = c
	}
	out, err := json.Marshal(kept)
	require.NoError(t, err)
	return out
}

func (f *fake) message(w http.ResponseWriter, r *http.Request, path string) {
	assert.Empty(f.t, r.Header.Get("Authorization"), "the bot token does not belong on %s", path)
	raw, err := io.ReadAll(r.Body)
	assert.NoError(f.t, err)
	c := call{Method: r.Method, Path: path, At: time.Now()}
	if media, options, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); media == "multipart/form-data" {
		raw, c.Files = f.unpack(raw, options["boundary"])
	}
	if len(raw) > 0 {
		assert.NoError(f.t, json.Unmarshal(raw, &c.Body))
	}
	f.checkMessage(c, raw)
	var a *answer
	if f.delivered != nil {
		a = f.delivered(c)
	}
	f.calls <- c
	switch {
	case a != nil:
		for name, value := range a.header {
			w.Header().Set(name, value)
		}
		reply(w, a.status, a.body)
	case r.Method == http.MethodDelete || strings.HasSuffix(path, "/callback"):
		exhaust(w)
		w.WriteHeader(http.StatusNoContent)
	default:
		reply(w, http.StatusOK, `{"id":"1","content":""}`)
	}
}

// unpack parts a multipart body into its JSON and its files.
func (f *fake) unpack(raw []byte, boundary string) (body []byte, files map[string]string) {
	files = map[string]string{}
	for parts := multipart.NewReader(bytes.NewReader(raw), boundary); ; {
		part, err := parts.NextPart()
		if err != nil {
			assert.ErrorIs(f.t, err, io.EOF)
			return body, files
		}
		content, err := io.ReadAll(part)
		assert.NoError(f.t, err)
		if part.FormName() == "payload_json" {
			body = content
			continue
		}
		assert.Equal(f.t, fmt.Sprintf("files[%d]", len(files)), part.FormName())
		files[part.FileName()] = part.Header.Get("Content-Type") + " " + string(content)
	}
}

// checkMessage holds what is true of every body: the platform's own description,
// its limits, and that nobody can be pinged.
func (f *fake) checkMessage(c call, raw []byte) {
	body := c.Body
	switch {
	case c.Method == http.MethodDelete:
		assert.Empty(f.t, raw)
		return
	case strings.HasSuffix(c.Path, "/callback"):
		checkBody(f.t, callbackSchema(f.t, body["type"]), raw)
		if body["type"] == 8.0 {
			assert.IsType(f.t, []any{}, body["data"].(map[string]any)["choices"], "choices must be a list, also when empty")
			return
		}
		if body["data"] == nil {
			assert.Contains(f.t, []any{5.0, 6.0}, body["type"])
			return
		}
		if body["type"] == 9.0 {
			checkModal(f.t, body["data"].(map[string]any))
			return
		}
		body = body["data"].(map[string]any)
	case c.Method == http.MethodPatch:
		checkBody(f.t, editSchema, raw)
	default:
		checkBody(f.t, followSchema, raw)
	}
	assert.Equal(f.t, map[string]any{"parse": []any{}, "replied_user": false}, body["allowed_mentions"], "of %s", c.Path)
	checkLimits(f.t, body)
}

func (f *fake) gateway(w http.ResponseWriter, r *http.Request) {
	assert.Equal(f.t, "json", r.URL.Query().Get("encoding"))
	upgrader := websocket.Upgrader{}
	conn, err := upgrader.Upgrade(w, r, nil)
	if !assert.NoError(f.t, err) {
		return
	}
	defer func() { _ = conn.Close() }()
	c := &client{f: f, n: int(f.clients.Add(1)) - 1, conn: conn, goodbye: make(chan int, 1)}
	f.newest.Store(c)
	if f.script != nil && !f.script(c.n, c) {
		return
	}
	if f.script == nil {
		c.write(`{"op":10,"d":{"heartbeat_interval":41250}}`)
	}
	c.listen()
}

// listen answers as the platform does until the connection ends.
func (c *client) listen() {
	for {
		fr, ok := c.read()
		if !ok {
			return
		}
		switch fr.Op {
		case 1:
			c.write(`{"op":11}`)
		case 2:
			c.ready()
		case 6:
			c.dispatch("RESUMED", `{}`)
		}
	}
}

func (c *client) ready() {
	application := `,"application":{"id":"` + fakeApplication + `"}`
	if c.f.readyWithout {
		application = ""
	}
	c.dispatch("READY", `{"v":9,"session_id":"session-`+fmt.Sprint(c.n)+`","user":{"id":"`+fakeApplication+`"}`+application+`}`)
}

// read gives the next frame; false when the connection has ended.
func (c *client) read() (frame, bool) {
	_, raw, err := c.conn.ReadMessage()
	if err != nil {
		code := -1
		if closed, ok := err.(*websocket.CloseError); ok {
			code = closed.Code
		}
		c.goodbye <- code
		return frame{}, false
	}
	fr := frame{Client: c.n, At: time.Now()}
	var head struct {
		Op int             `json:"op"`
		D  json.RawMessage `json:"d"`
	}
	assert.NoError(c.f.t, json.Unmarshal(raw, &head))
	fr.Op = head.Op
	if head.Op != 1 {
		assert.NoError(c.f.t, json.Unmarshal(head.D, &fr.Data))
		c.f.checkGreeting(fr)
		c.f.frames <- fr
	}
	return fr, true
}

func (f *fake) checkGreeting(fr frame) {
	switch fr.Op {
	case 2:
		assert.Equal(f.t, "Bot "+fakeToken, fr.Data["token"])
		assert.Equal(f.t, 0.0, fr.Data["intents"])
	case 6:
		assert.Equal(f.t, "Bot "+fakeToken, fr.Data["token"])
		assert.Contains(f.t, fr.Data["session_id"], "session-")
	default:
		assert.Fail(f.t, "the fake does not know this frame", "op %d", fr.Op)
	}
}

func (c *client) write(text string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	_ = c.conn.WriteMessage(websocket.TextMessage, []byte(text))
}

func (c *client) dispatch(event, data string) {
	c.mu.Lock()
	c.seq++
	seq := c.seq
	c.mu.Unlock()
	c.write(fmt.Sprintf(`{"op":0,"t":%q,"s":%d,"d":%s}`, event, seq, data))
}

func (c *client) hang(code int) {
	_ = c.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, ""), time.Now().Add(time.Second))
	_ = c.conn.Close()
}

// next is the next callback or webhook request.
func (f *fake) next() call {
	f.t.Helper()
	select {
	case c := <-f.calls:
		return c
	case <-time.After(patience):
		require.FailNow(f.t, "no request came")
		return call{}
	}
}

// quiet fails when a request has come that was not looked at.
func (f *fake) quiet() {
	f.t.Helper()
	select {
	case c := <-f.calls:
		assert.Fail(f.t, "a request too many", "%s %s %v", c.Method, c.Path, c.Body)
	default:
	}
}

// greeting is the next IDENTIFY (2) or RESUME (6).
func (f *fake) greeting() frame {
	f.t.Helper()
	select {
	case fr := <-f.frames:
		return fr
	case <-time.After(patience):
		require.FailNow(f.t, "no greeting came")
		return frame{}
	}
}
