package pool

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"slices"
)

// A fact is what the selection knows of a record: all but its values.
type fact struct {
	id           int64
	place        int // among the records
	maker, voice string
	in           [families]Cut
	has          presence
}

// eligible gives the facts of the records that count on the day: old enough,
// not too old, of an account that is not new. They come in order of maker and
// id. (Step 1.)
func eligible(day Day, records []Record, since map[string]Day, rules Rules) []fact {
	facts := make([]fact, 0, len(records))
	seen := make(map[string]Cut)
	for place, r := range records {
		joined, known := since[r.Maker]
		if !known || joined+Day(rules.NewAccount) > day || !rules.counts(r.Sold, day) {
			continue
		}
		facts = append(facts, fact{r.ID, place, r.Maker, voiceOf(r), cutsOf(r, seen), r.Values.has})
	}
	maker := func(a, b fact) int { return cmp.Compare(a.maker, b.maker) }
	if !slices.IsSortedFunc(facts, maker) { // they mostly come so
		slices.SortFunc(facts, maker)
	}
	for rest := facts; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].maker == rest[0].maker {
			n++
		}
		slices.SortFunc(rest[:n], func(a, b fact) int { return cmp.Compare(a.id, b.id) })
		rest = rest[n:]
	}
	return facts
}

// voiceOf says who speaks with one voice: a maker alone, or all of a shop. That a
// tag cannot be taken for a shop is seen to by the one more byte.
func voiceOf(r Record) string {
	if r.Shop == "" {
		return r.Maker
	}
	return "\x00" + r.Shop
}

// voicesOf gives each maker's voice. A maker of no record any more has none, and
// is taken for a voice of its own.
func voicesOf(records []Record) voices {
	v := make(voices, len(records)/4)
	for _, r := range records {
		if r.Shop != "" {
			v[r.Maker] = voiceOf(r)
		}
	}
	return v
}

// voices has the voices of the makers who do not speak for themselves alone.
type voices map[string]string

func (v voices) of(maker string) string {
	if voice, shared := v[maker]; shared {
		return voice
	}
	return maker
}

// voicesIn counts the voices in facts.
func voicesIn(facts []fact) int {
	found := make(map[string]bool)
	for _, f := range facts {
		found[f.voice] = true
	}
	return len(found)
}

// sampled sorts the facts into their cuts and leaves out of each the makers who
// never count in it. (Step 2.)
func sampled(facts []fact, share uint32, subsample func(cut, maker string) uint32) map[Cut][]fact {
	cuts := make(map[Cut][]fact)
	place := func(cut Cut, f fact) {
		if cut == "" {
			return
		}
		if n := len(cuts[cut]); n > 0 && cuts[cut][n-1].maker == f.maker || subsample(string(cut), f.maker) < share {
			cuts[cut] = append(cuts[cut], f)
		}
	}
	for _, f := range facts {
		place(Everything, f)
		for _, cut := range f.in {
			place(cut, f)
		}
	}
	return cuts
}

// A share is one maker's part in a selection.
type share struct {
	maker, voice string
	facts        []fact
	mark         [32]byte
}

// A selection is whose records a series would speak of, in order of maker.
type selection []share

// selected gathers the facts by maker. The facts are in order of maker and id.
func selected(facts []fact) selection {
	var who selection
	for len(facts) > 0 {
		n := 1
		for n < len(facts) && facts[n].maker == facts[0].maker {
			n++
		}
		who = append(who, share{facts[0].maker, facts[0].voice, facts[:n:n], markOf(facts[:n])})
		facts = facts[n:]
	}
	return who
}

// withFigure gives the facts of records that have the figure.
func withFigure(facts []fact, f Figure) []fact {
	var with []fact
	for _, one := range facts {
		if one.has.has(f) {
			with = append(with, one)
		}
	}
	return with
}

// alone says whether each maker in the selection speaks for themselves.
func (s selection) alone() bool {
	return !slices.ContainsFunc(s, func(one share) bool { return one.voice != one.maker })
}

// voices counts the makers in the selection, those of a shop as one.
func (s selection) voices() int {
	if s.alone() {
		return len(s)
	}
	found := make(map[string]bool, len(s))
	for _, one := range s {
		found[one.voice] = true
	}
	return len(found)
}

// markOf is the SHA-256 of the ids, each as 8 bytes, big end first.
func markOf(facts []fact) [32]byte {
	ids := make([]byte, 0, 8*len(facts))
	for _, f := range facts {
		ids = binary.BigEndian.AppendUint64(ids, uint64(f.id))
	}
	return sha256.Sum256(ids)
}

// ledger gives the marks of the makers.
func (s selection) ledger() ledger {
	l := make(ledger, len(s))
	for i, one := range s {
		l[i] = Entry{one.maker, one.mark}
	}
	return l
}

// A ledger is the marks of the makers in a show, in order of maker.
type ledger []Entry

func ledgerOf(entries []Entry) ledger {
	if slices.IsSortedFunc(entries, byMaker) {
		return entries
	}
	return slices.SortedFunc(slices.Values(entries), byMaker)
}

func byMaker(a, b Entry) int { return cmp.Compare(a.Maker, b.Maker) }

// mark gives the mark of a maker, and false when they are not in the ledger.
func (l ledger) mark(maker string) ([32]byte, bool) {
	i, in := slices.BinarySearchFunc(l, maker, func(e Entry, maker string) int { return cmp.Compare(e.Maker, maker) })
	if !in {
		return [32]byte{}, false
	}
	return l[i].Records, true
}

// changed counts the makers who are in one ledger only or have other records in
// the other, those of a shop as one. Nobody has changed by joining a shop or
// leaving it: else two accounts could be made to look like three that changed.
func (l ledger) changed(other ledger, by voices) int {
	found := make(map[string]bool)
	for len(l)+len(other) > 0 {
		switch {
		case len(other) == 0 || len(l) > 0 && l[0].Maker < other[0].Maker:
			found[by.of(l[0].Maker)] = true
			l = l[1:]
		case len(l) == 0 || other[0].Maker < l[0].Maker:
			found[by.of(other[0].Maker)] = true
			other = other[1:]
		default:
			if l[0].Records != other[0].Records {
				found[by.of(l[0].Maker)] = true
			}
			l, other = l[1:], other[1:]
		}
	}
	return len(found)
}
