package pool

import "math/big"

// pseudoSales is how many makers the overall median weighs in an estimate: a
// choice of ours, small beside the eight that any median has.
const pseudoSales = 4

// Shrunk draws the median of few makers towards the overall one, on the scale of
// the logarithm:
//
//	exp((n·ln own + 4·ln overall)/(n+4)) = (ownⁿ·overall⁴)^(1/(n+4))
//
// with n the number of makers behind own. Both medians are above nought; else it
// is own. The root is taken in whole numbers and rounded down to the millionth.
// It is the weighted mean of a hierarchical normal model with known spreads, as in
// Efron and Morris (1977), Stein's Paradox in Statistics, Scientific American
// 236(5):119-127, with the share n/(n+4) for the shrinking factor.
func Shrunk(own, overall Micros, n int) Micros { return shrunk(own, overall, n, pseudoSales) }

func shrunk(own, overall Micros, n, pseudo int) Micros {
	if own <= 0 || overall <= 0 || n <= 0 {
		return own
	}
	power := func(v Micros, k int) *big.Int {
		return new(big.Int).Exp(big.NewInt(int64(v)), big.NewInt(int64(k)), nil)
	}
	product := new(big.Int).Mul(power(own, n), power(overall, pseudo))
	low, high := min(own, overall), max(own, overall)
	for low < high { // the greatest v with vⁿ⁺⁴ at most the product
		middle := low + (high-low+1)/2
		if power(middle, n+pseudo).Cmp(product) <= 0 {
			low = middle
		} else {
			high = middle - 1
		}
	}
	return low
}
