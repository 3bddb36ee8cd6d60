package measure

import (
	"encoding/binary"
	"math/big"
	"math/bits"
)

// Area is an exact area in square nanometres. It holds the sum of 2^60 products of
// any two lengths. The zero value is no area.
type Area struct{ w0, w1, w2 uint64 }

// AreaOf is a times b. The sign of a length does not count.
func AreaOf(a, b Length) Area {
	hi, lo := bits.Mul64(a.magnitude(), b.magnitude())
	return Area{w0: lo, w1: hi}
}

// Plus is the sum of two areas.
func (a Area) Plus(b Area) Area {
	var carry uint64
	a.w0, carry = bits.Add64(a.w0, b.w0, 0)
	a.w1, carry = bits.Add64(a.w1, b.w1, carry)
	a.w2, _ = bits.Add64(a.w2, b.w2, carry)
	return a
}

// Rat is the area in squares whose side is unit, exactly: with Foot, in square
// feet.
func (a Area) Rat(unit Length) *big.Rat {
	return new(big.Rat).SetFrac(words(a.w2, a.w1, a.w0), power(unit, 2))
}

// Volume is an exact volume in cubic nanometres. It holds the sum of 2^60 boards,
// each counted up to 2^60 times and with sides of any length. The zero value is no
// volume.
type Volume struct{ w0, w1, w2, w3 uint64 }

// VolumeOf is count boxes with the given sides. The sign of a side does not count,
// and a count below one gives no volume.
func VolumeOf(count int, a, b, c Length) Volume {
	if count < 1 {
		return Volume{}
	}
	// A board is under four square metres across and under 18,000 km long in
	// all; then two products of 64 bits and one of 128 suffice.
	hiAcross, across := bits.Mul64(a.magnitude(), b.magnitude())
	hiAlong, along := bits.Mul64(c.magnitude(), uint64(count))
	if hiAcross|hiAlong == 0 {
		hi, lo := bits.Mul64(across, along)
		return Volume{w0: lo, w1: hi}
	}
	return wideProduct(hiAcross, across, hiAlong, along)
}

// wideProduct multiplies two numbers of 128 bits.
func wideProduct(a1, a0, b1, b0 uint64) Volume {
	var v Volume
	var carry uint64
	v.w1, v.w0 = bits.Mul64(a0, b0)
	v.w3, v.w2 = bits.Mul64(a1, b1)
	for _, cross := range [2][2]uint64{{a1, b0}, {a0, b1}} {
		hi, lo := bits.Mul64(cross[0], cross[1])
		v.w1, carry = bits.Add64(v.w1, lo, 0)
		v.w2, carry = bits.Add64(v.w2, hi, carry)
		v.w3 += carry
	}
	return v
}

// Plus is the sum of two volumes.
func (v Volume) Plus(u Volume) Volume {
	var carry uint64
	v.w0, carry = bits.Add64(v.w0, u.w0, 0)
	v.w1, carry = bits.Add64(v.w1, u.w1, carry)
	v.w2, carry = bits.Add64(v.w2, u.w2, carry)
	v.w3, _ = bits.Add64(v.w3, u.w3, carry)
	return v
}

// Rat is the volume in cubes whose side is unit, exactly: with Inch, in cubic
// inches.
func (v Volume) Rat(unit Length) *big.Rat {
	return new(big.Rat).SetFrac(words(v.w3, v.w2, v.w1, v.w0), power(unit, 3))
}

// In is how often another volume, which is not none, goes into this one, exactly.
func (v Volume) In(unit Volume) *big.Rat {
	return new(big.Rat).SetFrac(words(v.w3, v.w2, v.w1, v.w0), words(unit.w3, unit.w2, unit.w1, unit.w0))
}

// IsZero reports whether there is no volume.
func (v Volume) IsZero() bool { return v == Volume{} }

// words is a number of at most four words, the highest first.
func words(high ...uint64) *big.Int {
	var room [4 * 8]byte
	all := room[:0]
	for _, word := range high {
		all = binary.BigEndian.AppendUint64(all, word)
	}
	return new(big.Int).SetBytes(all)
}

func power(unit Length, exponent int64) *big.Int {
	return new(big.Int).Exp(big.NewInt(int64(unit)), big.NewInt(exponent), nil)
}
