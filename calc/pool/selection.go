package pool

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"maps"
	"slices"
)

// A fact is what the selection knows of a record: all but its values.
type fact struct {
	id               int64
	maker, voice     string
	category, region string
	has              presence
}

// eligible gives the facts of the records that count on the day: old enough,
// not too old, of an account that is not new. They come in order of maker and
// id. (Step 1.)
func eligible(day Day, records []Record, since map[string]Day, rules Rules) []fact {
	facts := make([]fact, 0, len(records))
	for _, r := range records {
		joined, known := since[r.Maker]
		if !known || joined+Day(rules.NewAccount) > day || !rules.counts(r.Sold, day) {
			continue
		}
		facts = append(facts, fact{r.ID, r.Maker, voiceOf(r), r.Category, r.Region, r.Values.has})
	}
	slices.SortFunc(facts, func(a, b fact) int {
		return cmp.Or(cmp.Compare(a.maker, b.maker), cmp.Compare(a.id, b.id))
	})
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
		for _, cutOf := range families {
			place(cutOf(f), f)
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

// voices counts the makers in the selection, those of a shop as one.
func (s selection) voices() int {
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

// ledger gives the marks by maker.
func (s selection) ledger() ledger {
	l := make(ledger, len(s))
	for _, one := range s {
		l[one.maker] = one.mark
	}
	return l
}

// A ledger is the marks of the makers in a show.
type ledger map[string][32]byte

func ledgerOf(entries []Entry) ledger {
	l := make(ledger, len(entries))
	for _, e := range entries {
		l[e.Maker] = e.Records
	}
	return l
}

// entries gives the ledger in order of maker.
func (l ledger) entries() []Entry {
	list := make([]Entry, 0, len(l))
	for _, maker := range slices.Sorted(maps.Keys(l)) {
		list = append(list, Entry{maker, l[maker]})
	}
	return list
}

// changed counts the makers who are in one ledger only or have other records in
// the other, those of a shop as one. Nobody has changed by joining a shop or
// leaving it: else two accounts could be made to look like three that changed.
func (l ledger) changed(other ledger, by voices) int {
	found := make(map[string]bool)
	for maker, mark := range l {
		if was, both := other[maker]; !both || was != mark {
			found[by.of(maker)] = true
		}
	}
	for maker := range other {
		if _, both := l[maker]; !both {
			found[by.of(maker)] = true
		}
	}
	return len(found)
}
