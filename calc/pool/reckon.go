package pool

import (
	"cmp"
	"slices"
)

// quantiles gives the k/4 quantiles of the figure over the makers of a
// selection, each maker or shop with one value: the median of its own. (Step 3.)
func quantiles(f Figure, who *selection, values []amounts, ks ...int) []Micros {
	shares, voices := who.shares, who.crowd.voices
	if !who.alone() { // those of a shop one after another
		shares = slices.Clone(shares)
		slices.SortStableFunc(shares, func(a, b share) int { return cmp.Compare(voices[a.maker], voices[b.maker]) })
	}
	each := make([]Micros, 0, len(shares))
	var own []Micros
	for i, one := range shares {
		for _, place := range who.places(one) {
			own = append(own, values[who.facts[place].place][f])
		}
		if i+1 < len(shares) && voices[shares[i+1].maker] == voices[one.maker] {
			continue
		}
		slices.Sort(own)
		vote, _ := Quantile7(own, 1, 2)
		each, own = append(each, vote), own[:0]
	}
	slices.Sort(each)
	out := make([]Micros, 0, len(ks))
	for _, k := range ks {
		v, _ := Quantile7(each, k, 4)
		out = append(out, v)
	}
	return out
}

// rounded gives a figure the coarseness it is published with. (Step 7, and where
// few makers stand behind it every second preferred number only.)
func rounded(f Figure, v Micros, way Way, fine bool) Micros {
	switch {
	case f == SoldToAsked:
		return Twentieths(v, way)
	case f == DaysToSell:
		return Whole(int(DaysBandOf(v)))
	case fine:
		return Preferred(v, way)
	}
	return PreferredR10(v, way)
}

// ends are the two ends of what a series shows; a median has both alike.
type ends struct{ low, high Micros }

// A reckoner works figures out.
type reckoner struct {
	values     []amounts
	fineMakers int
}

func (r reckoner) median(f Figure, who *selection) ends {
	m := rounded(f, quantiles(f, who, r.values, 2)[0], Nearest, who.voices() >= r.fineMakers)
	return ends{m, m}
}

func (r reckoner) middle(f Figure, who *selection) ends {
	fine := who.voices() >= r.fineMakers
	q := quantiles(f, who, r.values, 1, 3)
	return ends{rounded(f, q[0], Down, fine), rounded(f, q[1], Up, fine)}
}
