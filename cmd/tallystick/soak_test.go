package main

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

var (
	soakFor  = flag.Duration("soak", 3*time.Second, "how long members use the program; the bars of memory hold from 4 minutes on")
	soakRate = flag.Int("soak.rate", 200, "how many requests a second the members make")
	soakEach = flag.Duration("soak.sample", 0, "how often memory is looked at; 0 is every tenth of a minute, or oftener in a short soak")
)

const (
	// soakLeast is the shortest soak whose memory is judged.
	soakLeast = 4 * time.Minute
	// soakGrowth is how much more, or less, the last quarter may hold than the
	// second; the first is for warming up.
	soakGrowth = 0.05
	// soakSpare is how many goroutines and files more the last quarter may have:
	// connections that are kept for the next request.
	soakSpare = 16
	// soakWorkers is how many requests may be under way.
	soakWorkers = 64
	// soakFirst is how many members there are at once.
	soakFirst = 16
)

// selfAs is this test program in another role.
func selfAs(t *testing.T, role string, env ...string) *exec.Cmd {
	self, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(self)
	c.Env = append(append(os.Environ(), childRole+"="+role), env...)
	return c
}

// A soakSample is what the program holds at a moment.
type soakSample struct {
	at                           time.Duration
	resident, live               int // bytes; live is what is in use after a collection
	goroutines, files, databases int
}

// Members come, do everything there is to do, and have themselves forgotten, for as
// long as is wanted; the program holds no more in the end than in the beginning.
//
//	go test ./cmd/tallystick -run Soak -soak 1h -v -timeout 90m > soak.txt 2>&1 &
func TestSoakHoldsNoMoreInTheEndThanInTheBeginning(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	stockSoak(t, data)
	var log lockedBuffer
	p, c := startSoaked(t, data, &log)
	stopped := false
	defer func() {
		if !stopped {
			_ = c.process.Process.Kill()
			_ = c.process.Wait()
		}
	}()
	s := &soak{t: t, child: c, data: data, members: newSoakMembers(p), began: time.Now()}
	idle := s.sample()
	s.run()
	s.judge(idle, &log)
	require.NoError(t, c.process.Process.Signal(syscall.SIGTERM))
	stopped = true
	assert.NoError(t, c.process.Wait(), "the program ends when it is told to")
	s.judgeLog(&log)
}

type soak struct {
	t       *testing.T
	child   *child
	data    string
	members *soakMembers
	began   time.Time
	samples []soakSample
	late    int          // requests for which nobody was free in time
	still   sync.RWMutex // held while the program is looked at, and nothing is asked
}

// run keeps the members going, and looks at the program now and then.
func (s *soak) run() {
	turns := make(chan *soakLife, soakServers*soakPerServer)
	there := 0
	come := func() {
		turns <- s.members.birth(soakServer(there % soakServers))
		there++
	}
	for range soakFirst {
		come()
	}
	tokens := make(chan struct{}, soakWorkers)
	var all sync.WaitGroup
	for range soakWorkers {
		all.Go(func() {
			for range tokens {
				l := <-turns
				s.still.RLock()
				over := s.members.live(l)
				s.still.RUnlock()
				if over {
					l = s.members.birth(l.server)
				}
				turns <- l
			}
		})
	}
	each := *soakEach
	if each == 0 {
		each = min(6*time.Second, *soakFor/10)
	}
	pace := time.NewTicker(5 * time.Millisecond)
	look := time.NewTicker(each)
	minute := time.NewTicker(time.Minute)
	end := time.After(*soakFor)
	defer pace.Stop()
	defer look.Stop()
	defer minute.Stop()
	begun, made := time.Now(), 0
	looked := make(chan struct{}, 1)
	looked <- struct{}{}
	for {
		select {
		case <-pace.C:
			for due := int(time.Since(begun).Seconds() * float64(*soakRate)); made < due; made++ {
				select {
				case tokens <- struct{}{}:
				default:
					s.late++
				}
				// They come one after the other, so that at any time some are at
				// each step.
				if made%len(soakSteps) == 0 && there < cap(turns) {
					come()
				}
			}
		case <-look.C:
			select {
			case <-looked: // never two at once
				go func() {
					s.samples = append(s.samples, s.sample())
					looked <- struct{}{}
				}()
			default:
			}
		case <-minute.C:
			<-looked
			if n := len(s.samples); n > 0 {
				s.t.Log(s.samples[n-1].String() + s.soFar())
			}
			looked <- struct{}{}
		case <-end:
			close(tokens)
			all.Wait()
			<-looked
			return
		}
	}
}

func (s *soak) soFar() string {
	return fmt.Sprintf("; %d answered, %d refused, %d busy, %d faults, %d unanswered, %d late", s.members.counted("answered"),
		s.members.counted("refused"), s.members.counted("busy"), s.members.counted("fault"), s.members.counted("unanswered"), s.late)
}

func (x soakSample) String() string {
	return fmt.Sprintf("%7s: %.2f MB resident, %.2f MB live, %d goroutines, %d files, %.1f MB on disk", x.at.Round(time.Second),
		float64(x.resident)/1e6, float64(x.live)/1e6, x.goroutines, x.files, float64(x.databases)/1e6)
}

// sample waits until nothing is under way, collects what is not in use, and counts
// what is left.
func (s *soak) sample() soakSample {
	s.still.Lock()
	defer s.still.Unlock()
	x := soakSample{at: time.Since(s.began)}
	x.live, x.goroutines = s.child.heap()
	pid := strconv.Itoa(s.child.process.Process.Pid)
	status, err := os.ReadFile("/proc/" + pid + "/status")
	assert.NoError(s.t, err)
	_, rest, _ := strings.Cut(string(status), "VmRSS:")
	kilobytes, err := strconv.Atoi(strings.Fields(rest)[0])
	assert.NoError(s.t, err)
	x.resident = kilobytes * 1024
	files, err := os.ReadDir("/proc/" + pid + "/fd")
	assert.NoError(s.t, err)
	x.files = len(files)
	inData, _ := filepath.Glob(filepath.Join(s.data, "*"))
	for _, name := range inData {
		if info, err := os.Stat(name); err == nil {
			x.databases += int(info.Size())
		}
	}
	return x
}

// judge compares the second quarter with the last.
func (s *soak) judge(idle soakSample, log *lockedBuffer) {
	t := s.t
	for _, what := range slices.Sorted(maps.Keys(s.members.strange)) {
		t.Logf("%d times %s", s.members.strange[what], what)
	}
	require.NotEmpty(t, s.samples)
	second := s.between(*soakFor/4, *soakFor/2)
	last := s.between(*soakFor*3/4, *soakFor+time.Minute)
	t.Logf("idle           %s", idle)
	t.Logf("second quarter %s", second)
	t.Logf("last quarter   %s%s", last, s.soFar())
	answered := s.members.counted("answered")
	assert.Positive(t, answered)
	assert.Zero(t, s.members.counted("fault"), "%s", log)
	assert.Zero(t, s.members.counted("unanswered"))
	assert.Zero(t, s.members.counted("not understood"))
	assert.LessOrEqual(t, s.members.counted("refused"), answered/100, "nearly everything that is asked can be done")
	assert.LessOrEqual(t, s.members.counted("busy"), answered/100, "nearly everything finds room")
	if *soakFor < soakLeast {
		t.Logf("too short to judge its memory; -soak 1h does")
		return
	}
	s.flat("resident memory", second.resident, last.resident)
	s.flat("live heap", second.live, last.live)
	assert.LessOrEqual(t, last.goroutines, second.goroutines+2*soakSpare, "goroutines: two a connection")
	assert.LessOrEqual(t, last.files, second.files+soakSpare, "files")
}

func (s *soak) flat(what string, before, after int) {
	growth := float64(after-before) / float64(before)
	s.t.Logf("%s: %+.1f %% from the second quarter to the last (bar %.0f %%)", what, 100*growth, 100*soakGrowth)
	assert.LessOrEqual(s.t, max(growth, -growth), soakGrowth, what)
}

// between is the median of each figure over a time.
func (s *soak) between(from, to time.Duration) soakSample {
	var in []soakSample
	for _, x := range s.samples {
		if x.at >= from && x.at < to {
			in = append(in, x)
		}
	}
	if len(in) == 0 {
		in = s.samples
	}
	middle := func(of func(soakSample) int) int {
		all := make([]int, len(in))
		for i, x := range in {
			all[i] = of(x)
		}
		slices.Sort(all)
		return all[len(all)/2]
	}
	return soakSample{
		at:         in[len(in)/2].at,
		resident:   middle(func(x soakSample) int { return x.resident }),
		live:       middle(func(x soakSample) int { return x.live }),
		goroutines: middle(func(x soakSample) int { return x.goroutines }),
		files:      middle(func(x soakSample) int { return x.files }),
		databases:  middle(func(x soakSample) int { return x.databases }),
	}
}

// judgeLog wants nothing in the log that is worse than a warning.
func (s *soak) judgeLog(log *lockedBuffer) {
	for line := range strings.Lines(log.String()) {
		assert.NotContains(s.t, line, "level=ERROR")
		assert.NotContains(s.t, line, "panic")
	}
}

// stockSoak fills a few servers with sales of makers who came long before, and
// makes their release, so that there is something to show.
func stockSoak(t *testing.T, data string) {
	require.NoError(t, os.MkdirAll(data, 0o700))
	s, err := store.Open(t.Context(), store.Config{Path: filepath.Join(data, "server.db"), KeysPath: filepath.Join(data, "server.keys"),
		Defaults: store.Community{Currency: "USD", Categories: usualCategories}})
	require.NoError(t, err)
	long := time.Now().AddDate(0, -8, 0)
	for server := range 6 {
		for maker := range 30 {
			who := store.Who{Community: soakServer(server), Member: fmt.Sprint("maker ", maker)}
			sale := store.Sale{Category: "bench", Sold: pool.DayAt(long).Month(), Values: pool.Values{}.
				With(pool.Price, pool.Whole(200+maker*13)).With(pool.PricePerBoardFoot, pool.Whole(14+maker%20))}
			code, err := s.SaveDraft(t.Context(), who, sale, long)
			require.NoError(t, err)
			_, err = s.ShareDraft(t.Context(), who, fmt.Sprint(maker), code, 2, long)
			require.NoError(t, err)
		}
	}
	_, err = s.ReleaseDue(t.Context(), time.Now())
	require.NoError(t, err)
	require.NoError(t, s.Close())
}

// lockedBuffer is a log that two may use.
type lockedBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.text.Len() > 1<<20 { // enough to see what is wrong
		return len(p), nil
	}
	return b.text.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}
