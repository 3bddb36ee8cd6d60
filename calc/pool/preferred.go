package pool

import "math"

// r20 is the rounded R20 series of preferred numbers between 1.00 and 9.00, in
// hundredths: 20 steps a decade, each about 12 % above the one before.
// Source: ISO 3:1973, Preferred numbers - Series of preferred numbers. FROM
// MEMORY; each is within 1.3 % of the exact 10^(i/20).
var r20 = [20]uint64{
	100, 112, 125, 140, 160, 180, 200, 224, 250, 280,
	315, 355, 400, 450, 500, 560, 630, 710, 800, 900,
}

// Preferred rounds to a preferred number of the R20 series. Nearest is by
// difference, and halfway between two it takes the one of even place in the
// series. The series has no end at either side: below 0.0001 the numbers here
// are 0 and 0.0001, and beyond the largest that fits, the largest. A negative
// value takes the negative of a preferred number.
func Preferred(v Micros, way Way) Micros { return signed(v, way, 1) }

// PreferredR10 rounds to a preferred number of the R10 series, which is every
// second one of R20: 10 steps a decade, about 26 % each. The rest is as in
// Preferred, but halfway it takes the lower of the two.
func PreferredR10(v Micros, way Way) Micros { return signed(v, way, 2) }

// signed rounds to each, or to each second, preferred number.
func signed(v Micros, way Way, each int) Micros {
	if v >= 0 {
		return Micros(preferred(magnitude(v), way, each))
	}
	switch way {
	case Down:
		way = Up
	case Up:
		way = Down
	}
	return -Micros(preferred(magnitude(v), way, each))
}

func preferred(size uint64, way Way, each int) uint64 {
	low, high, even := neighbours(size, each)
	switch {
	case size == low || way == Down || high > math.MaxInt64:
		return low
	case way == Up:
		return high
	case size-low < high-size || size-low == high-size && even:
		return low
	}
	return high
}

// neighbours gives the greatest preferred number that is not above size, the
// next one, and whether the first has an even place.
func neighbours(size uint64, each int) (low, high uint64, even bool) {
	if size < r20[0] {
		return 0, r20[0], true
	}
	scale := uint64(1)
	for size/scale >= 10*r20[0] {
		scale *= 10
	}
	place := 0
	for place+each < len(r20) && r20[place+each]*scale <= size {
		place += each
	}
	high = 10 * r20[0] * scale
	if place+each < len(r20) {
		high = r20[place+each] * scale
	}
	return r20[place] * scale, high, place%2 == 0
}
