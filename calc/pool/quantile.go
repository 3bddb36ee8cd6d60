package pool

import "slices"

// Median gives the middle of the values, and false when there are none. Between
// two middle values it is half-way, half to even. The values stay as they are.
func Median(values []Micros) (Micros, bool) {
	sorted := slices.Sorted(slices.Values(values))
	return Quantile7(sorted, 1, 2)
}

// Quantile7 gives the k/n quantile of sorted values, and false when there are no
// values or k/n is not from 0 to 1:
//
//	h = (N−1)·k/n,  x[⌊h⌋] + (h−⌊h⌋)·(x[⌊h⌋+1] − x[⌊h⌋])
//
// with N the number of values and x counted from 0; computed exactly and rounded
// once, half to even. It is type 7 of Hyndman and Fan (1996), Sample Quantiles
// in Statistical Packages, The American Statistician 50(4):361-365.
func Quantile7(sorted []Micros, k, n int) (Micros, bool) {
	if len(sorted) == 0 || n <= 0 || k < 0 || k > n {
		return 0, false
	}
	steps := (len(sorted) - 1) * k
	place, rest := steps/n, steps%n
	if rest == 0 {
		return sorted[place], true
	}
	return between(sorted[place], sorted[place+1], uint64(rest), uint64(n)), true
}
