package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/assert"
)

// generator is the platform as a source of load: it sends interactions over the
// gateway and takes the time until each is answered.
type generator struct {
	t      *testing.T
	api    *httptest.Server
	mu     sync.Mutex
	socket *websocket.Conn
	ready  chan struct{}
	serial atomic.Int64
	asked  sync.Map // the channel of each interaction, by its id
	busy   atomic.Int64
	later  atomic.Int64
	// plain counts the answers without a card: mistakes and faults.
	plain atomic.Int64
	// clocks counts the requests of clocks.
	clocks atomic.Int64
}

func newGenerator(t *testing.T) *generator {
	g := &generator{t: t, ready: make(chan struct{}, 1)}
	g.api = httptest.NewServer(http.HandlerFunc(g.answer))
	t.Cleanup(g.api.Close)
	return g
}

func (g *generator) answer(w http.ResponseWriter, r *http.Request) {
	path := r.URL.Path
	if _, rest, ok := strings.Cut(path, "/interactions/"); ok {
		id, _, _ := strings.Cut(rest, "/")
		body, _ := io.ReadAll(r.Body)
		w.WriteHeader(http.StatusNoContent)
		switch text := string(body); {
		case strings.Contains(text, "I am busy"):
			g.busy.Add(1)
		case strings.Contains(text, `"content":`):
			g.plain.Add(1)
		case strings.HasPrefix(text, `{"type":5`):
			g.later.Add(1)
			return
		}
		g.done(id)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	switch {
	case strings.HasSuffix(path, "/gateway"):
		_, _ = io.WriteString(w, `{"url":"ws://`+r.Host+`/socket"}`)
	case strings.HasPrefix(path, "/socket"):
		g.gateway(w, r)
	case strings.Contains(path, "/webhooks/"):
		_, _ = io.Copy(io.Discard, r.Body)
		_, _ = io.WriteString(w, `{"id":"1","content":""}`)
		if r.Method == http.MethodPatch {
			_, token, _ := strings.Cut(path, "/token-")
			id, _, _ := strings.Cut(token, "/")
			g.done(id)
		}
	default:
		_, _ = io.WriteString(w, "[]")
	}
}

func (g *generator) done(id string) {
	if c, ok := g.asked.LoadAndDelete(id); ok {
		close(c.(chan struct{}))
	}
}

func (g *generator) gateway(w http.ResponseWriter, r *http.Request) {
	conn, err := (&websocket.Upgrader{}).Upgrade(w, r, nil)
	if err != nil {
		return
	}
	g.socket = conn
	g.push(`{"op":10,"d":{"heartbeat_interval":41250}}`)
	for {
		var frame struct{ Op int }
		if conn.ReadJSON(&frame) != nil {
			return
		}
		switch frame.Op {
		case 1:
			g.push(`{"op":11}`)
		case 2:
			g.push(`{"op":0,"t":"READY","s":1,"d":{"session_id":"x","user":{"id":"` + standInApp + `"},"application":{"id":"` + standInApp + `"}}}`)
			g.ready <- struct{}{}
		}
	}
}

func (g *generator) push(text string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	_ = g.socket.WriteMessage(websocket.TextMessage, []byte(text))
}

// ask sends one interaction of a member and waits for its answer.
func (g *generator) ask(who int, data string) time.Duration {
	const epoch = 1420070400000
	n := g.serial.Add(1)
	id := strconv.FormatInt((time.Now().UnixMilli()-epoch)<<22|n&0x3fffff, 10)
	answered := make(chan struct{})
	g.asked.Store(id, answered)
	begun := time.Now()
	g.push(`{"op":0,"t":"INTERACTION_CREATE","s":` + strconv.FormatInt(n+1, 10) + `,"d":{"id":"` + id + `","type":2,"token":"token-` + id + `","application_id":"` + standInApp +
		`","guild_id":"` + guild + `","locale":"en-US","member":{"permissions":"0","user":{"id":"` + strconv.Itoa(812345678901234000+who) + `","username":"ann"}},"data":` + data + `}}`)
	timer := time.NewTimer(30 * time.Second)
	defer timer.Stop()
	select {
	case <-answered:
		return time.Since(begun)
	case <-timer.C:
		assert.Fail(g.t, "an interaction was not answered", data)
		return 30 * time.Second
	}
}

// crowd is how many members ask, each with an open piece and a clock.
const crowd = 1000

// mix is a workload: requests that take turns, and how often a clock does.
type mix struct {
	name     string
	requests []string
	clocked  bool
	in, out  string
}

// next is the i-th request and the member who makes it. Of a member's clock
// requests every other starts it; a whole crowd comes between two of them.
func (g *generator) next(m *mix, i int) (who int, data string) {
	turns := len(m.requests)
	if m.clocked {
		turns++
	}
	if at := i % turns; at < len(m.requests) {
		return i % crowd, m.requests[at]
	}
	n := int(g.clocks.Add(1)) - 1
	if n/crowd%2 == 0 {
		return n % crowd, m.in
	}
	return n % crowd, m.out
}

// figures are what a round of load came to.
type figures struct {
	rate     float64 // a second
	p50, p99 time.Duration
}

// round asks count requests of a mix with so many in flight.
func (g *generator) round(m *mix, count, inFlight int) figures {
	return g.rounds(count, inFlight, func(i int) time.Duration { return g.ask(g.next(m, i)) })
}

// openPieces gives each of the crowd an open piece.
func (g *generator) openPieces() {
	open := openPiece.data(g.t)
	g.rounds(crowd, 32, func(i int) time.Duration { return g.ask(i, open) })
}

func (g *generator) rounds(count, inFlight int, ask func(i int) time.Duration) figures {
	took := make([]time.Duration, count)
	var next atomic.Int64
	var all sync.WaitGroup
	begun := time.Now()
	for range inFlight {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < count; i = int(next.Add(1)) - 1 {
				took[i] = ask(i)
			}
		})
	}
	all.Wait()
	elapsed := time.Since(begun)
	slices.Sort(took)
	return figures{float64(count) / elapsed.Seconds(), took[count/2], took[count*99/100]}
}
