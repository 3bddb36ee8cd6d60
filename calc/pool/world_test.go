package pool_test

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"tallystick/calc/pool"
)

// A world is an invented community that lives month by month: makers join,
// share, withdraw and leave. It keeps its own account of what was shown and of
// whom, in the slow and obvious way.
type world struct {
	rng     *rand.Rand
	secret  uint64
	day     pool.Day
	nextID  int64
	makers  int
	records []pool.Record
	since   map[string]pool.Day
	rules   pool.Rules
	states  []pool.State
	// shown has what each figure of each cut showed at its newest renewal.
	shown map[string]shown
	// draws has the secret draws made so far, and counts what counted gave today.
	draws  map[string]uint32
	counts map[string]map[string][]int64
}

type shown struct {
	asOf pool.Day
	ids  map[string][]int64
}

var (
	categories = []string{"bench", "box", "shelf", "stool"}
	regions    = []string{"", "coast", "hills", "valley"}
)

func newWorld(seed uint64, rules pool.Rules) *world {
	return &world{
		rng:    rand.New(rand.NewPCG(seed, 1)),
		secret: seed,
		day:    pool.DayOf(2025, time.January, 1),
		since:  map[string]pool.Day{},
		rules:  rules,
		shown:  map[string]shown{},
		draws:  map[string]uint32{},
	}
}

// subsample is a secret draw that stays: a hash.
func (w *world) subsample(cut, maker string) uint32 {
	key := cut + "|" + maker
	if _, drawn := w.draws[key]; !drawn {
		sum := sha256.Sum256(fmt.Appendf(nil, "%d|%s", w.secret, key))
		w.draws[key] = binary.BigEndian.Uint32(sum[:])
	}
	return w.draws[key]
}

func (w *world) join(makers int, joined pool.Day) {
	for range makers {
		w.makers++
		w.since[fmt.Sprintf("maker %03d", w.makers)] = joined
	}
}

// sell lets random makers share sales of the months before.
func (w *world) sell(sales, monthsBack int) {
	names := slices.Sorted(func(yield func(string) bool) {
		for name := range w.since {
			if !yield(name) {
				return
			}
		}
	})
	if len(names) == 0 {
		return
	}
	for range sales {
		maker := names[w.rng.IntN(len(names))]
		w.nextID++
		w.records = append(w.records, pool.Record{
			ID:       w.nextID*7919%1_000_003 + 1,
			Maker:    maker,
			Sold:     w.day.Month() - pool.Month(w.rng.IntN(monthsBack+1)),
			Category: categories[min(w.rng.IntN(4), w.rng.IntN(4))],
			Region:   regions[int(maker[len(maker)-1])%len(regions)],
			Values:   w.values(),
		})
	}
}

func (w *world) values() pool.Values {
	v := pool.Values{}.With(pool.PricePerBoardFoot, pool.Whole(20+w.rng.IntN(900)))
	for _, f := range []struct {
		figure pool.Figure
		odds   int
	}{{pool.Price, 8}, {pool.PricePerSquareFoot, 4}, {pool.RealisedHourly, 7}, {pool.SoldToAsked, 9}, {pool.DaysToSell, 9}} {
		if w.rng.IntN(10) < f.odds {
			v = v.With(f.figure, pool.ThreeFigures(pool.Micros(w.rng.Int64N(90_000_000)-5_000_000)))
		}
	}
	return v
}

// withdraw deletes random records.
func (w *world) withdraw(records int) {
	for range min(records, len(w.records)) {
		i := w.rng.IntN(len(w.records))
		w.records = slices.Delete(w.records, i, i+1)
	}
}

// release makes the release of the world's day.
func (w *world) release() []pool.State {
	w.counts = map[string]map[string][]int64{}
	return pool.Release(w.day, w.records, w.since, w.states, w.rules, w.subsample)
}

// next goes on to the 1st of the next month.
func (w *world) next() { w.day = (w.day.Month() + 1).First() }

// counted gives the ids of the records that count in a cut for a figure, by
// maker: the obvious twin of the selection.
func (w *world) counted(cut pool.Cut, figure pool.Figure) map[string][]int64 {
	key := fmt.Sprint(cut, "|", figure)
	if ids, known := w.counts[key]; known {
		return ids
	}
	ids := map[string][]int64{}
	w.counts[key] = ids
	for _, r := range w.records {
		year, month := r.Sold.Date()
		first := time.Date(year, month, 1, 0, 0, 0, 0, time.UTC)
		last := first.AddDate(0, 1, -1)
		today := w.day.Time()
		oldEnough := last.Before(today.AddDate(0, 0, -w.rules.Age))
		inWindow := first.After(today.AddDate(0, -w.rules.Window, 0))
		joined, known := w.since[r.Maker]
		counts := known && !joined.Time().AddDate(0, 0, w.rules.NewAccount).After(today)
		_, has := r.Values.Of(figure)
		in := cut == pool.Everything || cut == pool.CategoryCut(r.Category) || r.Region != "" && cut == pool.RegionCut(r.Region)
		if oldEnough && inWindow && counts && has && in && w.subsample(string(cut), r.Maker) < w.rules.Share {
			ids[r.Maker] = append(ids[r.Maker], r.ID)
		}
	}
	for _, own := range ids {
		slices.Sort(own)
	}
	return ids
}

// active counts the makers with a record that counts anywhere.
func (w *world) active() int {
	all := *w
	all.rules.Share, all.counts = 1<<32-1, map[string]map[string][]int64{}
	return len(all.counted(pool.Everything, pool.PricePerBoardFoot))
}

// changedMakers counts the makers whose records differ.
func changedMakers(a, b map[string][]int64) int {
	names := map[string]bool{}
	for name := range a {
		names[name] = true
	}
	for name := range b {
		names[name] = true
	}
	n := 0
	for name := range names {
		if !slices.Equal(a[name], b[name]) {
			n++
		}
	}
	return n
}

// bones gives all that is told of the states except the values in them.
func bones(states []pool.State) string {
	var b strings.Builder
	for _, s := range states {
		fmt.Fprintln(&b, s.Cut, s.Shown, s.Reason, s.AsOf, s.Makers)
		for _, p := range s.Figures {
			fmt.Fprint(&b, "  ", p.Figure, p.Shown, p.Reason, p.AsOf, p.Makers)
			if p.Middle != nil {
				fmt.Fprint(&b, " middle ", p.Middle.AsOf)
			}
			fmt.Fprintln(&b)
		}
		for _, show := range s.Shows {
			fmt.Fprintln(&b, "  ", show.Series, show.AsOf, show.Makers, show.Ledger)
		}
	}
	return b.String()
}

// shuffled gives the records in another order.
func (w *world) shuffled() []pool.Record {
	records := slices.Clone(w.records)
	w.rng.Shuffle(len(records), func(i, j int) { records[i], records[j] = records[j], records[i] })
	return records
}

func byCut(states []pool.State) map[pool.Cut]pool.State {
	m := make(map[pool.Cut]pool.State, len(states))
	for _, s := range states {
		m[s.Cut] = s
	}
	return m
}

func sortedByCut(states []pool.State) bool {
	return slices.IsSortedFunc(states, func(a, b pool.State) int { return cmp.Compare(a.Cut, b.Cut) })
}
