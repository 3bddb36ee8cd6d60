package pool

import (
	"crypto/sha256"
	"slices"
)

// small says whether taking the shown cuts of one family away from the selection
// would leave the records of a few makers: more than none, fewer than Remainder.
// What a kept cut shows is known by its marks only, so a maker whose mark there
// has changed may or may not leave records; the bound holds either way. (Step 6.)
func (g gate) small(series Series, who *selection) bool {
	if g.inside == nil {
		return false
	}
	for family := range families {
		shown := g.shownInside(series)
		surely, perhaps := make(map[int32]bool), false
		for _, one := range who.shares {
			switch who.leaves(one, family, shown) {
			case yes:
				surely[who.crowd.voices[one.maker]] = true
			case maybe:
				perhaps = true
			}
			if len(surely) >= g.rules.Remainder {
				break // enough, whoever else there is
			}
		}
		if (len(surely) > 0 || perhaps) && len(surely) < g.rules.Remainder {
			return true
		}
	}
	return false
}

// shownInside gives, by number of cut, what the cuts inside show of a series, and
// nil for those that show nothing.
func (g gate) shownInside(series Series) []*marks {
	shown := make([]*marks, len(g.crowd.cuts))
	for _, p := range g.inside {
		if n, known := g.crowd.numbers[p.cut]; known {
			shown[n] = p.shows(series)
		}
	}
	return shown
}

// marks are what a cut shows of a series: the selection of this release, or the
// ledger of an earlier one. They are asked for makers in order.
type marks struct {
	renewed []share
	kept    ledger
	isKept  bool
}

// of gives what is known of the maker: not in it, in it with the same records as
// now, or with the mark.
func (m *marks) of(number int32, maker string) (in, same bool, mark [32]byte) {
	if m.isKept {
		for len(m.kept) > 0 && m.kept[0].Maker < maker {
			m.kept = m.kept[1:]
		}
		if len(m.kept) == 0 || m.kept[0].Maker != maker {
			return false, false, mark
		}
		return true, false, m.kept[0].Records
	}
	for len(m.renewed) > 0 && m.renewed[0].maker < number {
		m.renewed = m.renewed[1:]
	}
	in = len(m.renewed) > 0 && m.renewed[0].maker == number
	return in, in, mark
}

type answer int

const (
	no answer = iota
	maybe
	yes
)

// leaves says whether some of the maker's records are in no shown cut.
func (s *selection) leaves(one share, family int, shown []*marks) answer {
	found := no
	own := s.places(one)
	for i, place := range own {
		cut := s.facts[place].in[family]
		inCut := func(other int32) bool { return s.facts[other].in[family] == cut }
		if slices.ContainsFunc(own[:i], inCut) {
			continue // seen with the first of its cut
		}
		if shown[cut] == nil {
			return yes
		}
		switch in, same, mark := shown[cut].of(one.maker, s.makers[one.maker]); {
		case !in:
			return yes
		case same:
		case mark != s.markIn(own[i:], inCut):
			found = maybe
		}
	}
	return found
}

// markIn is the mark of the records that are in a cut.
func (s *selection) markIn(places []int32, inCut func(int32) bool) [32]byte {
	var ids []byte
	for _, place := range places {
		if inCut(place) {
			ids = appendID(ids, s.facts[place])
		}
	}
	return sha256.Sum256(ids)
}

// shows gives what the plan shows of a series, nil for nothing.
func (p plan) shows(series Series) *marks {
	v := p.whole
	for f := range figureCount {
		switch series {
		case medianOf(f):
			v = p.medians[f]
		case middleOf(f):
			v = p.middles[f]
		}
	}
	switch v.act {
	case renew:
		return &marks{renewed: v.who.shares}
	case keep:
		return &marks{kept: p.past[series].of, isKept: true}
	}
	return nil
}
