package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRegisteringSaysWhatWouldChangeAndSendsItOnlyWhenAsked(t *testing.T) {
	t.Parallel()
	c := openRegistry(t)
	code, out, errs := c.house.run("", "register", "--dry-run")
	assert.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, "added    /price\n")
	assert.Contains(t, out, "changed  /help\n")
	assert.Contains(t, out, "removed  /old\n")
	assert.Contains(t, out, "would change. Nothing was sent.\n")
	assert.Zero(t, c.sent())

	code, out, errs = c.house.run("", "register")
	assert.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, "commands sent.\n")
	assert.Equal(t, 1, c.sent())

	code, out, _ = c.house.run("", "register")
	assert.Equal(t, exitAnswered, code)
	assert.Contains(t, out, "Nothing to change")
	assert.Equal(t, 1, c.sent())
	assert.NoDirExists(t, c.house.data, "members' data is not touched")
}

func TestRegisteringWithoutATokenSaysWhereToGetOne(t *testing.T) {
	t.Parallel()
	code, _, errs := newHouse(t).run("", "register")
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, errs, "Copy the token from the portal's Bot page")
}

func TestRegisteringWithATokenThatIsRefusedIsForTheHostToPutRight(t *testing.T) {
	t.Parallel()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.WriteHeader(http.StatusUnauthorized)
		_, _ = io.WriteString(w, `{"message":"401: Unauthorized","code":0}`)
	}))
	t.Cleanup(server.Close)
	for _, token := range []string{standInToken, "two words"} {
		code, _, errs := newHouse(t, "TALLYSTICK_DISCORD_API="+server.URL, "TALLYSTICK_DISCORD_TOKEN="+token).run("", "register")
		assert.Equal(t, exitMistake, code)
		assert.Contains(t, errs, "copy it again from the Bot page")
		assert.Equal(t, 1, strings.Count(errs, "\n"), errs)
	}
}

// registry is as much of the platform as keeps commands.
type registry struct {
	house *house
	mu    sync.Mutex
	puts  int
	kept  []byte
}

func openRegistry(t *testing.T) *registry {
	r := &registry{kept: []byte(`[{"type":1,"name":"old","description":"x"},{"type":1,"name":"help","description":"another summary"}]`)}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		if strings.HasSuffix(req.URL.Path, "/applications/@me") {
			_, _ = io.WriteString(w, `{"id":"`+standInApp+`"}`)
			return
		}
		assert.Equal(t, "/api/v9/applications/"+standInApp+"/commands", req.URL.Path)
		assert.Equal(t, "Bot "+standInToken, req.Header.Get("Authorization"))
		r.mu.Lock()
		defer r.mu.Unlock()
		if req.Method == http.MethodPut {
			r.puts++
			var err error
			r.kept, err = io.ReadAll(req.Body)
			assert.NoError(t, err)
		}
		_, _ = w.Write(r.kept)
	}))
	t.Cleanup(server.Close)
	r.house = newHouse(t, "TALLYSTICK_DISCORD_API="+server.URL, "TALLYSTICK_DISCORD_TOKEN="+standInToken)
	return r
}

func (r *registry) sent() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.puts
}
