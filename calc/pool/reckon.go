package pool

import "slices"

// quantiles gives the k/4 quantiles of the figure over the makers of a
// selection, each maker with one value: the median of that maker's own.
// (Step 3.)
func quantiles(f Figure, who selection, values map[int64]Values, ks ...int) []Micros {
	each := make([]Micros, 0, len(who))
	for _, one := range who {
		own := make([]Micros, 0, len(one.facts))
		for _, fact := range one.facts {
			v, _ := values[fact.id].Of(f)
			own = append(own, v)
		}
		vote, _ := Median(own)
		each = append(each, vote)
	}
	slices.Sort(each)
	out := make([]Micros, 0, len(ks))
	for _, k := range ks {
		v, _ := Quantile7(each, k, 4)
		out = append(out, v)
	}
	return out
}

// rounded gives a figure the coarseness it is published with. (Step 7.)
func rounded(f Figure, v Micros, way Way) Micros {
	switch f {
	case SoldToAsked:
		return Twentieths(v, way)
	case DaysToSell:
		return Whole(int(DaysBandOf(v)))
	}
	return Preferred(v, way)
}

// ends are the two ends of what a series shows; a median has both alike.
type ends struct{ low, high Micros }

func medianEnds(f Figure, who selection, values map[int64]Values) ends {
	m := rounded(f, quantiles(f, who, values, 2)[0], Nearest)
	return ends{m, m}
}

func middleEnds(f Figure, who selection, values map[int64]Values) ends {
	q := quantiles(f, who, values, 1, 3)
	return ends{rounded(f, q[0], Down), rounded(f, q[1], Up)}
}
