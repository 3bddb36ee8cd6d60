package pool_test

import (
	"math"
	"slices"

	"tallystick/calc/pool"
)

// The plain live market, which the attack has to break: any filter, and the exact
// median of whatever sales there are so far.

// filters are the parts of the live market that a sale is in.
func filters(o offer) []func(offer) bool {
	category := func(p offer) bool { return p.category == o.category }
	region := func(p offer) bool { return p.record.Region == o.record.Region }
	month := func(p offer) bool { return p.month == o.month }
	return []func(offer) bool{
		func(offer) bool { return true }, category, region,
		func(p offer) bool { return category(p) && region(p) },
		func(p offer) bool { return category(p) && region(p) && month(p) },
	}
}

// liveStates is how many states after the sale the attackers look at, by filter.
const liveStates = 40

// live calls see with the sales of a filter, sorted, from the moment that the sale
// at place is the newest on.
func (m *market) live(place int, in func(offer) bool, see func(sales []float64)) {
	var sales []float64
	seen := 0
	for i, o := range m.offers {
		if !in(o) {
			continue
		}
		v := perFootOf(o)
		at, _ := slices.BinarySearch(sales, v)
		sales = slices.Insert(sales, at, v)
		if i >= place && seen < liveStates {
			seen++
			see(sales)
		}
	}
}

func perFootOf(o offer) float64 {
	v, _ := o.record.Values.Of(pool.PricePerBoardFoot)
	return float64(v) / 1e6
}

// liveInsider gives what the missing sale may be after all live medians: what
// agrees with the most of them.
func (m *market) liveInsider(place int, s secret) []float64 {
	o := m.offers[place]
	misses := make([]int, len(s.prior)+1)
	looks := 0
	for _, in := range filters(o) {
		m.live(place, in, func(sales []float64) {
			published := quantile(sales, 2)
			others := slices.Clone(sales)
			at, _ := slices.BinarySearch(others, perFootOf(o))
			others = slices.Delete(others, at, at+1)
			a, b, c, rest := around(others, 2)
			// A cell of the grid is half a per cent wide.
			from, to := span(a, b, c, rest, published*0.996, published*1.004)
			looks++
			if least, most := s.cells(from, to); least <= most {
				misses[least]--
				misses[most+1]++
			}
		})
	}
	belief, run := slices.Clone(s.prior), looks
	for g := range belief {
		run += misses[g]
		belief[g] *= math.Exp(-figureLoss * float64(run))
	}
	return belief
}

// liveOutsider gives the first median that the sale is in, of the narrowest
// filter.
func (m *market) liveOutsider(place int) (guess float64) {
	all := filters(m.offers[place])
	m.live(place, all[len(all)-1], func(sales []float64) {
		if guess == 0 {
			guess = quantile(sales, 2)
		}
	})
	return guess
}

// outsider gives the first figure that the sale counts in, of its category or
// region, or of everything; 0 when none is ever published.
func (m *market) outsider(o offer, f pool.Figure) float64 {
	cuts := m.by.cuts(o.record) // everything, category, region
	for _, cut := range append(cuts[1:], pool.Everything) {
		for t, day := range m.days {
			if !counts(o, day) {
				continue
			}
			if p, shown := byCut(m.releases[t])[cut].Figure(f); shown && p.AsOf == day {
				return float64(p.Value) / 1e6
			}
		}
	}
	return 0
}
