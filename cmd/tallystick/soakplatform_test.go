package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// soakPlatform is the platform for as long as one likes: it keeps nothing of what
// was answered.
type soakPlatform struct{ *generator }

func newSoakPlatform(t *testing.T) *soakPlatform {
	p := &soakPlatform{&generator{t: t, ready: make(chan struct{}, 1)}}
	p.api = httptest.NewServer(http.HandlerFunc(p.answer))
	t.Cleanup(p.api.Close)
	return p
}

func (p *soakPlatform) answer(w http.ResponseWriter, r *http.Request) {
	path := strings.TrimPrefix(r.URL.Path, "/api/v9")
	if strings.HasPrefix(r.URL.Path, "/socket") {
		p.gateway(w, r)
		return
	}
	raw, _ := io.ReadAll(r.Body)
	w.Header().Set("Content-Type", "application/json")
	parts := strings.Split(strings.Trim(path, "/"), "/")
	switch {
	case path == "/gateway":
		_, _ = io.WriteString(w, `{"url":"ws://`+r.Host+`/socket"}`)
	case len(parts) >= 3 && (parts[0] == "interactions" || parts[0] == "webhooks"):
		body := withoutFiles(r.Header.Get("Content-Type"), raw)
		_, id, _ := strings.Cut(parts[2], "token-")
		// What only says that the answer comes later is none, and so is what
		// follows a first part.
		if !bytes.HasPrefix(body, []byte(`{"type":5`)) && !bytes.HasPrefix(body, []byte(`{"type":6`)) {
			if c, ok := p.asked.LoadAndDelete(id); ok {
				c.(chan string) <- string(body)
			}
		}
		_, _ = io.WriteString(w, `{"id":"1","content":""}`)
	default:
		_, _ = io.WriteString(w, "[]")
	}
}

// withoutFiles gives the JSON of a body.
func withoutFiles(contentType string, raw []byte) []byte {
	media, options, err := mime.ParseMediaType(contentType)
	if err != nil || media != "multipart/form-data" {
		return raw
	}
	for parts := multipart.NewReader(bytes.NewReader(raw), options["boundary"]); ; {
		part, err := parts.NextPart()
		if err != nil {
			return nil
		}
		if part.FormName() == "payload_json" {
			body, _ := io.ReadAll(part)
			return body
		}
	}
}

// errUnanswered is an interaction that nothing was heard of.
var errUnanswered = errors.New("not answered within 30 seconds")

// ask sends a command of a member and gives what the answer says.
func (p *soakPlatform) ask(guild, who, path string, options map[string]string) (string, error) {
	const epoch = 1420070400000
	n := p.serial.Add(1)
	id := strconv.FormatInt((time.Now().UnixMilli()-epoch)<<22|n&0x3fffff, 10)
	data, err := json.Marshal(commandData(path, options, ""))
	if err != nil {
		return "", err
	}
	answered := make(chan string, 1)
	p.asked.Store(id, answered)
	p.push(`{"op":0,"t":"INTERACTION_CREATE","s":` + strconv.FormatInt(n+1, 10) + `,"d":{"id":"` + id + `","type":2,"token":"token-` + id + `","application_id":"` + standInApp +
		`","guild_id":"` + guild + `","locale":"en-US","member":{"permissions":"0","user":{"id":"` + who + `","username":"ann"}},"data":` + string(data) + `}}`)
	late := time.NewTimer(30 * time.Second)
	defer late.Stop()
	select {
	case text := <-answered:
		return text, nil
	case <-late.C:
		p.asked.Delete(id)
		return "", errUnanswered
	}
}

// startSoaked starts the program in a process of its own, with its log in log.
func startSoaked(t *testing.T, data string, log io.Writer) (*soakPlatform, *child) {
	p := newSoakPlatform(t)
	c := &child{generator: p.generator, process: selfAs(t, "soak", "TALLYSTICK_DATA="+data, "TALLYSTICK_LOG_LEVEL=warn",
		// A member here asks faster than a person does.
		"TALLYSTICK_MEMBER_BURST=100000", "TALLYSTICK_MEMBER_EVERY=1ms", "TALLYSTICK_COMMUNITY_BURST=100000", "TALLYSTICK_COMMUNITY_EVERY=1ms",
		"TALLYSTICK_DISCORD_API="+p.api.URL, "TALLYSTICK_DISCORD_TOKEN="+standInToken)}
	c.process.Stderr = log
	var err error
	c.in, err = c.process.StdinPipe()
	require.NoError(t, err)
	c.out, err = c.process.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.process.Start())
	await(t, p.ready, "the program")
	return p, c
}
