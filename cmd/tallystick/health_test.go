package main

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMetricsAreGivenToThisMachineAlone(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{"127.0.0.1:9109": "127.0.0.1:9109", "9109": "127.0.0.1:9109", ":9109": "127.0.0.1:9109",
		"localhost:9109": "127.0.0.1:9109", "[::1]:9109": "[::1]:9109", "127.3.2.1:80": "127.3.2.1:80"} {
		got, err := loopback(text)
		assert.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	for _, text := range []string{"0.0.0.0:9109", "192.0.2.7:9109", "[::]:9109", "example.org:9109", "127.0.0.1", "127.0.0.1:0", "127.0.0.1:99999", "port", "[fe80::1]:9109"} {
		_, err := loopback(text)
		assert.Error(t, err, text)
	}
	code, _, errs := newHouse(t, "TALLYSTICK_METRICS=0.0.0.0:9109").run("", "serve")
	assert.Equal(t, exitMistake, code)
	assert.Equal(t, "tallystick: TALLYSTICK_METRICS: \"0.0.0.0:9109\" is not on this machine alone. Try 127.0.0.1:9109\n", errs)
}

// freePort is one that nobody listens on just now.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, l.Close()) }()
	return l.Addr().String()
}

func TestAPortForMetricsThatIsTakenIsForTheHostToPutRight(t *testing.T) {
	t.Parallel()
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, taken.Close()) }()
	code, _, errs := newHouse(t, "TALLYSTICK_DISCORD_TOKEN="+standInToken, "TALLYSTICK_LOG_LEVEL=error", "TALLYSTICK_METRICS="+taken.Addr().String()).run("", "serve")
	assert.Equal(t, exitMistake, code)
	assert.Regexp(t, `^tallystick: TALLYSTICK_METRICS: nobody can listen at "127\.0\.0\.1:\d+": .*address already in use\. Try another port\n$`, errs)
}

func get(t *testing.T, address string) (status int, text string) {
	t.Helper()
	answer, err := http.Get(address)
	require.NoError(t, err)
	defer func() { _ = answer.Body.Close() }()
	raw, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(raw)
}

func TestTheServerTellsItsHealthAndCountsItsRequests(t *testing.T) {
	t.Parallel()
	s := newStandIn(t)
	at := freePort(t)
	h := newHouse(t, "TALLYSTICK_DISCORD_API="+s.server.URL, "TALLYSTICK_DISCORD_TOKEN="+standInToken, "TALLYSTICK_METRICS="+at, "TALLYSTICK_MEMBER_BURST=4", "TALLYSTICK_MEMBER_EVERY=1h")
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan int, 1)
	go func() { ended <- run(ctx, []string{"serve"}, h.env, strings.NewReader(""), io.Discard, io.Discard) }()
	await(t, s.registers, "the registration")

	s.say("1300000000000000001", `{"id":"1","name":"price","type":1,"options":[{"name":"hours","type":3,"value":"14.25"},{"name":"materials","type":3,"value":"124.90"}]}`)
	s.say("1300000000000000002", `{"id":"1","name":"price","type":1,"options":[{"name":"hours","type":3,"value":"walnut-offcuts"}]}`)
	s.say("1300000000000000003", `{"id":"2","name":"walnut-offcuts","type":1}`)
	s.say("1300000000000000004", `{"id":"3","name":"stamp","type":1,"options":[{"name":"text","type":3,"value":"walnut-offcuts"}]}`)
	assert.Regexp(t, `Try again in (3600|3599) s\.`, asText(t, s.say("1300000000000000005", `{"id":"3","name":"stamp","type":1,"options":[{"name":"text","type":3,"value":"none"}]}`)))

	require.Eventually(t, func() bool { status, _ := get(t, "http://"+at+"/healthz"); return status == http.StatusOK }, 20*time.Second, 10*time.Millisecond)
	wanted := []string{
		`tallystick_requests_total{command="price",outcome="ok"} 1`, `tallystick_requests_total{command="price",outcome="mistake"} 1`,
		`tallystick_requests_total{command="unknown",outcome="mistake"} 1`, `tallystick_requests_total{command="stamp",outcome="refused"} 1`,
		`tallystick_request_seconds_count{command="price"} 2`, `tallystick_gateway_connected{shard="0"} 1`,
		"tallystick_queue_length 0", "tallystick_queue_capacity 256", "tallystick_turned_away_total 0",
		"tallystick_database_bytes ", "tallystick_journal_bytes ", "go_build_info{", "go_goroutines ",
	}
	var text string
	assert.Eventually(t, func() bool { // a request is counted once its answer is on its way
		_, text = get(t, "http://"+at+"/metrics")
		return !slices.ContainsFunc(wanted, func(want string) bool { return !strings.Contains(text, want) })
	}, 20*time.Second, 10*time.Millisecond)
	for _, want := range wanted {
		assert.Contains(t, text, want)
	}
	for _, never := range []string{"walnut", member, guild, standInToken, "124.90"} {
		assert.NotContains(t, text, never, "what members type, and who they are, is no label")
	}
	status, _ := get(t, "http://"+at+"/debug/pprof/")
	assert.Equal(t, http.StatusNotFound, status)
	stop()
	assert.Equal(t, exitAnswered, await(t, ended, "the end"))
	_, err := net.DialTimeout("tcp", at, time.Second)
	assert.Error(t, err, "nothing listens after the end")
}

// standsAs is a server as it stands.
type standsAs struct {
	lines []bool
	fails error
	last  time.Time
}

func (s standsAs) Connected() []bool             { return s.lines }
func (s standsAs) Queue() (waiting, room int)    { return 3, 256 }
func (s standsAs) TurnedAway() uint64            { return 7 }
func (s standsAs) Mistimed() uint64              { return 5 }
func (s standsAs) Answers(context.Context) error { return s.fails }
func (s standsAs) LastRelease(context.Context) (time.Time, bool, error) {
	return s.last, !s.last.IsZero(), s.fails
}

func TestHealthSaysInOneLineWhatIsWrong(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, time.March, 2, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		stands standsAs
		status int
		text   string
	}{
		{standsAs{}, 503, "not connected yet\n"},
		{standsAs{lines: []bool{true, false}}, 503, "shard 1 of 2 is not connected\n"},
		{standsAs{lines: []bool{true}, fails: errors.New("a secret path")}, 503, "the database does not answer\n"},
		{standsAs{lines: []bool{true, true}, last: now.AddDate(0, 0, -1)}, 200, "ok\n"},
	} {
		w := watched{line: c.stands, data: c.stands, path: "/nowhere/server.db", disk: diskTrouble, now: func() time.Time { return now }}
		_, registry := newMeter(w)
		pages := httptest.NewServer(watchPages(w, registry, slog.New(slog.DiscardHandler)))
		status, text := get(t, pages.URL+"/healthz")
		assert.Equal(t, c.status, status)
		assert.Equal(t, c.text, text)
		_, metrics := get(t, pages.URL+"/metrics")
		assert.Equal(t, c.status == 200, strings.Contains(metrics, "tallystick_release_age_seconds 86400"), "the age of a release, where there is one")
		assert.Contains(t, metrics, "tallystick_turned_away_total 7")
		assert.Contains(t, metrics, "tallystick_mistimed_total 5")
		assert.NotContains(t, metrics, "tallystick_database_bytes", "what is not there is not told")
		pages.Close()
	}
}
