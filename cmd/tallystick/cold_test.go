package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

// From the start of the process to its end, one answer of the log takes at most half
// as long again with 1,000,000 shared sales as with none. One pass is a minute or two
// and about 3 GB of disk and memory together:
//
//	go test -run '^$' -bench ColdStart -benchtime 1x ./cmd/tallystick
func BenchmarkColdStart(b *testing.B) {
	folder := b.TempDir()
	program := filepath.Join(folder, "tallystick")
	said, err := exec.CommandContext(b.Context(), "go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(b, err, "%s", said)
	empty, full := filepath.Join(folder, "empty"), filepath.Join(folder, "full")
	fillOwn(b, full, 1_000_000)
	ask := func(data string) time.Duration {
		c := exec.CommandContext(b.Context(), program, "ask", "--own", "/sale mine")
		c.Dir, c.Env = folder, []string{"TALLYSTICK_DATA=" + data, "LANG=C"}
		began := time.Now()
		said, err := c.CombinedOutput()
		require.NoError(b, err, "%s", said)
		return time.Since(began)
	}
	ask(empty) // makes it
	ask(full)
	for b.Loop() {
		var none, million []time.Duration
		for range 21 {
			none, million = append(none, ask(empty)), append(million, ask(full))
		}
		slices.Sort(none)
		slices.Sort(million)
		b.Logf("a start and an answer: %v with no sale, %v with 1,000,000", none[10], million[10])
		b.ReportMetric(float64(million[10])/float64(none[10]), "cold-start-1M/none")

		left := filepath.Join(folder, "left")
		leave(b, full, left)
		var killed []time.Duration
		for range 5 {
			data := filepath.Join(folder, "killed")
			require.NoError(b, os.RemoveAll(data))
			require.NoError(b, os.CopyFS(data, os.DirFS(left)))
			killed = append(killed, ask(data))
		}
		slices.Sort(killed)
		b.Logf("the same after a process that was killed, when its pages are summed: %v", killed[2])
		b.ReportMetric(killed[2].Seconds(), "s/cold-start-1M-killed")
		require.NoError(b, os.Remove(filepath.Join(left, "own.db.sums")))
		b.Logf("the same without sums, when the file is examined: %v", ask(left))
	}
}

// leave copies the files of a maker's own database as a process that is killed leaves
// them.
func leave(b *testing.B, from, to string) {
	b.Helper()
	s, err := store.Open(b.Context(), store.Config{Path: filepath.Join(from, own+".db"), KeysPath: filepath.Join(from, own+".keys")})
	require.NoError(b, err)
	_, err = s.SaveDraft(b.Context(), store.Who{Community: own, Member: "0"}, store.Sale{Category: practiceCommunity().Categories[0],
		Sold: pool.DayAt(time.Now()).Month() - 1, Values: pool.Values{}.With(pool.Price, pool.Whole(100))}, time.Now())
	require.NoError(b, err)
	require.NoError(b, os.CopyFS(to, os.DirFS(from)))
	require.NoError(b, s.Close())
}

// fillOwn makes a maker's own database with so many sales in it, and their release.
func fillOwn(b *testing.B, data string, sales int) {
	b.Helper()
	s, err := store.Open(b.Context(), store.Config{Path: filepath.Join(data, own+".db"), KeysPath: filepath.Join(data, own+".keys")})
	require.NoError(b, err)
	settings := practiceCommunity()
	require.NoError(b, s.SetCommunity(b.Context(), own, settings))
	today := pool.DayAt(time.Now())
	seeds := make([]store.SeedSale, sales)
	for i := range seeds {
		maker := i / 8
		seeds[i] = store.SeedSale{Maker: strconv.Itoa(maker), Since: (today.Month() - 40).First(), Sale: store.Sale{
			Category: settings.Categories[(maker+i%3)%len(settings.Categories)], Region: settings.Regions[maker%3], Sold: today.Month() - pool.Month(4+i%18),
			Values: pool.Values{}.With(pool.Price, pool.Whole(40+i*7919%900)).With(pool.PricePerBoardFoot, pool.Whole(5+i*104_729%60)),
		}}
	}
	require.NoError(b, s.Seed(b.Context(), own, seeds))
	require.NoError(b, s.RunRelease(b.Context(), own, today.Month().First(), pool.StandardRules()))
	began := time.Now()
	require.NoError(b, s.Close())
	size, err := store.Size(filepath.Join(data, own+".db"))
	require.NoError(b, err)
	b.Logf("%d sales are %s; closing and sealing took %v", sales, sizeText(size), time.Since(began))
}
