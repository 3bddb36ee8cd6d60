package pool

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"slices"
)

// sampled sorts the facts into their cuts, by number, and leaves out of each the
// makers who never count in it. It gives places among the facts. (Step 2.)
func (c *crowd) sampled(share uint32, subsample func(cut, maker string) uint32) [][]int32 {
	sizes := make([]int, len(c.cuts))
	type draw struct {
		cut int32
		in  bool
	}
	var draws []draw // of one maker; a cut is drawn for once
	for maker, own := range c.byMaker() {
		draws = draws[:0]
		counts := func(cut int32) bool {
			for _, d := range draws {
				if d.cut == cut {
					return d.in
				}
			}
			d := draw{cut, subsample(string(c.cuts[cut]), c.makers[maker]) < share}
			draws = append(draws, d)
			return d.in
		}
		for i := range own {
			f := &own[i]
			for bit, cut := range f.cuts() {
				if cut != 0 && counts(cut) {
					f.drawn |= 1 << bit
					sizes[cut]++
				}
			}
		}
	}
	inCut := make([][]int32, len(c.cuts))
	for cut, size := range sizes {
		inCut[cut] = make([]int32, 0, size)
	}
	for i := range c.facts {
		f := &c.facts[i]
		for bit, cut := range f.cuts() {
			if f.drawn&(1<<bit) != 0 {
				inCut[cut] = append(inCut[cut], int32(i))
			}
		}
	}
	return inCut
}

// cuts are the cuts that a record falls in, Everything first.
func (f *fact) cuts() [1 + families]int32 { return [...]int32{everything, f.in[0], f.in[1]} }

// A share is one maker's part in a selection: some of its places, and the mark
// of their records.
type share struct {
	maker, from, to int32
	mark            [32]byte
}

// A selection is whose records a series would speak of, in order of maker.
type selection struct {
	*crowd
	in     []int32 // places among the facts
	shares []share
	// entries are the ledger, once it was asked for.
	entries ledger
}

// selected gathers facts by maker. Their places come in order.
func (c *crowd) selected(in []int32) *selection {
	makers := 0
	for i, place := range in {
		if i == 0 || c.facts[place].maker != c.facts[in[i-1]].maker {
			makers++
		}
	}
	s := &selection{crowd: c, in: in, shares: make([]share, 0, makers)}
	var ids []byte
	for from := 0; from < len(in); {
		maker := c.facts[in[from]].maker
		to := from
		for ids = ids[:0]; to < len(in) && c.facts[in[to]].maker == maker; to++ {
			ids = appendID(ids, c.facts[in[to]])
		}
		s.shares = append(s.shares, share{maker, int32(from), int32(to), sha256.Sum256(ids)})
		from = to
	}
	return s
}

// appendID appends what a mark is made of: the SHA-256 of a maker's ids, sorted,
// each as 8 bytes, big end first.
func appendID(ids []byte, f fact) []byte { return binary.BigEndian.AppendUint64(ids, uint64(f.id)) }

// withFigure gives the part of a selection that has the figure: the selection
// itself where all of it does.
func (s *selection) withFigure(f Figure) *selection {
	n := 0
	for _, place := range s.in {
		if s.facts[place].has.has(f) {
			n++
		}
	}
	if n == len(s.in) {
		return s
	}
	with := make([]int32, 0, n)
	for _, place := range s.in {
		if s.facts[place].has.has(f) {
			with = append(with, place)
		}
	}
	return s.selected(with)
}

// places are the places of one maker's facts.
func (s *selection) places(one share) []int32 { return s.in[one.from:one.to] }

// alone says whether each maker in the selection speaks for themselves.
func (s *selection) alone() bool {
	return len(s.shared) == 0 ||
		!slices.ContainsFunc(s.shares, func(one share) bool { return s.crowd.voices[one.maker] != one.maker })
}

// voices counts the makers in the selection, those of a shop as one.
func (s *selection) voices() int {
	if s.alone() {
		return len(s.shares)
	}
	found := make(map[int32]bool, len(s.shares))
	for _, one := range s.shares {
		found[s.crowd.voices[one.maker]] = true
	}
	return len(found)
}

// ledger gives the marks of the makers. Series of the same sales have the same.
func (s *selection) ledger() ledger {
	if s.entries == nil {
		s.entries = make(ledger, len(s.shares))
		for i, one := range s.shares {
			s.entries[i] = Entry{s.makers[one.maker], one.mark}
		}
	}
	return s.entries
}

// changed says whether at least so many makers are in the selection or in what
// was shown before only, or have other records in it, those of a shop as one.
// Nobody has changed by joining a shop or leaving it: else two accounts could be
// made to look like three that changed.
func (s *selection) changed(before ledger, least int) bool {
	found := make(map[string]bool, max(least, 0))
	shares := s.shares
	for len(found) < least && len(shares)+len(before) > 0 {
		side := 0
		switch {
		case len(before) == 0:
			side = -1
		case len(shares) == 0:
			side = 1
		default:
			side = cmp.Compare(s.makers[shares[0].maker], before[0].Maker)
		}
		switch {
		case side < 0:
			found[s.shared.of(s.makers[shares[0].maker])] = true
			shares = shares[1:]
		case side > 0:
			found[s.shared.of(before[0].Maker)] = true
			before = before[1:]
		default:
			if shares[0].mark != before[0].Records {
				found[s.shared.of(before[0].Maker)] = true
			}
			shares, before = shares[1:], before[1:]
		}
	}
	return len(found) >= least
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
