package commands_test

import (
	"fmt"
	"log/slog"
	"path/filepath"
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

// What is asked of the log at 1,000,000 shared sales: /market show costs at most
// twice what it costs at 1,000, and a release takes no longer a record than at
// 10,000. One pass is a minute or two and about 3 GB of disk and memory together:
//
//	go test -run '^$' -bench Million -benchtime 1x ./commands
func BenchmarkAMillionSharedSales(b *testing.B) {
	for b.Loop() {
		show, release := map[int]time.Duration{}, map[int]time.Duration{}
		for _, sales := range []int{1_000, 10_000, 1_000_000} {
			show[sales], release[sales] = timeLog(b, sales)
			b.Logf("%9d sales: /market show %v; release %v, %v a sale", sales, show[sales], release[sales], release[sales]/time.Duration(sales))
		}
		b.ReportMetric(float64(show[1_000_000])/float64(show[1_000]), "show-1M/1k")
		b.ReportMetric(float64(release[1_000_000])/1_000_000/(float64(release[10_000])/10_000), "release-a-sale-1M/10k")
	}
}

// timeLog fills a log and gives the median time of /market show and the time of
// the release.
func timeLog(b *testing.B, sales int) (show, release time.Duration) {
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
	began := time.Now()
	require.NoError(b, s.RunRelease(b.Context(), community, pool.DayAt(now), pool.StandardRules()))
	release = time.Since(began)

	set, err := commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(b, err)
	times := make([]time.Duration, 0, 31)
	for range cap(times) {
		began := time.Now()
		reply := set.Do(b.Context(), commands.Request{Delivery: "1", Community: community, Member: "ann", Path: "market show",
			Options: map[string]string{"category": "kind-3"}, Time: now})
		times = append(times, time.Since(began))
		require.Equal(b, commands.Answered, reply.Outcome())
		require.NotEmpty(b, reply.Figures)
	}
	return middle(times), release
}

func middle(times []time.Duration) time.Duration {
	slices.Sort(times)
	return times[len(times)/2]
}
