package pool_test

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/pool"
)

// A plain release is the rules of the log one after another, with makers as names
// and every count taken to its end: slow, obvious, and what Release has to equal.
type plain struct {
	*world
	voice map[string]string
	// in has the records that count in a cut, by maker and in order of id.
	in map[pool.Cut]map[string][]pool.Record
	// last has what was shown before, and now what is shown of whom.
	last map[pool.Cut]map[pool.Series]pool.Show
	now  map[pool.Cut]map[pool.Series]map[string][32]byte
}

// A judged is what is decided about a series: "hide" for a reason, "keep" or
// "renew".
type judged struct {
	act    string
	reason pool.Reason
	who    map[string][]pool.Record
}

func (w *world) plainRelease() []pool.State {
	p := plain{w, map[string]string{}, map[pool.Cut]map[string][]pool.Record{}, map[pool.Cut]map[pool.Series]pool.Show{}, map[pool.Cut]map[pool.Series]map[string][32]byte{}}
	cuts := map[pool.Cut]bool{pool.Everything: true}
	for _, s := range w.states {
		cuts[s.Cut] = true
		p.last[s.Cut] = map[pool.Series]pool.Show{}
		for _, show := range s.Shows {
			p.last[s.Cut][show.Series] = show
		}
	}
	for _, r := range w.records {
		if r.Shop != "" {
			p.voice[r.Maker] = "shop " + r.Shop
		}
	}
	active := map[string]bool{}
	for _, r := range slices.SortedFunc(slices.Values(w.records), func(a, b pool.Record) int { return cmp.Compare(a.ID, b.ID) }) {
		tooYoung := r.Sold.Last() >= w.day-pool.Day(w.rules.Age)
		joined, known := w.since[r.Maker]
		if tooYoung || w.rules.Expired(r.Sold, w.day) || !known || joined+pool.Day(w.rules.NewAccount) > w.day {
			continue
		}
		active[p.voiceOf(r.Maker)] = true
		for _, cut := range append(plainCuts(r), pool.Everything) {
			if w.subsample(string(cut), r.Maker) < w.rules.Share {
				if p.in[cut] == nil {
					p.in[cut] = map[string][]pool.Record{}
				}
				p.in[cut][r.Maker] = append(p.in[cut][r.Maker], r)
				cuts[cut] = true
			}
		}
	}
	var states []pool.State
	for _, cut := range slices.Backward(slices.Sorted(maps.Keys(cuts))) { // Everything, "all", comes last
		states = append(states, p.state(cut, len(active) < w.rules.MinActive))
	}
	slices.SortFunc(states, func(a, b pool.State) int { return cmp.Compare(a.Cut, b.Cut) })
	return states
}

func plainCuts(r pool.Record) (cuts []pool.Cut) {
	if r.Category != "" {
		cuts = append(cuts, pool.CategoryCut(r.Category))
	}
	if r.Region != "" {
		cuts = append(cuts, pool.RegionCut(r.Region))
	}
	return cuts
}

func (p plain) voiceOf(maker string) string { return cmp.Or(p.voice[maker], "maker "+maker) }

func (p plain) voices(who map[string][]pool.Record) int {
	found := map[string]bool{}
	for maker := range who {
		found[p.voiceOf(maker)] = true
	}
	return len(found)
}

func plainMark(records []pool.Record) [32]byte {
	var ids []byte
	for _, r := range records {
		ids = binary.BigEndian.AppendUint64(ids, uint64(r.ID))
	}
	return sha256.Sum256(ids)
}

func plainMarks(who map[string][]pool.Record) map[string][32]byte {
	marks := map[string][32]byte{}
	for maker, own := range who {
		marks[maker] = plainMark(own)
	}
	return marks
}

func ledgerMarks(entries []pool.Entry) map[string][32]byte {
	marks := map[string][32]byte{}
	for _, e := range entries {
		marks[e.Maker] = e.Records
	}
	return marks
}

// state decides about a cut and makes its state.
func (p plain) state(cut pool.Cut, few bool) pool.State {
	s := pool.State{Line: pool.Line{Cut: cut}}
	p.now[cut] = map[pool.Series]map[string][32]byte{}
	whole := p.judge(cut, "whole", p.in[cut], p.rules.Least(cut, pool.Price), few)
	if few && cut != pool.Everything {
		whole = judged{act: "hide", reason: pool.TooFewActive}
	}
	medians, middles := map[pool.Figure]judged{}, map[pool.Figure]judged{}
	acts := map[string]bool{}
	for _, f := range pool.Figures(cut) {
		who := map[string][]pool.Record{}
		for maker, own := range p.in[cut] {
			for _, r := range own {
				if _, has := r.Values.Of(f); has {
					who[maker] = append(who[maker], r)
				}
			}
		}
		series := pool.Series(f.String())
		medians[f] = p.follow(cut, whole, series, p.judge(cut, series, who, p.rules.Least(cut, f), false))
		acts[medians[f].act] = true
		if f == pool.RealisedHourly || f == pool.SoldToAsked {
			middles[f] = p.follow(cut, medians[f], series+":middle", p.judge(cut, series+":middle", who, p.rules.MiddleMakers, true))
		}
	}
	if whole.act != "hide" && !acts["renew"] {
		whole = judged{act: "hide", reason: pool.TooFewMakers}
		if acts["keep"] {
			whole = judged{act: "keep"}
		}
	}
	cutShow, shown := p.show(&s, "whole", whole, nil)
	s.Shown, s.Reason = whole.act != "hide", whole.reason
	if shown {
		s.AsOf, s.Makers = cutShow.AsOf, cutShow.Makers
	}
	for _, f := range pool.Figures(cut) {
		one := pool.Published{Figure: f, Reason: medians[f].reason}
		if median, shown := p.show(&s, pool.Series(f.String()), medians[f], func(who map[string][]pool.Record) (pool.Micros, pool.Micros) {
			v := p.rounded(f, p.quantile(f, who, 2), pool.Nearest, who)
			return v, v
		}); shown {
			one = pool.Published{Figure: f, Shown: true, AsOf: median.AsOf, Makers: median.Makers, Value: median.Low}
		}
		if _, has := middles[f]; has {
			if middle, shown := p.show(&s, pool.Series(f.String()+":middle"), middles[f], func(who map[string][]pool.Record) (pool.Micros, pool.Micros) {
				return p.rounded(f, p.quantile(f, who, 1), pool.Down, who), p.rounded(f, p.quantile(f, who, 3), pool.Up, who)
			}); shown {
				one.Middle = &pool.Middle{Low: middle.Low, High: middle.High, AsOf: middle.AsOf}
			}
		}
		if s.Shown {
			s.Figures = append(s.Figures, one)
		}
	}
	slices.SortFunc(s.Shows, func(a, b pool.Show) int { return cmp.Compare(a.Series, b.Series) })
	return s
}

// judge decides about one series by itself.
func (p plain) judge(cut pool.Cut, series pool.Series, who map[string][]pool.Record, least int, quarterly bool) judged {
	last, shown := p.last[cut][series]
	if p.voices(who) < least {
		return judged{act: "hide", reason: pool.TooFewMakers}
	}
	if shown {
		now, before := plainMarks(who), ledgerMarks(last.Ledger)
		changed := map[string]bool{}
		for _, maker := range slices.Concat(slices.Collect(maps.Keys(now)), slices.Collect(maps.Keys(before))) {
			if a, b := now[maker], before[maker]; a != b {
				changed[p.voiceOf(maker)] = true
			}
		}
		months := int(p.day.Month() - last.AsOf.Month())
		if len(changed) < p.rules.Changed || months < p.rules.Every || quarterly && months < 3 {
			return judged{act: "keep"}
		}
	}
	if p.small(cut, series, who) {
		if shown {
			return judged{act: "keep"}
		}
		return judged{act: "hide", reason: pool.SmallRemainder}
	}
	return judged{act: "renew", who: who}
}

func (p plain) follow(cut pool.Cut, leads judged, series pool.Series, own judged) judged {
	switch {
	case leads.act == "hide":
		return judged{act: "hide", reason: leads.reason}
	case leads.act == "keep" && own.act == "renew":
		if _, shown := p.last[cut][series]; shown {
			return judged{act: "keep"}
		}
		return judged{act: "hide", reason: pool.TooFewChanged}
	}
	return own
}

// small says whether the shown categories, or the shown regions, leave few makers.
func (p plain) small(cut pool.Cut, series pool.Series, who map[string][]pool.Record) bool {
	if cut != pool.Everything {
		return false
	}
	for _, prefix := range []string{"category:", "region:"} {
		surely, perhaps := map[string]bool{}, map[string]bool{}
		for maker, own := range who {
			parts := map[pool.Cut][]pool.Record{}
			for _, r := range own {
				of := pool.Cut("")
				for _, c := range plainCuts(r) {
					if strings.HasPrefix(string(c), prefix) {
						of = c
					}
				}
				parts[of] = append(parts[of], r)
			}
			for of, part := range parts {
				mark, in := p.now[of][series][maker]
				if !in {
					surely[p.voiceOf(maker)] = true
				} else if mark != plainMark(part) {
					perhaps[p.voiceOf(maker)] = true
				}
			}
		}
		if len(surely)+len(perhaps) > 0 && len(surely) < p.rules.Remainder {
			return true
		}
	}
	return false
}

// show adds what is shown, or was last shown, of a series to the state.
func (p plain) show(s *pool.State, series pool.Series, v judged, ends func(map[string][]pool.Record) (low, high pool.Micros)) (pool.Show, bool) {
	show, was := p.last[s.Cut][series]
	if v.act == "renew" {
		show = pool.Show{Series: series, AsOf: p.day, Makers: pool.BandOf(p.voices(v.who))}
		if ends != nil {
			show.Low, show.High = ends(v.who)
		}
		for _, maker := range slices.Sorted(maps.Keys(v.who)) {
			show.Ledger = append(show.Ledger, pool.Entry{Maker: maker, Records: plainMark(v.who[maker])})
		}
	} else if !was {
		return pool.Show{}, false
	}
	s.Shows = append(s.Shows, show)
	if v.act != "hide" {
		p.now[s.Cut][series] = ledgerMarks(show.Ledger)
	}
	return show, v.act != "hide"
}

// quantile is the k-th quarter of the voices' medians.
func (p plain) quantile(f pool.Figure, who map[string][]pool.Record, k int) pool.Micros {
	of := map[string][]pool.Micros{}
	for maker, own := range who {
		for _, r := range own {
			v, _ := r.Values.Of(f)
			of[p.voiceOf(maker)] = append(of[p.voiceOf(maker)], v)
		}
	}
	var votes []pool.Micros
	for _, own := range of {
		vote, _ := pool.Quantile7(slices.Sorted(slices.Values(own)), 1, 2)
		votes = append(votes, vote)
	}
	v, _ := pool.Quantile7(slices.Sorted(slices.Values(votes)), k, 4)
	return v
}

func (p plain) rounded(f pool.Figure, v pool.Micros, way pool.Way, who map[string][]pool.Record) pool.Micros {
	switch {
	case f == pool.SoldToAsked:
		return pool.Twentieths(v, way)
	case f == pool.DaysToSell:
		return pool.Whole(int(pool.DaysBandOf(v)))
	case p.voices(who) >= p.rules.FineMakers:
		return pool.Preferred(v, way)
	}
	return pool.PreferredR10(v, way)
}

func TestAReleaseIsWhatThePlainRulesMakeOfTheSameRecords(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		partners := rapid.IntRange(0, 3).Draw(t, "makers of ten in a shop")
		live(t, func(w *world, _ []pool.State) {
			for i, r := range w.records {
				if number := r.Maker[len(r.Maker)-3:]; int(number[2]-'0') < partners {
					w.records[i].Shop = "shop " + number[:2]
				}
			}
			want := w.plainRelease()
			require.Equal(t, want, w.release(), "as the records come")
			slices.SortFunc(w.records, func(a, b pool.Record) int { return cmp.Compare(a.Maker, b.Maker) })
			require.Equal(t, want, w.release(), "in order of maker")
		})
	})
}
