package pool

import (
	"cmp"
	"iter"
	"maps"
	"math"
	"slices"
)

// Release makes the states of one release day from all the records of one
// community and the states of the release before.
//
// since gives each maker's first day; a maker without one does not count.
// subsample gives 32 secret bits for a cut and a maker, always the same ones. A
// cut of a previous state gets a state even when it has no records, so a caller
// may name the cuts it wants by giving empty states.
//
// The same input gives the same output, in order of cut; the order of the input
// does not matter.
func Release(day Day, records []Record, since map[string]Day, previous []State, rules Rules,
	subsample func(cut, maker string) uint32,
) []State {
	return ReleaseOf(day, func(yield func(Record, Day) bool) {
		for _, r := range records {
			joined, known := since[r.Maker]
			if !known {
				joined = never
			}
			if !yield(r, joined) {
				return
			}
		}
	}, previous, rules, subsample)
}

// never is the first day of a maker who does not count.
const never Day = math.MaxInt

// ReleaseOf is Release of records that come one by one, each with the first day of
// its maker, so that a long log need not be held. They are gone through once. Where
// those of a maker come together, in order of maker, it is faster.
func ReleaseOf(day Day, records iter.Seq2[Record, Day], previous []State, rules Rules,
	subsample func(cut, maker string) uint32,
) []State {
	everybody, values := gather(day, records, rules)
	plans := settle(day, everybody, memory(previous), rules, subsample)

	before := make(map[Cut]State, len(previous))
	for _, s := range previous {
		before[s.Cut] = s
	}
	states := make([]State, 0, len(plans))
	for _, p := range plans {
		states = append(states, carryOut(day, p, before[p.cut], reckoner{values, rules.FineMakers}))
	}
	return states
}

// memory takes from the previous states what the selection may know: when and of
// whom, not what.
func memory(previous []State) map[Cut]map[Series]past {
	cuts := make(map[Cut]map[Series]past, len(previous))
	for _, s := range previous {
		cuts[s.Cut] = make(map[Series]past, len(s.Shows))
		for _, show := range s.Shows {
			cuts[s.Cut][show.Series] = past{show.AsOf, ledgerOf(show.Ledger)}
		}
	}
	return cuts
}

// settle decides what is shown, in order of cut. Nothing it is given holds a
// value. (Steps 2 and 4 to 6.)
func settle(day Day, everybody *crowd, before map[Cut]map[Series]past, rules Rules,
	subsample func(cut, maker string) uint32,
) []plan {
	inCut := everybody.sampled(rules.Share, subsample)
	cuts := map[Cut][]int32{}
	for cut := range before {
		cuts[cut] = nil
	}
	for number, in := range inCut {
		if len(in) > 0 {
			cuts[everybody.cuts[number]] = in
		}
	}
	all := cuts[Everything]
	delete(cuts, Everything)
	few := everybody.active() < rules.MinActive

	inside := make([]plan, 0, len(cuts))
	for _, cut := range slices.Sorted(maps.Keys(cuts)) {
		g := gate{day: day, rules: rules, past: before[cut], crowd: everybody, few: few}
		inside = append(inside, g.decide(cut, cuts[cut]))
	}
	g := gate{day: day, rules: rules, past: before[Everything], crowd: everybody, few: few, inside: inside}
	return append([]plan{g.decide(Everything, all)}, inside...)
}

// carryOut makes the state that a plan asks for: it reckons what is renewed and
// repeats what is kept. (Steps 3 and 7.)
func carryOut(day Day, p plan, before State, reckon reckoner) State {
	s := State{Line: Line{Cut: p.cut, Shown: p.whole.act != hide, Reason: p.whole.reason}}
	show := func(series Series, v verdict, endsOf func(*selection) ends) (Show, bool) {
		last := before.show(series)
		switch {
		case v.act == renew:
			e := endsOf(v.who)
			s.Shows = append(s.Shows, Show{series, day, BandOf(v.who.voices()), e.low, e.high, v.who.ledger()})
		case last != nil:
			s.Shows = append(s.Shows, *last)
		default:
			return Show{}, false
		}
		return s.Shows[len(s.Shows)-1], v.act != hide
	}

	if cut, shown := show(whole, p.whole, func(*selection) ends { return ends{} }); shown {
		s.AsOf, s.Makers = cut.AsOf, cut.Makers
	}
	for _, f := range Figures(p.cut) {
		one := Published{Figure: f, Reason: p.medians[f].reason}
		median, shown := show(medianOf(f), p.medians[f], func(who *selection) ends { return reckon.median(f, who) })
		if shown {
			one = Published{Figure: f, Shown: true, AsOf: median.AsOf, Makers: median.Makers, Value: median.Low}
		}
		middle, shown := show(middleOf(f), p.middles[f], func(who *selection) ends { return reckon.middle(f, who) })
		if shown {
			one.Middle = &Middle{middle.Low, middle.High, middle.AsOf}
		}
		if s.Shown {
			s.Figures = append(s.Figures, one)
		}
	}
	slices.SortFunc(s.Shows, func(a, b Show) int { return cmp.Compare(a.Series, b.Series) })
	return s
}
