package pool

import "math/bits"

// Micros is a value times 1,000,000: 12.5 dollars are 12,500,000. It counts
// money, money per measure, ratios and days alike, and no float comes near it.
type Micros int64

// One is the value 1.
const One Micros = 1_000_000

// Whole gives a whole number as Micros.
func Whole(n int) Micros { return Micros(n) * One }

// ThreeFigures rounds to three significant figures, half to even: what a maker
// shares is given no closer than this.
func ThreeFigures(v Micros) Micros {
	step := uint64(1)
	for size := magnitude(v); size/step >= 1000; {
		step *= 10
	}
	return toStep(v, Micros(step), Nearest)
}

// A Way is the direction of a rounding.
type Way int

// The ways. Down goes towards minus infinity and Up towards plus infinity, so
// that a range rounded outwards holds what it held before.
const (
	Nearest Way = iota
	Down
	Up
)

// Twentieths rounds to a multiple of 0.05, the step of a ratio in a release;
// Nearest goes half to even.
func Twentieths(v Micros, way Way) Micros { return toStep(v, One/20, way) }

// toStep rounds v to a multiple of step, which is greater than zero.
func toStep(v, step Micros, way Way) Micros {
	count, rest := v/step, v%step
	if rest < 0 {
		count--
		rest += step
	}
	switch {
	case way == Up && rest > 0,
		way == Nearest && (rest > step-rest || rest == step-rest && count%2 != 0):
		count++
	}
	return count * step
}

// magnitude is the size of v without its sign; it holds for the smallest v too.
func magnitude(v Micros) uint64 {
	if v < 0 {
		return -uint64(v)
	}
	return uint64(v)
}

// between gives low + (high-low)·k/n, half to even, for low <= high and
// 0 <= k < n. The product may need 128 bits.
func between(low, high Micros, k, n uint64) Micros {
	upper, lower := bits.Mul64(uint64(high)-uint64(low), k)
	whole, rest := bits.Div64(upper, lower, n)
	v := Micros(uint64(low) + whole)
	if rest > n-rest || rest == n-rest && v%2 != 0 {
		v++
	}
	return v
}
