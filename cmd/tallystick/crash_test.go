package main

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

var (
	crashRounds = flag.Int("crash.rounds", 3, "how often the program is killed under load")
	crashSeed   = flag.Uint64("crash.seed", 0, "the seed of the moments at which it is killed; 0 draws one")
)

const (
	// crashEpoch is how many rounds the same files are used for.
	crashEpoch = 25
	// crashAgain is how many deliveries that were answered come again.
	crashAgain = 30
)

// The program is killed with SIGKILL at random moments while members write and
// releases are made, and begun again on the same files: what was answered is there,
// once, and what was not may be asked again.
//
//	go test ./cmd/tallystick -run KilledUnderLoad -crash.rounds 500 -v -timeout 30m
func TestWhatWasAnsweredIsThereOnceHoweverOftenTheProgramIsKilledUnderLoad(t *testing.T) {
	seed := *crashSeed
	if seed == 0 {
		seed = rand.Uint64()
	}
	t.Logf("%d rounds, -crash.seed %d", *crashRounds, seed)
	draw := rand.New(rand.NewPCG(seed, 1))
	total := map[string]int{}
	began := time.Now()
	var w *crashWitness
	for round := range *crashRounds {
		if round%crashEpoch == 0 {
			w = &crashWitness{t: t, folder: t.TempDir(), made: map[string]crashLine{}, asked: map[string]crashRequest{}, releases: map[int]string{}}
		}
		before := len(w.made)
		while, early := time.Duration(10+draw.IntN(500))*time.Millisecond, draw.IntN(5) == 0
		if round == *crashRounds-1 { // so that the shortest run on a slow machine has something to look for
			while, early = while+time.Second, false
		}
		w.live(round, while, early)
		w.check(draw)
		if t.Failed() {
			t.Fatalf("round %d", round)
		}
		total["answered"] += len(w.made) - before
		total["repeated"] += w.repeated
		total["cut off"] += len(w.cutOff())
		if round%crashEpoch == crashEpoch-1 || round == *crashRounds-1 {
			for _, line := range w.made {
				total[line.Request.Path]++
			}
			total["releases"] += len(w.releases)
			total["summed"] += w.summed
		}
		if (round+1)%50 == 0 {
			t.Logf("%d rounds in %s", round+1, time.Since(began).Round(time.Second))
		}
	}
	t.Logf("%d kills in %s: %d requests answered (%d shares, %d clock and time entries, %d consents), %d cut off by a kill, %d deliveries repeated, %d releases; %d files found sound by their sums",
		*crashRounds, time.Since(began).Round(time.Second), total["answered"], total["sale share"],
		total["piece clock in"]+total["piece clock out"]+total["piece time"], total["privacy opt-in"], total["cut off"], total["repeated"], total["releases"], total["summed"])
	assert.Positive(t, total["sale share"])
	assert.Positive(t, total["piece clock in"])
	assert.Positive(t, total["privacy opt-in"])
	assert.Positive(t, total["releases"])
	assert.Positive(t, total["summed"])
}

// A crashWitness knows what one set of files must hold.
type crashWitness struct {
	t        *testing.T
	folder   string
	made     map[string]crashLine    // what was answered, by its mark
	asked    map[string]crashRequest // what was asked for
	releases map[int]string          // what each day's release was when it was first seen
	again    []crashRequest
	repeated int
	summed   int // how often the file that was left was found sound by its sums
}

// cutOff are the requests of which nobody knows what became.
func (w *crashWitness) cutOff() []crashRequest {
	var list []crashRequest
	for mark, request := range w.asked {
		if _, answered := w.made[mark]; !answered {
			list = append(list, request)
		}
	}
	return list
}

// live runs the program for a while and kills it; early is while it may still be
// opening its files or repeating what came before.
func (w *crashWitness) live(round int, while time.Duration, early bool) {
	self, err := os.Executable()
	require.NoError(w.t, err)
	first, err := json.Marshal(append([]crashRequest{}, w.again...))
	require.NoError(w.t, err)
	w.repeated = len(w.again)
	// Sales count once they are 90 days old, and are kept for two years.
	day := int(pool.DayAt(time.Now())) + 130 + round%crashEpoch*16
	child := exec.Command(self)
	child.Env = append(os.Environ(), childRole+"=crash", "TALLYSTICK_DATA="+w.folder,
		fmt.Sprint("TALLYSTICK_TEST_ROUND=", round), fmt.Sprint("TALLYSTICK_TEST_DAY=", day))
	child.Stdin = strings.NewReader(string(first))
	said := &strings.Builder{}
	child.Stderr = said
	out, err := child.StdoutPipe()
	require.NoError(w.t, err)
	require.NoError(w.t, child.Start())
	ready := make(chan struct{})
	killed := make(chan struct{})
	kill := func() { _ = child.Process.Kill() }
	go func() {
		defer close(killed)
		if !early {
			select {
			case <-ready:
			case <-time.After(patience):
			}
		}
		time.Sleep(while)
		kill()
	}()
	err = readCrashLines(out, w.note, func() { close(ready) })
	_, _ = io.Copy(io.Discard, out)
	<-killed
	_ = child.Wait()
	require.NoError(w.t, err)
	require.Empty(w.t, said.String(), "the program ended by itself")
}

func (w *crashWitness) note(line crashLine) {
	switch {
	case line.Asked:
		w.asked[line.Request.Mark] = line.Request
		return
	case line.Refused:
		_, answered := w.made[line.Request.Mark]
		assert.False(w.t, answered, "%s was answered before", line.Request.Mark)
		delete(w.asked, line.Request.Mark)
		return
	}
	if first, again := w.made[line.Request.Mark]; again {
		assert.Equal(w.t, first.Sale, line.Sale, "%s again", line.Request.Mark)
		return
	}
	w.made[line.Request.Mark] = line
}

// check looks at a copy of the files, as the kill left them, so that the program
// itself has to recover them, too.
func (w *crashWitness) check(draw *rand.Rand) {
	copied := w.t.TempDir()
	defer os.RemoveAll(copied)
	names, err := os.ReadDir(w.folder)
	require.NoError(w.t, err)
	for _, f := range names {
		if strings.HasSuffix(f.Name(), "-shm") || !f.Type().IsRegular() {
			continue // it is made anew from the journal
		}
		content, err := os.ReadFile(filepath.Join(w.folder, f.Name()))
		require.NoError(w.t, err)
		require.NoError(w.t, os.WriteFile(filepath.Join(copied, f.Name()), content, 0o600))
	}
	path := filepath.Join(copied, "server.db")
	files := store.Config{Path: path, KeysPath: filepath.Join(copied, "server.keys")}
	begun := len(w.made) == 0 // it may have been killed before all its tables were there
	err = store.Audit(context.Background(), files, func(f store.Finding) {
		if strings.HasPrefix(f.Check, "sums:") {
			w.summed++
		} else if begun {
			return
		}
		assert.NoError(w.t, f.Problem, f.Check)
	})
	if !begun {
		require.NoError(w.t, err)
	}
	s, err := store.Open(context.Background(), files)
	require.NoError(w.t, err)
	w.checkMembers(s)
	require.NoError(w.t, s.Close())
	w.checkFile(path)
	w.again = w.cutOff()
	answered := w.known()
	for range min(crashAgain, len(answered)) {
		request := w.made[answered[draw.IntN(len(answered))]].Request
		if request.Day == 0 { // a release is not made again for an earlier day
			w.again = append(w.again, request)
		}
	}
	w.again = slices.DeleteFunc(w.again, func(r crashRequest) bool { return r.Day > 0 })
}

// checkMembers holds every member's own view against what was answered.
func (w *crashWitness) checkMembers(s *store.Store) {
	members := map[string]bool{}
	for _, request := range w.asked {
		members[request.Member] = true
	}
	sales, stages, outs := map[string]int{}, map[string]int{}, map[string]int{}
	consents := map[string]bool{}
	numbers := map[string]string{}
	for member := range members {
		who := store.Who{Community: crashCommunity, Member: member}
		_, given, err := s.Consent(context.Background(), who)
		require.NoError(w.t, err)
		consents[member] = given
		own, err := s.Sales(context.Background(), who)
		require.NoError(w.t, err)
		for _, one := range own {
			mark := saleMark(one.Sale)
			sales[mark]++
			numbers[fmt.Sprint(member, " ", one.Number)] = mark
		}
		ledger, err := s.Ledger(context.Background(), who)
		require.NoError(w.t, err)
		begun := map[int]string{}
		for i, e := range ledger.Entries {
			require.Equal(w.t, i+1, e.Number, "no entry of %s is missing", member)
			switch stage := e.Facts[price.FactStage]; e.Kind {
			case price.EntryIn:
				stages[stage]++
				begun[e.Number] = stage
			case price.EntryTime:
				stages[stage]++
			case price.EntryOut:
				outs[begun[e.Target]]++
			}
		}
	}
	for _, counted := range []map[string]int{sales, stages, outs} {
		for mark, n := range counted {
			assert.Equal(w.t, 1, n, "%s is there once", mark)
		}
	}
	for _, line := range w.made {
		switch r := line.Request; r.Path {
		case "sale share":
			assert.Equal(w.t, r.About, numbers[fmt.Sprint(r.Member, " ", line.Sale)], "the sale that was answered to %s", r.Mark)
			assert.True(w.t, consents[r.Member], "sharing is agreeing")
		case "piece clock in", "piece time":
			assert.Equal(w.t, 1, stages[r.Mark], r.Mark)
		case "piece clock out":
			if r.About != "" {
				assert.Equal(w.t, 1, outs[r.About], "the end of %s", r.About)
			}
		case "privacy opt-in":
			assert.True(w.t, consents[r.Member], r.Member)
		}
	}
}

// crashKnown is how many of a member's newest entries may come again: the store knows
// a hundred, and what was cut off may be among them.
const crashKnown = 90

// known are the marks of what was answered and may come again, in order.
func (w *crashWitness) known() []string {
	all := slices.SortedFunc(maps.Keys(w.made), func(a, b string) int { return slices.Compare(when(b), when(a)) })
	entries := map[string]int{}
	return slices.DeleteFunc(all, func(mark string) bool {
		r := w.made[mark].Request
		if !strings.HasPrefix(r.Path, "piece ") {
			return false
		}
		entries[r.Member]++
		return entries[r.Member] > crashKnown
	})
}

// when orders marks by their round and their count in it.
func when(mark string) []int {
	var round, worker, n int
	_, _ = fmt.Sscanf(mark, "r%d-%d-%d", &round, &worker, &n) // a release is before all
	return []int{round, n}
}

// saleMark finds a shared sale again.
func saleMark(s store.Sale) string {
	asked, _ := s.Values.Of(pool.Price)
	days, _ := s.Values.Of(pool.DaysToSell)
	return fmt.Sprint(int64(asked/pool.One), " in ", int64(days/pool.One))
}

// checkFile holds the file itself to its integrity and its releases to what they
// were.
func (w *crashWitness) checkFile(path string) {
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=ro")
	require.NoError(w.t, err)
	defer db.Close()
	var integrity string
	require.NoError(w.t, db.QueryRow("PRAGMA integrity_check").Scan(&integrity))
	assert.Equal(w.t, "ok", integrity)
	var astray int
	require.NoError(w.t, db.QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&astray))
	assert.Zero(w.t, astray, "foreign keys")
	seen := map[int]string{}
	rows, err := db.Query(`SELECT r.day, coalesce(group_concat(line, ';'), ''), count(line) FROM release r LEFT JOIN (
		SELECT l.day, format('%s %s %s %s %s %s', l.cut, l.shown, l.reason, l.as_of, l.makers,
			(SELECT group_concat(format('%s %s %s %s %s %s', f.figure, f.shown, f.reason, f.as_of, f.makers, f.value), ',')
			FROM (SELECT * FROM published_figure ORDER BY figure) f WHERE f.day = l.day AND f.cut = l.cut)) AS line
		FROM published_line l ORDER BY l.cut) p ON p.day = r.day GROUP BY r.day`)
	require.NoError(w.t, err)
	defer rows.Close()
	newest := 0
	for rows.Next() {
		var day, lines int
		var text string
		require.NoError(w.t, rows.Scan(&day, &text, &lines))
		seen[day] = fmt.Sprintf("%x", sha256.Sum256([]byte(text)))
		assert.Equal(w.t, 1+len(usualCategories), lines, "the release of day %d speaks of every cut", day)
		newest = max(newest, day)
	}
	require.NoError(w.t, rows.Err())
	for day, was := range w.releases {
		assert.Equal(w.t, was, seen[day], "the release of day %d is as it was", day)
	}
	for _, line := range w.made {
		if line.Request.Day > 0 {
			assert.Contains(w.t, seen, line.Request.Day, "a release that was answered")
		}
	}
	if newest > 0 {
		var counted int
		require.NoError(w.t, db.QueryRow("SELECT day FROM headcount").Scan(&counted))
		assert.Equal(w.t, newest, counted, "the newest release has its headcount")
	}
	w.releases = seen
}
