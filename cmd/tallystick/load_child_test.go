package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/pprof"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

// childRole is set in a process that this test starts: it is the bot under load.
// childProfile names a file for the processor time that it takes.
const (
	childRole    = "TALLYSTICK_TEST_CHILD"
	childProfile = "TALLYSTICK_TEST_PROFILE"
)

func TestMain(m *testing.M) {
	switch os.Getenv(childRole) {
	case "program", "soak":
		ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
		go reportHeap()
		profiled := profile()
		code := run(ctx, []string{"serve"}, os.Environ(), strings.NewReader(""), io.Discard, os.Stderr)
		profiled()
		stop()
		os.Exit(code)
	case "bare":
		profiled := profile()
		bareBot(func(*discordgo.Interaction) {})
		profiled()
		os.Exit(0)
	case "durable":
		bareBot(lastingPages())
		os.Exit(0)
	case "crash":
		crashing()
	default:
		os.Exit(m.Run())
	}
}

func profile() (end func()) {
	name := os.Getenv(childProfile)
	if name == "" {
		return func() {}
	}
	f, err := os.Create(name)
	if err != nil {
		panic(err)
	}
	if err := pprof.StartCPUProfile(f); err != nil {
		panic(err)
	}
	return pprof.StopCPUProfile
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
// as many connections and the same rules for garbage and threads: the best that
// could be done with nothing to say. It does first before it answers.
func bareBot(first func(i *discordgo.Interaction)) {
	roomForGarbage()
	roomForWaiting()
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
		first(i.Interaction)
		_ = s.InteractionRespond(i.Interaction, &discordgo.InteractionResponse{Type: discordgo.InteractionResponseChannelMessageWithSource,
			Data: &discordgo.InteractionResponseData{Embeds: []*discordgo.MessageEmbed{{Title: "Answer", Description: "Always the same."}}}})
	})
	if err := s.Open(); err != nil {
		panic(err)
	}
	stop := make(chan os.Signal, 1)
	signal.Notify(stop, syscall.SIGTERM)
	<-stop
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
	data := filepath.Join(t.TempDir(), role)
	if role == "program" {
		fillMarket(t, data)
	}
	c := &child{generator: g, process: exec.Command(self)}
	c.process.Env = append(os.Environ(), childRole+"="+role, "TALLYSTICK_DATA="+data,
		"TALLYSTICK_DISCORD_API="+g.api.URL, "TALLYSTICK_DISCORD_TOKEN="+standInToken,
		// Members here ask faster than people do.
		"TALLYSTICK_MEMBER_BURST=0", "TALLYSTICK_COMMUNITY_BURST=0")
	if *profiles != "" {
		c.process.Env = append(c.process.Env, childProfile+"="+filepath.Join(*profiles, role+".pprof"))
	}
	log, err := os.Create(filepath.Join(t.TempDir(), role+".log"))
	require.NoError(t, err)
	c.process.Stderr = log // as a host keeps it: a line a request
	c.in, err = c.process.StdinPipe()
	require.NoError(t, err)
	c.out, err = c.process.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.process.Start())
	t.Cleanup(func() {
		assert.NoError(t, c.process.Process.Signal(syscall.SIGTERM))
		assert.NoError(t, c.process.Wait())
		assert.NoError(t, log.Close())
	})
	await(t, g.ready, role)
	return c
}

// fillMarket gives the server a log with published figures before the program runs.
func fillMarket(t testing.TB, data string) {
	ctx, now := t.Context(), time.Now().UTC()
	s, err := store.Open(ctx, store.Config{Path: filepath.Join(data, "server.db"), KeysPath: filepath.Join(data, "server.keys"), Defaults: practiceCommunity()})
	require.NoError(t, err)
	sales, err := practiceSales(practiceLog, pool.MonthOf(now.Year(), now.Month()))
	require.NoError(t, err)
	require.NoError(t, s.Seed(ctx, guild, sales))
	require.NoError(t, s.RunRelease(ctx, guild, pool.DayOf(now.Year(), now.Month(), now.Day()), pool.StandardRules()))
	require.NoError(t, s.Close())
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

// spent is the processor time that a process has taken so far, as the system
// counts it: in hundredths of a second.
func spent(pid int) time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0 // no such system: the figure is left out
	}
	_, rest, _ := strings.Cut(string(stat), ") ")
	fields := strings.Fields(rest)
	var user, system int64
	if len(fields) > 12 {
		_, _ = fmt.Sscan(fields[11], &user)
		_, _ = fmt.Sscan(fields[12], &system)
	}
	return time.Duration(user+system) * 10 * time.Millisecond
}
