package lumber

import (
	"math"

	"tallystick/calc/measure"
)

// Grain is how the rings lie in the face of a board.
type Grain string

// The grains. Rift is taken as the mean of the other two.
const (
	FlatSawn    Grain = "flat"
	QuarterSawn Grain = "quarter"
	RiftSawn    Grain = "rift"
)

// The moisture contents, in percent, between which the coefficients of change hold
// (Wood Handbook FPL-GTR-190, p. 13-16).
const (
	CoefficientsFrom = 6
	CoefficientsTo   = 14
)

// Change is what a board's width does between two moisture contents.
type Change struct {
	// By is signed: below zero the board gets narrower.
	By, After measure.Length
	// Coefficient is the share of the width at 10 % for a point of moisture content.
	Coefficient float64
	// Beyond is true where a moisture content lies outside the range of the
	// coefficients and the straight line of shrinkage was followed instead.
	Beyond bool
}

// Move is the change of a width across the grain from one moisture content to another.
// Inside 6 to 14 %
//
//	ΔD = D·C·(to − from)                                   (eq. 13-2)
//
// with C the coefficient of the species for a point, and beyond it, up to the moisture
// content Mfs where shrinkage starts,
//
//	ΔD = D·(to − from) / (Mfs·100/S − Mfs + from)          (eq. 13-3)
//
// with S the shrinkage in percent that the coefficient stands for, so that the two agree
// at 10 % (Wood Handbook FPL-GTR-190, 2010, pp. 13-16 to 13-17). Above Mfs wood keeps its
// size. A species without figures is an InputError.
func (s Species) Move(width measure.Length, from, to Moisture, grain Grain) (Change, error) {
	c := s.coefficient(grain)
	if c == 0 {
		return Change{}, &measure.InputError{Value: s.Name, Problem: "has no published movement in my tables", Hint: speciesHint}
	}
	change := Change{Coefficient: c, Beyond: min(from, to) < CoefficientsFrom || max(from, to) > CoefficientsTo}
	d := metres(width)
	if change.Beyond {
		change.By = lengthOf(d * (s.sizeAt(to, c)/s.sizeAt(from, c) - 1))
	} else {
		change.By = lengthOf(d * c * float64(to-from))
	}
	change.After = width + change.By
	return change, nil
}

// coefficient is the change a point of moisture content for a grain, or 0.
func (s Species) coefficient(grain Grain) float64 {
	switch grain {
	case QuarterSawn:
		return s.CR
	case RiftSawn:
		return (s.CR + s.CT) / 2
	}
	return s.CT
}

// sizeAt is a dimension at a moisture content by the straight line, as a share of the
// dimension at 10 %.
func (s Species) sizeAt(m Moisture, c float64) float64 {
	return 1 + c*(math.Min(float64(m), s.Start)-10)
}

// changeCoefficient is the coefficient that a shrinkage S, in percent green to ovendry,
// stands for where it starts at the given moisture content.
//
//	C = 1 / (Mfs·100/S − Mfs + 10)
//
// (from eq. 13-3 at 10 %).
func changeCoefficient(shrinkage, start float64) float64 {
	return 1 / (start*100/shrinkage - start + 10)
}

// Slot is how much longer a slotted hole is to be on each side of a fixing for the wood
// to move: the change rounded up to the 1/16 inch and to the millimetre. A board held in
// its middle moves half the change at either edge; held at one edge, all of it at the
// other.
type Slot struct{ Inch, Metric measure.Length }

// SlotFor is the slot for wood that moves by the given length at the fixing.
func SlotFor(move measure.Length) Slot {
	return Slot{Inch: roundedUp(move, measure.Inch/16), Metric: roundedUp(move, measure.Millimetre)}
}
