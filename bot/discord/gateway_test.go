package discord

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

const hello = `{"op":10,"d":{"heartbeat_interval":41250}}`

func length() commands.Command {
	return saying("length", always(commands.Reply{Title: "x"}))
}

// serves checks that the bot answers over its newest connection.
func (r *running) serves() {
	r.t.Helper()
	r.deliver(asked("length", nil))
	title, _ := r.next().message()
	assert.Equal(r.t, "x", title)
}

func TestAReconnectRequestIsFollowedByAResume(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, length())
	r.newest.Load().write(`{"op":7,"d":null}`)
	resumed := r.greeting()
	assert.Equal(t, 6, resumed.Op)
	assert.Equal(t, "session-0", resumed.Data["session_id"])
	assert.Equal(t, 1.0, resumed.Data["seq"])
	r.waitForLog("again=true")
	r.serves()
}

func TestAConnectionThatBreaksIsResumed(t *testing.T) {
	t.Parallel()
	for _, code := range []int{1001, 4000, 4009} {
		t.Run(fmt.Sprint(code), func(t *testing.T) {
			t.Parallel()
			r := serve(t, nil, length())
			r.newest.Load().hang(code)
			assert.Equal(t, 6, r.greeting().Op)
			r.waitForLog("again=true")
			r.serves()
		})
	}
}

func TestASessionThePlatformHasForgottenIsBegunAnew(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.script = func(n int, c *client) bool {
		c.write(hello)
		if n == 1 {
			fr, ok := c.read()
			assert.True(f.t, ok)
			assert.Equal(f.t, 6, fr.Op)
			c.write(`{"op":9,"d":false}`)
		}
		return true
	}
	r := start(t, f, nil, length())
	assert.Equal(t, 2, r.greeting().Op)
	r.waitForLog("connected")
	r.newest.Load().hang(4000)
	assert.Equal(t, 6, r.greeting().Op)
	assert.Equal(t, 2, r.greeting().Op)
	r.waitForLog("again=true")
	r.serves()
}

func TestSilenceIsNoticedAndTheSessionResumed(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.script = func(n int, c *client) bool {
		if n > 0 {
			c.write(hello)
			return true
		}
		c.write(hello)
		fr, _ := c.read()
		assert.Equal(f.t, 2, fr.Op)
		c.ready()
		for { // hears all and says nothing
			if _, ok := c.read(); !ok {
				return false
			}
		}
	}
	r := start(t, f, func(c *Config) { c.Timing.Idle = 300 * time.Millisecond }, length())
	assert.Equal(t, 2, r.greeting().Op)
	r.waitForLog("connected")
	first := r.newest.Load()
	assert.Equal(t, 6, r.greeting().Op, "the session is resumed, so it was not ended")
	assert.NotEqual(t, 1000, <-first.goodbye)
}

func TestAConnectionThatNeverSaysHelloIsGivenUpAndTriedAgain(t *testing.T) {
	t.Parallel()
	for name, first := range map[string]string{
		"nothing":                    "",
		"a reconnect request":        hello + `{"op":7}`,
		"an answer to a heartbeat":   hello + `{"op":11}`,
		"something else":             `{"op":11}`,
		"what cannot be read":        `hello?`,
		"nothing that can be opened": `null`,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := newFake(t)
			f.script = func(n int, c *client) bool {
				if n > 0 {
					c.write(hello)
					return true
				}
				if len(first) > len(hello) {
					c.write(hello)
					c.read()
					c.write(first[len(hello):])
				} else if first != "" {
					c.write(first)
				}
				c.read()
				return false
			}
			r := start(t, f, func(c *Config) { c.Timing.Open = 200 * time.Millisecond }, length())
			r.waitForLog("connected")
			assert.Contains(t, r.log.String(), "the gateway connection failed")
			r.serves()
		})
	}
}

func TestAGatewayThatAlwaysForgetsTheSessionIsNotGreetedWithoutEnd(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.script = func(_ int, c *client) bool {
		c.write(hello)
		for {
			if _, ok := c.read(); !ok {
				return false
			}
			c.write(`{"op":9,"d":false}`)
		}
	}
	r := start(t, f, nil, length())
	for range greetingsAtOnce {
		assert.Equal(t, 2, r.greeting().Op)
	}
	r.waitForLog("too many greetings")
	select {
	case <-f.frames:
		assert.Fail(t, "a greeting too many")
	case <-time.After(100 * time.Millisecond): // long for a gateway that answers at once
	}
}

func TestGreetingsKeepTheirDistance(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.script = func(n int, c *client) bool {
		c.write(hello)
		if n == 0 {
			c.read()
			c.write(`{"op":9,"d":false}`)
		}
		return true
	}
	r := start(t, f, func(c *Config) { c.Timing.Greeting = 300 * time.Millisecond }, length())
	first, second := r.greeting(), r.greeting()
	assert.Equal(t, first.Client, second.Client)
	assert.GreaterOrEqual(t, second.At.Sub(first.At), 290*time.Millisecond)
	r.waitForLog("connected")
}

func TestWhatCannotBePutRightByTryingAgainEndsTheRunWithASentence(t *testing.T) {
	t.Parallel()
	const token = "the bot token is not accepted: copy it again from the Bot page of the developer portal"
	for code, want := range map[int]string{
		4004: token,
		4010: "the bot is in more servers than the platform serves over so few connections: raise the number of shards",
		4011: "the bot is in more servers than the platform serves over so few connections: raise the number of shards",
		4012: "the platform no longer takes this version of its gateway: leave the version out of the API address, or update tallystick",
		4013: "the platform refuses the intents, though none are asked for: update tallystick",
		4014: "the platform refuses the intents, though none are asked for: update tallystick",
	} {
		t.Run(fmt.Sprint(code), func(t *testing.T) {
			t.Parallel()
			f := newFake(t)
			f.script = func(_ int, c *client) bool {
				c.write(hello)
				c.read()
				c.hang(code)
				return false
			}
			r := start(t, f, nil, length())
			require.EqualError(t, r.stopped(), want)
			assert.EqualValues(t, 1, f.clients.Load(), "no second attempt")
		})
	}
}

func TestATokenTakenBackWhileServingEndsTheRun(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.script = func(n int, c *client) bool {
		c.write(hello)
		if n > 0 {
			c.read()
			c.hang(4004)
			return false
		}
		return true
	}
	r := start(t, f, nil, length())
	r.waitForLog("connected")
	r.newest.Load().hang(4004)
	require.ErrorIs(t, r.stopped(), errToken)
}

func TestAnAPIThatIsDownIsTriedUntilItIsUp(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	ups := 0
	inner := f.server.Config.Handler
	f.server.Config.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/api/v9/gateway" {
			if ups++; ups < 5 {
				w.WriteHeader(http.StatusBadGateway)
				return
			}
		}
		inner.ServeHTTP(w, r)
	})
	r := start(t, f, nil, length())
	r.waitForLog("connected")
	assert.Equal(t, 5, ups)
	r.serves()
}

func TestTheVersionInTheAPIAddressIsAskedOfTheGatewayToo(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	asked := make(chan string, 10)
	inner := f.server.Config.Handler
	f.server.Config.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/socket/" {
			asked <- r.URL.Query().Get("v")
		}
		if rest, ok := strings.CutPrefix(r.URL.Path, "/relay/v10"); ok {
			r.URL.Path = "/api/v9" + rest
		}
		inner.ServeHTTP(w, r)
	})
	r := start(t, f, func(c *Config) { c.API = f.server.URL + "/relay/v10/" }, length())
	r.greeting()
	assert.Equal(t, "10", <-asked)
	r.waitForLog("commands registered")
}

func TestAnEncryptedAPICannotSendTheTokenToAnUnencryptedGateway(t *testing.T) {
	t.Parallel()
	to, err := parseAddress("https://chat.example.org/api")
	require.NoError(t, err)
	_, err = enter(httptest.NewRequest(http.MethodGet, "http://chat.example.org/socket/?v=9", nil), to)
	require.ErrorContains(t, err, "unencrypted gateway")
	_, err = enter(httptest.NewRequest(http.MethodGet, "https://chat.example.org/socket/?v=9", nil), to)
	require.NoError(t, err)
}

func TestAConfigurationThatCannotServeIsRefusedInASentence(t *testing.T) {
	t.Parallel()
	set := emptySet(t)
	for want, c := range map[string]Config{
		"the bot token is missing":                      {Set: set},
		"has a space or a line break":                   {Set: set, Token: "a b"},
		"no set of commands":                            {Token: "t0k3n"},
		"none may be negative":                          {Token: "t0k3n", Set: set, Workers: -1},
		`the API address "ftp://x" is not an http`:      {Token: "t0k3n", Set: set, API: "ftp://x"},
		"deriving the registration: command \"Loud\": ": {Token: "t0k3n", Set: newSet(t, saying("Loud", always(commands.Reply{})))},
	} {
		require.ErrorContains(t, Run(context.Background(), c), want)
	}
}

func TestAnUnencryptedAddressElsewhereIsWarnedOf(t *testing.T) {
	t.Parallel()
	log := &logbook{}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.NoError(t, Run(ctx, Config{Token: "t0k3n", Set: emptySet(t), API: "http://192.0.2.1", Log: slog.New(slog.NewTextHandler(log, nil))}))
	assert.Contains(t, log.String(), "the bot token travels unencrypted to another machine")
}

func TestASessionThatHasLockedItselfUpIsNoticedByItsSilenceAndCannotComeBack(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	to, err := parseAddress(f.server.URL)
	require.NoError(t, err)
	c, err := Config{Token: fakeToken, Set: emptySet(t)}.checked()
	require.NoError(t, err)
	g, err := newGateway(c, to, newClient(to, patience), newBudget(time.Millisecond, 1), 0, nil)
	require.NoError(t, err)
	// Nothing was ever heard, so the silence is as long as can be.
	require.ErrorIs(t, g.wait(context.Background(), time.Second), errHung)
	g.letGo()
	_, err = g.open(context.Background(), patience)
	require.Error(t, err)
	assert.NotErrorIs(t, err, errHung)
	assert.EqualValues(t, 0, f.clients.Load(), "no connection of a session that was let go is used")
}
