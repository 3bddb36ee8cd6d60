package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	loads  = flag.Bool("load", false, "measure the bot under load beside a handler that says always the same")
	charts = flag.Bool("load-charts", true, "measure with a price that draws its chart, too")
	memory = flag.Int("load-memory", 100_000, "how many interactions the memory is watched over")
)

// childRole is set in a process that this test starts: it is the bot under load.
const childRole = "TALLYSTICK_TEST_CHILD"

func TestMain(m *testing.M) {
	switch os.Getenv(childRole) {
	case "program", "soak":
		ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
		go reportHeap()
		log := io.Discard
		if os.Getenv(childRole) == "soak" {
			log = os.Stderr
		}
		code := run(ctx, []string{"serve"}, os.Environ(), strings.NewReader(""), io.Discard, log)
		stop()
		os.Exit(code)
	case "bare":
		bareBot()
	case "crash":
		crashing()
	default:
		os.Exit(m.Run())
	}
}

// reportHeap writes the live heap for every line it is sent.
func reportHeap() {
	one := make([]byte, 1)
	for {
		if _, err := os.Stdin.Read(one); err != nil {
			return
		}
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		fmt.Println(m.HeapAlloc, runtime.NumGoroutine())
	}
}

// bareBot answers everything alike, on the same library with a client that keeps
// as many connections: the best that could be done with nothing to say.
func bareBot() {
	api := os.Getenv("TALLYSTICK_DISCORD_API")
	s, err := discordgo.New("Bot " + standInToken)
	if err != nil {
		panic(err)
	}
	wire := http.DefaultTransport.(*http.Transport).Clone()
	wire.MaxIdleConnsPerHost, wire.MaxIdleConns = 1024, 1024
	s.Client = &http.Client{Transport: toHost{strings.TrimPrefix(api, "http://"), wire}}
	s.Identify.Intents = discordgo.IntentsNone
	s.StateEnabled = false
	s.AddHandler(func(s *discordgo.Session, i *discordgo.InteractionCreate) {
		_ = s.InteractionRespond(i.Interaction, &discordgo.InteractionResponse{Type: discordgo.InteractionResponseChannelMessageWithSource,
			Data: &discordgo.InteractionResponseData{Embeds: []*discordgo.MessageEmbed{{Title: "Answer", Description: "Always the same."}}}})
	})
	if err := s.Open(); err != nil {
		panic(err)
	}
	stop := make(chan os.Signal, 1)
	signal.Notify(stop, syscall.SIGTERM)
	<-stop
	os.Exit(0)
}

type toHost struct {
	host string
	next http.RoundTripper
}

func (h toHost) RoundTrip(r *http.Request) (*http.Response, error) {
	out := r.Clone(r.Context())
	out.URL.Scheme, out.URL.Host, out.Host = "http", h.host, h.host
	return h.next.RoundTrip(out)
}

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
		if strings.Contains(string(body), "I am busy") {
			g.busy.Add(1)
		}
		w.WriteHeader(http.StatusNoContent)
		if strings.HasPrefix(string(body), `{"type":5`) {
			g.later.Add(1)
			return
		}
		g.done(id)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	switch {
	case strings.HasSuffix(path, "/gateway"):
		_, _ = io.WriteString(w, `{"url":"ws`+strings.TrimPrefix(g.api.URL, "http")+`/socket"}`)
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

// ask sends one interaction and waits for its answer.
func (g *generator) ask(data string) time.Duration {
	const epoch = 1420070400000
	n := g.serial.Add(1)
	id := strconv.FormatInt((time.Now().UnixMilli()-epoch)<<22|n&0x3fffff, 10)
	answered := make(chan struct{})
	g.asked.Store(id, answered)
	who := strconv.FormatInt(812345678901234000+n%50, 10)
	begun := time.Now()
	g.push(`{"op":0,"t":"INTERACTION_CREATE","s":` + strconv.FormatInt(n+1, 10) + `,"d":{"id":"` + id + `","type":2,"token":"token-` + id + `","application_id":"` + standInApp +
		`","guild_id":"` + guild + `","locale":"en-US","member":{"permissions":"0","user":{"id":"` + who + `","username":"ann"}},"data":` + data + `}}`)
	select {
	case <-answered:
		return time.Since(begun)
	case <-time.After(30 * time.Second):
		assert.Fail(g.t, "an interaction was not answered", data)
		return 30 * time.Second
	}
}

// figures are what a round of load came to.
type figures struct {
	rate     float64 // a second
	p50, p99 time.Duration
}

// round asks count requests of the mix with so many in flight.
func (g *generator) round(mix []string, count, inFlight int) figures {
	took := make([]time.Duration, count)
	var next atomic.Int64
	var all sync.WaitGroup
	begun := time.Now()
	for range inFlight {
		all.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= count {
					return
				}
				took[i] = g.ask(mix[i%len(mix)])
			}
		})
	}
	all.Wait()
	elapsed := time.Since(begun)
	slices.Sort(took)
	return figures{float64(count) / elapsed.Seconds(), took[count/2], took[count*99/100]}
}

// typed is the data of a command as it is typed.
func typed(t *testing.T, path string, pairs ...string) string {
	options := map[string]string{}
	for i := 0; i < len(pairs); i += 2 {
		options[pairs[i]] = pairs[i+1]
	}
	raw, err := json.Marshal(commandData(path, options, ""))
	require.NoError(t, err)
	return string(raw)
}

// mixes are the workloads: everything, and everything but drawing charts.
func mixes(t *testing.T) (whole, chartless []string) {
	chartless = []string{
		typed(t, "price", "materials", "124.90", "fee", "2.9%", "fixed-fee", "0.30"),
		typed(t, "boardfeet", "boards", "6 @ 5/8 x 3-1/2 x 40 in"),
		typed(t, "convert", "value", `7' 8-1/2"`, "to", "mm"),
		typed(t, "market show", "category", "bench"),
		typed(t, "settings show"),
	}
	whole = slices.Clone(chartless)
	whole[0] = typed(t, "price", "hours", "14.25", "materials", "124.90", "rate", "25", "fee", "2.9%", "fixed-fee", "0.30", "haggle", "12%")
	return whole, chartless
}

// child is a bot in a process of its own.
type child struct {
	*generator
	process *exec.Cmd
	in      io.Writer
	out     io.Reader
}

func startChild(t *testing.T, role string) *child {
	g := newGenerator(t)
	self, err := os.Executable()
	require.NoError(t, err)
	c := &child{generator: g, process: exec.Command(self)}
	c.process.Env = append(os.Environ(), childRole+"="+role, "TALLYSTICK_DATA="+filepath.Join(t.TempDir(), role), "TALLYSTICK_LOG_LEVEL=error",
		"TALLYSTICK_DISCORD_API="+g.api.URL, "TALLYSTICK_DISCORD_TOKEN="+standInToken, "TALLYSTICK_MEMBER_BURST=0", "TALLYSTICK_COMMUNITY_BURST=0")
	c.process.Stderr = os.Stderr
	c.in, err = c.process.StdinPipe()
	require.NoError(t, err)
	c.out, err = c.process.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.process.Start())
	t.Cleanup(func() {
		assert.NoError(t, c.process.Process.Signal(syscall.SIGTERM))
		assert.NoError(t, c.process.Wait())
	})
	await(t, g.ready, role)
	return c
}

// heap is the live heap and the number of goroutines of the program.
func (c *child) heap() (bytes, goroutines int) {
	c.t.Helper()
	_, err := c.in.Write([]byte("?"))
	require.NoError(c.t, err)
	_, err = fmt.Fscan(c.out, &bytes, &goroutines)
	require.NoError(c.t, err)
	return bytes, goroutines
}

const (
	leastThroughput = 0.7
	mostP99         = 1.5
	mostGrowth      = 0.05
	rounds          = 5
)

// go test ./cmd/tallystick -run UnderLoad -load -v -timeout 30m
func TestTheBotUnderLoadKeepsUpWithOneThatHasNothingToSay(t *testing.T) {
	if !*loads {
		t.Skip("a measurement that takes the whole machine for minutes; -load runs it")
	}
	program, bare := startChild(t, "program"), startChild(t, "bare")
	whole, chartless := mixes(t)
	for _, mix := range []struct {
		name string
		of   []string
	}{{"without charts", chartless}, {"with charts", whole}} {
		if mix.name == "with charts" && !*charts {
			continue
		}
		for _, inFlight := range []int{1, 32, 128} {
			count := 400 + 20*inFlight
			program.round(mix.of, count/4, inFlight) // warm
			bare.round(mix.of, count/4, inFlight)
			var ours, theirs []figures
			for range rounds {
				ours = append(ours, program.round(mix.of, count, inFlight))
				theirs = append(theirs, bare.round(mix.of, count, inFlight))
			}
			a, b := middle(ours), middle(theirs)
			throughput, p99 := a.rate/b.rate, float64(a.p99)/float64(b.p99)
			t.Logf("%s, %3d in flight: %6.0f/s p50 %v p99 %v beside %6.0f/s p50 %v p99 %v: throughput %.2f of it (bar %.2f), p99 %.2f times (bar %.2f)", mix.name, inFlight,
				a.rate, a.p50.Round(time.Microsecond), a.p99.Round(time.Microsecond), b.rate, b.p50.Round(time.Microsecond), b.p99.Round(time.Microsecond), throughput, leastThroughput, p99, mostP99)
			if throughput < leastThroughput || p99 > mostP99 {
				t.Logf("    a bar is not met")
			}
		}
	}
	t.Logf("busy %d, deferred %d", program.busy.Load(), program.later.Load())
	assert.Zero(t, program.busy.Load(), "128 in flight find room")
}

// middle is the median of each figure over the rounds.
func middle(of []figures) figures {
	pick := func(less func(a, b figures) int) figures {
		sorted := slices.SortedFunc(slices.Values(of), less)
		return sorted[len(sorted)/2]
	}
	return figures{
		rate: pick(func(a, b figures) int { return int(a.rate - b.rate) }).rate,
		p50:  pick(func(a, b figures) int { return int(a.p50 - b.p50) }).p50,
		p99:  pick(func(a, b figures) int { return int(a.p99 - b.p99) }).p99,
	}
}

// go test ./cmd/tallystick -run Memory -load -v -timeout 30m
func TestTheMemoryOfTheBotStaysFlatUnderLoad(t *testing.T) {
	if !*loads {
		t.Skip("a measurement that takes the whole machine for minutes; -load runs it")
	}
	program := startChild(t, "program")
	_, chartless := mixes(t)
	first := *memory / 10
	program.round(chartless, first, 32)
	before, goroutinesBefore := program.heap()
	for done := first; done < *memory; done += first {
		program.round(chartless, first, 32)
		now, goroutines := program.heap()
		t.Logf("after %6d: %.2f MB live, %d goroutines", done+first, float64(now)/1e6, goroutines)
	}
	after, goroutines := program.heap()
	growth := float64(after-before) / float64(before)
	t.Logf("live heap %.2f MB after %d and %.2f MB after %d: %.1f %% more (bar %.0f %%)", float64(before)/1e6, first, float64(after)/1e6, *memory, 100*growth, 100*mostGrowth)
	assert.Less(t, growth, mostGrowth)
	assert.InDelta(t, goroutinesBefore, goroutines, 100)
}
