package pool_test

import (
	"fmt"
	"math"
	"math/bits"
	"slices"

	"tallystick/calc/pool"
)

// The insider knows all records but the value of one, and all that was published.
// They do not know the key that says who counts in a cut. They guess as well as
// we know how: for each cut that the sale is in, a Markov chain walks over who
// may count there, by how well that explains when each figure was renewed, the
// bands, and the figures themselves; and over all it walked through, what the
// missing value may be is added up.

// A crowd is a set of makers.
type crowd [2]uint64

func (c *crowd) flip(i int)    { c[i>>6] ^= 1 << (i & 63) }
func (c crowd) has(i int) bool { return c[i>>6]>>(i&63)&1 == 1 }
func (c crowd) both(d crowd) int {
	return bits.OnesCount64(c[0]&d[0]) + bits.OnesCount64(c[1]&d[1])
}

// A vote is one maker's value behind a figure.
type vote struct {
	value float64
	maker int
}

// A look is one published number and the votes that may be behind it.
type look struct {
	figure pool.Figure
	k      int // the quarter: 1, 2 or 3
	low    float64
	high   float64 // what was published stands for [low, high]
	votes  []vote  // of all makers, in order
	own    map[int][]float64
	month  int
}

// An event is what a release did with a cut as a whole.
type event struct {
	here, changed       crowd
	again               bool // it was shown before
	least, most         int  // makers
	leastDiff, mostDiff int
}

func (e event) fits(c crowd) bool {
	n := c.both(e.here)
	if n < e.least || n > e.most {
		return false
	}
	if !e.again {
		return true
	}
	d := c.both(e.changed)
	return d >= e.leastDiff && d <= e.mostDiff
}

// A view is all that was published of a cut.
type view struct {
	cut    pool.Cut
	makers []int
	looks  []look
	events []event
}

// bounds gives the unrounded values that may stand behind a published one.
func bounds(f pool.Figure, v pool.Micros, k int, fine bool) (low, high float64) {
	if f == pool.DaysToSell {
		least, most := pool.DaysBand(v / pool.One).Bounds()
		if most == 0 {
			most = 1 << 20
		}
		return float64(least) - 0.5, float64(most) + 0.5
	}
	preferred := pool.PreferredR10
	if fine {
		preferred = pool.Preferred
	}
	before, after := preferred(v-1, pool.Down), preferred(v+1, pool.Up)
	if f == pool.SoldToAsked {
		before, after = v-pool.One/20, v+pool.One/20
	}
	at := func(m pool.Micros) float64 { return float64(m) / 1e6 }
	switch k {
	case 1:
		return at(v), at(after)
	case 3:
		return at(before), at(v)
	}
	return (at(before) + at(v)) / 2, (at(v) + at(after)) / 2
}

// see gathers what was published of a cut, with the votes behind it.
// more adds what is not published, as if it were.
func (m *market) see(cut pool.Cut, more extra) view {
	w := view{cut: cut}
	marks := func(day pool.Day) map[int]string {
		in := map[int]string{}
		for _, o := range m.offers {
			if counts(o, day) && inCut(o.record, cut) {
				in[o.maker] += fmt.Sprint(o.record.ID, " ")
			}
		}
		return in
	}
	crowdOf := func(is func(i int) bool) (c crowd) {
		for i := range m.makers {
			if is(i) {
				c.flip(i)
			}
		}
		return c
	}
	var last map[int]string
	ever, fewest := crowd{}, m.rules.Makers
	if cut != pool.Everything {
		fewest = max(fewest, m.rules.PartMakers)
	}
	for t, day := range m.days {
		states := byCut(m.releases[t])
		line := states[cut]
		here := marks(day)
		e := event{again: last != nil, most: 1 << 20, mostDiff: 1 << 20}
		e.here = crowdOf(func(i int) bool { return here[i] != "" })
		e.changed = crowdOf(func(i int) bool { return here[i] != last[i] })
		ever[0] |= e.here[0]
		ever[1] |= e.here[1]
		switch {
		case line.Shown && line.AsOf == day:
			e.least, e.most = line.Makers.Bounds()
			e.least = max(e.least, fewest)
			if e.most == 0 {
				e.most = 1 << 20
			}
			e.leastDiff = m.rules.Changed
			last = here
		case line.Shown && cut != pool.Everything && int(day.Month()-line.AsOf.Month()) >= m.rules.Every:
			e.least, e.mostDiff = fewest, m.rules.Changed-1
		case line.Shown:
			e.least = fewest
		case line.Reason == pool.TooFewMakers:
			e.most, e.again = fewest-1, false
		default:
			continue
		}
		w.events = append(w.events, e)
		if line.Shown && line.AsOf == day {
			for _, f := range more.medians {
				w.looks = append(w.looks, m.asIf(cut, t, f, 8, 2)...)
			}
			for _, f := range more.middles {
				w.looks = append(w.looks, m.asIf(cut, t, f, 20, 1, 3)...)
			}
		}
		for _, p := range line.Figures {
			if p.Shown && p.AsOf == day {
				w.looks = append(w.looks, m.look(cut, t, p.Figure, 2, p.Value, int(p.Makers) >= m.rules.FineMakers))
			}
			if p.Middle != nil && p.Middle.AsOf == day {
				w.looks = append(w.looks, m.look(cut, t, p.Figure, 1, p.Middle.Low, true), m.look(cut, t, p.Figure, 3, p.Middle.High, true))
			}
		}
	}
	for i := range m.makers {
		if ever.has(i) {
			w.makers = append(w.makers, i)
		}
	}
	return w
}

// An extra is figures that an attacker is shown beside the published ones.
type extra struct{ medians, middles []pool.Figure }

// asIf gives the looks that publishing a figure with its cut would give, where as
// many makers as needed stand behind it.
func (m *market) asIf(cut pool.Cut, t int, f pool.Figure, least int, ks ...int) []look {
	l := m.look(cut, t, f, 2, pool.One, true)
	var values []float64
	for _, v := range l.votes {
		if m.life.subsample(string(cut), makerName(v.maker)) < m.rules.Share {
			values = append(values, v.value)
		}
	}
	if len(values) < least {
		return nil
	}
	var list []look
	for _, k := range ks {
		way := []pool.Way{1: pool.Down, 2: pool.Nearest, 3: pool.Up}[k]
		preferred, fine := pool.PreferredR10, len(values) >= m.rules.FineMakers
		if fine {
			preferred = pool.Preferred
		}
		list = append(list, m.look(cut, t, f, k, preferred(pool.Micros(quantile(values, k)*1e6), way), fine))
	}
	return list
}

func (m *market) look(cut pool.Cut, t int, f pool.Figure, k int, published pool.Micros, fine bool) look {
	l := look{figure: f, k: k, month: t, own: map[int][]float64{}}
	l.low, l.high = bounds(f, published, k, fine)
	for _, o := range m.offers {
		if v, has := o.record.Values.Of(f); has && counts(o, m.days[t]) && inCut(o.record, cut) {
			l.own[o.maker] = append(l.own[o.maker], float64(v)/1e6)
		}
	}
	for maker, own := range l.own {
		slices.Sort(own)
		l.votes = append(l.votes, vote{quantile(own, 2), maker})
	}
	slices.SortFunc(l.votes, func(a, b vote) int {
		if a.value < b.value || a.value == b.value && a.maker < b.maker {
			return -1
		}
		return 1
	})
	return l
}

// quantile is the type 7 k/4 quantile of sorted values.
func quantile(sorted []float64, k int) float64 {
	j, rest := (len(sorted)-1)*k/4, float64((len(sorted)-1)*k%4)/4
	if rest == 0 {
		return sorted[j]
	}
	return sorted[j] + rest*(sorted[j+1]-sorted[j])
}

// span gives the values v for which the k/4 quantile of the others and v lies in
// [low, high]; none do when from > to. at gives the i-th of n others in order.
//
// With v among the sorted others w, the j-th of all is min(max(v, w[j-1]), w[j]),
// so that the quantile only grows with v and is made of two straight pieces.
func span(before, at, after, rest, low, high float64) (from, to float64) {
	// solve gives the least v with quantile(v) >= q.
	solve := func(q float64) float64 {
		switch {
		case rest == 0 && q <= before, rest > 0 && q <= (1-rest)*before+rest*at:
			return math.Inf(-1)
		case rest == 0 && q > at, rest > 0 && q > (1-rest)*at+rest*after:
			return math.Inf(1)
		case rest == 0:
			return q
		case q <= at:
			return (q - rest*at) / (1 - rest)
		}
		return (q - (1-rest)*at) / rest
	}
	return solve(low), solve(math.Nextafter(high, math.Inf(1)))
}

// around gives the places of n sorted others that settle the k/4 quantile when
// one more comes among them.
func around(others []float64, k int) (before, at, after, rest float64) {
	n := len(others)
	j := n * k / 4
	before, at, after = math.Inf(-1), math.Inf(1), math.Inf(1)
	if j > 0 {
		before = others[j-1]
	}
	if j < n {
		at = others[j]
	}
	if j+1 < n {
		after = others[j+1]
	}
	return before, at, after, float64(n*k%4) / 4
}

// A secret is what the insider is after: an unknown number, what each figure of
// the missing record is as a multiple of it, and how likely each number is before
// anything is published. Numbers lie on a grid of equal steps of the logarithm.
type secret struct {
	maker  int
	record int64
	factor map[pool.Figure]float64
	first  float64
	prior  []float64
}

const gridStep = 0.005

func (s secret) number(g int) float64 { return math.Exp(s.first + gridStep*float64(g)) }

// cells gives the cells of the grid that lie in (from, to], cut at its ends.
func (s secret) cells(from, to float64) (least, most int) {
	cell := func(v float64) int {
		switch {
		case v <= 0:
			return 0
		case math.IsInf(v, 1):
			return len(s.prior)
		}
		return min(max(int(math.Ceil((math.Log(v)-s.first)/gridStep)), 0), len(s.prior))
	}
	return cell(from), cell(to) - 1
}

// A hint is a look as the insider sees it: without the missing value.
type hint struct {
	look
	here   crowd
	in     bool // the missing record is behind it
	others []float64
	factor float64
}

// hints gives what of a view there is to use. A look that has the missing record
// in it by a value that is not the secret's says nothing clear, and is left.
func (m *market) hints(v view, s secret) []hint {
	var list []hint
	for _, l := range v.looks {
		h := hint{look: l, factor: s.factor[l.figure]}
		for _, w := range l.votes {
			h.here.flip(w.maker)
		}
		for _, o := range m.offers {
			if o.record.ID == s.record && counts(o, m.days[l.month]) {
				_, h.in = o.record.Values.Of(l.figure)
			}
		}
		if h.in {
			if h.factor == 0 {
				continue
			}
			h.others = slices.Clone(l.own[s.maker])
			missing := m.valueOf(s.record, l.figure)
			i := slices.Index(h.others, missing)
			h.others = slices.Delete(h.others, i, i+1)
		}
		list = append(list, h)
	}
	return list
}

func (m *market) valueOf(record int64, f pool.Figure) float64 {
	i := slices.IndexFunc(m.offers, func(o offer) bool { return o.record.ID == record })
	v, _ := m.offers[i].record.Values.Of(f)
	return float64(v) / 1e6
}
