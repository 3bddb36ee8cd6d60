package commands_test

import (
	"cmp"
	"fmt"
	"log/slog"
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/commands"
	"tallystick/store"
)

// The bars at 1,000,000 shared sales, each a ratio of two times of one run.
const (
	mostShow    = 2.0 // /market show, and the reading under it, against 1,000 sales
	mostRelease = 1.0 // a release, a sale, against 10,000 sales
)

// What is asked of the log at 1,000,000 shared sales: /market show costs at most
// twice what it costs at 1,000, and a release takes no longer a sale than at
// 10,000. It fails when one of them is not so, and is to be believed on a quiet
// machine only. One pass is a minute or two and about 1 GB of disk:
//
//	go test -run '^$' -bench Million -benchtime 1x ./commands
func BenchmarkAMillionSharedSales(b *testing.B) {
	for b.Loop() {
		costs := map[int]logCost{}
		for _, size := range []struct{ sales, times int }{{1_000, 5}, {10_000, 9}, {1_000_000, 1}} {
			costs[size.sales] = timeLogs(b, size.sales, size.times)
			c := costs[size.sales]
			b.Logf("%9d sales: /market show %v, reading what it shows %v; release %v, %v a sale, with at most %d MB of memory",
				size.sales, c.show, c.read, c.release, c.release/time.Duration(size.sales), c.memory>>20)
		}
		most, few, some := costs[1_000_000], costs[1_000], costs[10_000]
		bar(b, "show-1M/1k", "/market show", float64(most.show)/float64(few.show), mostShow)
		bar(b, "read-1M/1k", "reading the published log", float64(most.read)/float64(few.read), mostShow)
		bar(b, "release-a-sale-1M/10k", "a release, a sale", float64(most.release)/1_000_000/(float64(some.release)/10_000), mostRelease)
		b.ReportMetric(float64(most.memory>>20), "release-MB-1M")
	}
}

// bar reports a ratio and says whether it is within its bar.
func bar(b *testing.B, unit, what string, ratio, most float64) {
	b.ReportMetric(ratio, unit)
	if ratio > most {
		b.Errorf("NOT MET: %s at 1,000,000 sales costs %.2f times as much, at most %.2f is asked", what, ratio, most)
		return
	}
	b.Logf("met: %s at 1,000,000 sales costs %.2f times as much, at most %.2f is asked", what, ratio, most)
}

// A logCost is what a log of some size costs: the middle of several times, and the
// most memory that Go held while the release was made.
type logCost struct {
	show, read, release time.Duration
	memory              uint64
}

// timeLogs makes several logs of a size.
func timeLogs(b *testing.B, sales, times int) logCost {
	all := make([]logCost, times)
	for i := range all {
		all[i] = timeLog(b, sales)
	}
	of := func(which func(logCost) time.Duration) time.Duration {
		list := make([]time.Duration, times)
		for i, one := range all {
			list[i] = which(one)
		}
		return middle(list)
	}
	return logCost{
		show:    of(func(c logCost) time.Duration { return c.show }),
		read:    of(func(c logCost) time.Duration { return c.read }),
		release: of(func(c logCost) time.Duration { return c.release }),
		memory:  slices.MaxFunc(all, func(a, b logCost) int { return cmp.Compare(a.memory, b.memory) }).memory,
	}
}

// timeLog fills a log, and times its release and /market show with it.
func timeLog(b *testing.B, sales int) (cost logCost) {
	folder := b.TempDir()
	s, err := store.Open(b.Context(), store.Config{Path: filepath.Join(folder, "log.db"), KeysPath: filepath.Join(folder, "log.keys")})
	require.NoError(b, err)
	defer func() { require.NoError(b, s.Close()) }()
	settings := store.Community{Currency: "USD", Practice: true, Regions: []string{"coast", "hills", "valley"}}
	for i := range 8 {
		settings.Categories = append(settings.Categories, fmt.Sprint("kind-", i))
	}
	require.NoError(b, s.SetCommunity(b.Context(), community, settings))
	now := time.Date(2026, time.March, 1, 9, 0, 0, 0, time.UTC)
	month := pool.MonthOf(2026, time.March)
	seeds := make([]store.SeedSale, sales)
	for i := range seeds {
		maker := i / 8
		seeds[i] = store.SeedSale{Maker: strconv.Itoa(maker), Since: (month - 40).First(), Sale: store.Sale{
			Category: settings.Categories[(maker+i%3)%8], Region: settings.Regions[maker%3], Sold: month - pool.Month(4+i%18),
			Values: pool.Values{}.With(pool.Price, pool.Whole(40+i*7919%900)).With(pool.PricePerBoardFoot, pool.Whole(5+i*104_729%60)).
				With(pool.RealisedHourly, pool.Whole(i*31%45)).With(pool.DaysToSell, pool.Whole(i%90)),
		}}
	}
	require.NoError(b, s.Seed(b.Context(), community, seeds))
	seeds = nil
	debug.FreeOSMemory()
	most := watchMemory()
	began := time.Now()
	require.NoError(b, s.RunRelease(b.Context(), community, pool.DayAt(now), pool.StandardRules()))
	cost.release = time.Since(began)
	cost.memory = most()

	set, err := commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(b, err)
	shows, reads := make([]time.Duration, 31), make([]time.Duration, 31)
	for i := range shows {
		began := time.Now()
		lines, err := s.Published(b.Context(), community)
		reads[i] = time.Since(began)
		require.NoError(b, err)
		require.Len(b, lines, 12)
		began = time.Now()
		reply := set.Do(b.Context(), commands.Request{Delivery: "1", Community: community, Member: "ann", Path: "market show",
			Options: map[string]string{"category": "kind-3"}, Time: now})
		shows[i] = time.Since(began)
		require.Equal(b, commands.Answered, reply.Outcome())
		require.NotEmpty(b, reply.Figures)
	}
	cost.show, cost.read = middle(shows), middle(reads)
	return cost
}

// watchMemory begins to look at the memory that Go holds, and gives what ends it
// and tells the most there was.
func watchMemory() func() uint64 {
	sample := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	stop, told := make(chan struct{}), make(chan uint64)
	go func() {
		tick := time.NewTicker(5 * time.Millisecond)
		defer tick.Stop()
		var most uint64
		for {
			metrics.Read(sample)
			most = max(most, sample[0].Value.Uint64()-sample[1].Value.Uint64())
			select {
			case <-tick.C:
			case <-stop:
				told <- most
				return
			}
		}
	}()
	return func() uint64 {
		close(stop)
		return <-told
	}
}

func middle(times []time.Duration) time.Duration {
	slices.Sort(times)
	return times[len(times)/2]
}
