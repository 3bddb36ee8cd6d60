package pool

import (
	"cmp"
	"iter"
	"slices"
)

// A fact is what the selection knows of a record: all but its values. It holds
// no pointer, so that a million of them cost little to keep.
type fact struct {
	id    int64
	place int32           // of its amounts
	maker int32           // its number in the crowd
	in    [families]int32 // numbers of cuts, 0 for none
	has   presence
	// drawn has a bit for Everything and one for each family: whether the maker
	// counts in that cut.
	drawn uint8
}

// amounts are the values of a record that has a fact.
type amounts [figureCount]Micros

// A crowd is all that counts on a day, with makers and cuts as numbers.
type crowd struct {
	// facts are in order of maker and id.
	facts []fact
	// makers are the tags in order; their places are the numbers.
	makers []string
	// voices has for each maker who speaks with one voice: the maker's own
	// number, or that of a shop, which is not the number of a maker.
	voices []int32
	// shared are the voices of all who do not speak for themselves alone.
	shared voices
	// cuts are the names of the numbers. 0 is no cut, 1 is Everything.
	cuts    []Cut
	numbers map[Cut]int32
}

const everything = 1

// gather gives the facts and amounts of the records that count on the day: old
// enough, not too old, of an account that is not new. Each record comes with the
// first day of its maker. (Step 1.)
func gather(day Day, records iter.Seq2[Record, Day], rules Rules) (*crowd, []amounts) {
	c := &crowd{shared: make(voices), cuts: []Cut{""}, numbers: make(map[Cut]int32)}
	c.number(Everything)
	var values []amounts
	var roll roll
	words := [families]map[string]int32{make(map[string]int32), make(map[string]int32)}
	months := make(map[Month]bool)
	last := ""
	for r, joined := range records {
		if r.Shop != "" && r.Maker != last {
			c.shared[r.Maker] = voiceOf(r)
			last = r.Maker
		}
		counts, known := months[r.Sold]
		if !known {
			counts = rules.counts(r.Sold, day)
			months[r.Sold] = counts
		}
		if !counts || joined > day-Day(rules.NewAccount) {
			continue
		}
		in := [families]int32{c.word(words[0], categoryPrefix, r.Category), c.word(words[1], regionPrefix, r.Region)}
		c.facts = added(c.facts, fact{id: r.ID, place: int32(len(values)), maker: roll.number(r.Maker), in: in, has: r.Values.has})
		values = added(values, r.Values.at)
	}
	c.order(&roll)
	c.speak()
	return c, values
}

// added appends, and doubles what is full: a long list is not copied over and
// over.
func added[T any](list []T, one T) []T {
	if len(list) == cap(list) {
		list = slices.Grow(list, max(len(list), 64))
	}
	return append(list, one)
}

// number gives the number of a cut.
func (c *crowd) number(cut Cut) int32 {
	n, known := c.numbers[cut]
	if !known {
		n = int32(len(c.cuts))
		c.cuts = append(c.cuts, cut)
		c.numbers[cut] = n
	}
	return n
}

// word gives the number of the cut of a word, 0 for none. It notes the word, so
// that a name is not put together for each record.
func (c *crowd) word(noted map[string]int32, prefix Cut, word string) int32 {
	if word == "" {
		return 0
	}
	n, known := noted[word]
	if !known {
		n = c.number(prefix + Cut(word))
		noted[word] = n
	}
	return n
}

// A roll numbers makers as they come. Only when they do not come in order has it
// to look a maker up.
type roll struct {
	names []string
	known map[string]int32
}

func (r *roll) number(name string) int32 {
	n := int32(len(r.names))
	if n > 0 && r.names[n-1] == name {
		return n - 1
	}
	if r.known == nil && n > 0 && name < r.names[n-1] {
		r.known = make(map[string]int32, n)
		for i, one := range r.names {
			r.known[one] = int32(i)
		}
	}
	if r.known != nil {
		if i, known := r.known[name]; known {
			return i
		}
		r.known[name] = n
	}
	r.names = added(r.names, name)
	return n
}

// order brings the facts into order of maker and id.
func (c *crowd) order(roll *roll) {
	c.makers = roll.names
	if roll.known != nil {
		c.makers = slices.Sorted(slices.Values(roll.names))
		rank := make([]int32, len(c.makers))
		for i, name := range c.makers {
			rank[roll.known[name]] = int32(i)
		}
		for i := range c.facts {
			c.facts[i].maker = rank[c.facts[i].maker]
		}
		slices.SortFunc(c.facts, func(a, b fact) int { return cmp.Compare(a.maker, b.maker) })
	}
	for _, own := range c.byMaker() {
		slices.SortFunc(own, func(a, b fact) int { return cmp.Compare(a.id, b.id) })
	}
}

// byMaker goes through the facts maker by maker.
func (c *crowd) byMaker() iter.Seq2[int32, []fact] {
	return func(yield func(int32, []fact) bool) {
		for rest := c.facts; len(rest) > 0; {
			n := 1
			for n < len(rest) && rest[n].maker == rest[0].maker {
				n++
			}
			if !yield(rest[0].maker, rest[:n]) {
				return
			}
			rest = rest[n:]
		}
	}
}

// voiceOf says who speaks with one voice: a maker alone, or all of a shop. That a
// tag cannot be taken for a shop is seen to by the one more byte.
func voiceOf(r Record) string {
	if r.Shop == "" {
		return r.Maker
	}
	return "\x00" + r.Shop
}

// voices has the voices of the makers who do not speak for themselves alone. A
// maker of no record any more has none, and is taken for a voice of its own.
type voices map[string]string

func (v voices) of(maker string) string {
	if voice, shared := v[maker]; shared {
		return voice
	}
	return maker
}

// speak numbers the voices.
func (c *crowd) speak() {
	c.voices = make([]int32, len(c.makers))
	shops := make(map[string]int32)
	for i, maker := range c.makers {
		c.voices[i] = int32(i)
		if len(c.shared) == 0 {
			continue
		}
		if voice, shared := c.shared[maker]; shared {
			n, known := shops[voice]
			if !known {
				n = int32(len(c.makers) + len(shops))
				shops[voice] = n
			}
			c.voices[i] = n
		}
	}
}

// active counts the voices in the crowd.
func (c *crowd) active() int {
	found := make(map[int32]bool)
	shops := 0
	for i, voice := range c.voices {
		if voice != int32(i) {
			shops++
			found[voice] = true
		}
	}
	return len(c.makers) - shops + len(found)
}
