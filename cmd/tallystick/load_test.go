package main

import (
	"encoding/json"
	"flag"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	loads    = flag.Bool("load", false, "measure the bot under load beside a handler that says always the same")
	brief    = flag.Bool("load-brief", false, "measure fewer rounds: a glance of a minute, no verdict to quote")
	flights  = flag.Int("load-flight", 0, "measure with so many in flight alone")
	profiles = flag.String("load-profiles", "", "a folder for what the processors did in each bot")
	memory   = flag.Int("load-memory", 100_000, "how many interactions the memory is watched over")
)

const (
	leastThroughput = 0.7
	mostP99         = 1.5
	mostGrowth      = 0.05
)

// request is a command with what is typed to it.
type request struct {
	path    string
	options map[string]string
}

func (r request) data(t *testing.T) string {
	raw, err := json.Marshal(commandData(r.path, r.options, ""))
	require.NoError(t, err)
	return string(raw)
}

// The workload that the bars are for: a price with the chart that belongs to it,
// board feet, a conversion, the market and the clock.
var (
	workload = []request{
		{"price", map[string]string{"hours": "14.25", "materials": "124.90", "rate": "25", "fee": "2.9%", "fixed-fee": "0.30", "haggle": "12%"}},
		{"boardfeet", map[string]string{"boards": "6 @ 5/8 x 3-1/2 x 40 in"}},
		{"convert", map[string]string{"value": `7' 8-1/2"`, "to": "mm"}},
		{"market show", map[string]string{"category": "bench"}},
	}
	openPiece = request{"piece open", map[string]string{"name": "Harbour bench", "category": "bench", "rate": "25"}}
	clockIn   = request{"piece clock in", map[string]string{"stage": "milling"}}
	clockOut  = request{path: "piece clock out"}
)

func everything(t *testing.T) *mix {
	m := &mix{name: "everything", clocked: true, in: clockIn.data(t), out: clockOut.data(t)}
	for _, r := range workload {
		m.requests = append(m.requests, r.data(t))
	}
	return m
}

// withoutClock shows what of it is the writing to the disk.
func withoutClock(t *testing.T) *mix {
	return &mix{name: "without the clock", requests: everything(t).requests}
}

// go test ./cmd/tallystick -run UnderLoad -load -v -timeout 30m
func TestTheBotUnderLoadKeepsUpWithOneThatHasNothingToSay(t *testing.T) {
	if !*loads {
		t.Skip("a measurement that takes the whole machine for minutes; -load runs it")
	}
	program, bare := startChild(t, "program"), startChild(t, "bare")
	program.openPieces()
	for _, m := range []*mix{withoutClock(t), everything(t)} {
		for _, inFlight := range []int{1, 32, 128} {
			if *flights == 0 || *flights == inFlight {
				compare(t, program, bare, m, inFlight)
			}
		}
	}
	t.Logf("busy %d, deferred %d", program.busy.Load(), program.later.Load())
	assert.Zero(t, program.busy.Load(), "128 in flight find room")
	assert.Zero(t, program.plain.Load(), "every answer is one")
}

// compare measures both bots in turn and holds the bars.
func compare(t *testing.T, program, bare *child, m *mix, inFlight int) {
	rounds, count := 9, 1200+24*inFlight
	if *brief {
		rounds, count = 3, 800+16*inFlight
	}
	program.round(m, count/2, inFlight) // warm
	bare.round(m, count/2, inFlight)
	var ours, theirs []figures
	var cost [3]time.Duration // of the program, the bare one and this process
	for range rounds {
		at := [3]time.Duration{spent(program.process.Process.Pid), spent(bare.process.Process.Pid), spent(os.Getpid())}
		ours = append(ours, program.round(m, count, inFlight))
		cost[2] += spent(os.Getpid()) - at[2]
		theirs = append(theirs, bare.round(m, count, inFlight))
		cost[0] += spent(program.process.Process.Pid) - at[0]
		cost[1] += spent(bare.process.Process.Pid) - at[1]
	}
	for i := range cost {
		cost[i] = (cost[i] / time.Duration(rounds*count)).Round(time.Microsecond)
	}
	a, b := middle(ours), middle(theirs)
	throughput, p99 := a.rate/b.rate, float64(a.p99)/float64(b.p99)
	t.Logf("%s, %3d in flight: %6.0f/s p50 %v p99 %v beside %6.0f/s p50 %v p99 %v: throughput %.2f of it (bar %.2f), p99 %.2f times (bar %.2f); processor time an answer %v beside %v, of this process %v", m.name, inFlight,
		a.rate, a.p50.Round(time.Microsecond), a.p99.Round(time.Microsecond), b.rate, b.p50.Round(time.Microsecond), b.p99.Round(time.Microsecond),
		throughput, leastThroughput, p99, mostP99, cost[0], cost[1], cost[2])
	assert.GreaterOrEqual(t, throughput, leastThroughput, "%s, %d in flight: throughput", m.name, inFlight)
	assert.LessOrEqual(t, p99, mostP99, "%s, %d in flight: p99", m.name, inFlight)
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
func TestTheMemoryOfTheBotStaysFlat(t *testing.T) {
	if !*loads {
		t.Skip("a measurement that takes the whole machine for minutes; -load runs it")
	}
	program := startChild(t, "program")
	program.openPieces()
	m := everything(t)
	first := *memory / 10
	program.round(m, first, 32)
	before, goroutinesBefore := program.heap()
	for done := first; done < *memory; done += first {
		program.round(m, first, 32)
		now, goroutines := program.heap()
		t.Logf("after %6d: %.2f MB live, %d goroutines", done+first, float64(now)/1e6, goroutines)
	}
	after, goroutines := program.heap()
	growth := float64(after-before) / float64(before)
	t.Logf("live heap %.2f MB after %d and %.2f MB after %d: %.1f %% more (bar %.0f %%)", float64(before)/1e6, first, float64(after)/1e6, *memory, 100*growth, 100*mostGrowth)
	assert.Less(t, growth, mostGrowth)
	assert.InDelta(t, goroutinesBefore, goroutines, 100)
	assert.Zero(t, program.plain.Load(), "every answer is one")
}
