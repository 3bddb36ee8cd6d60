package lumber

import (
	"math/big"

	"tallystick/calc/measure"
)

// Cuts are what is taken off boards on their way into a panel. The zero value takes
// nothing and leaves every board in one piece.
type Cuts struct {
	// Kerf is what one cut of the saw turns into dust.
	Kerf measure.Length
	// Rip is into how many strips a board is ripped across its width, and Resaw
	// into how many across its thickness. Zero is one.
	Rip, Resaw int
	// OnEdge lays the strips on edge: their width becomes the panel's thickness.
	OnEdge bool
	// Jointing is what straightening takes off each of the two glued sides of every
	// strip, also off those two that become the panel's edges.
	Jointing measure.Length
	// Planing is what flattening takes off each face.
	Planing measure.Length
	// EndTrim is what squaring takes off each end.
	EndTrim measure.Length
}

// LeastStrip is the narrowest strip that is glued into a panel: our own bound, as
// nothing holds a narrower one straight. A board that is narrower as it comes is
// taken as it is.
const LeastStrip = measure.Inch / 16

// MaxWays is into how many strips one board is ripped or resawn at most.
const MaxWays = 100

// Cut names one of the Cuts.
type Cut string

// The cuts a board can be too small for.
const (
	Kerf     Cut = "kerf"
	Ripping  Cut = "rip"
	Resawing Cut = "resaw"
	Jointing Cut = "jointing"
	Planing  Cut = "planing"
	EndTrim  Cut = "end-trim"
)

// CutError is a cut that leaves nothing of a board, or less than LeastStrip.
type CutError struct {
	Cut Cut
	// Line is the line of the lot the board is in, from 0.
	Line int
	// Across is the measure of the board that is used up, before this cut.
	Across measure.Length
}

// Error says which cut leaves nothing.
func (e *CutError) Error() string {
	return string(e.Cut) + " leaves nothing of " + e.Across.String()
}

// Unwrap gives the same as a mistake of the asker's.
func (e *CutError) Unwrap() error {
	return &measure.InputError{Value: e.Across.Metric(), Problem: "is all used up by " + string(e.Cut), Hint: "1/16 in"}
}

// pieces is how many strips one board gives.
func (c Cuts) pieces() int { return c.rip() * c.resaw() }

func (c Cuts) rip() int   { return max(c.Rip, 1) }
func (c Cuts) resaw() int { return max(c.Resaw, 1) }

// strip is one of the equal strips that a board gives, ready for the glue: its
// Width lies across the panel. Divisions that do not come out are rounded down to
// the nanometre, so that the strips are never more than the board. The panel's
// thickness and length are what Planing and EndTrim leave of the strip.
//
//	strip = (board − (n−1)·kerf) / n − 2·jointing, for n ways
func (c Cuts) strip(line int, b measure.Board) (measure.Board, *CutError) {
	thickness, e := c.divide(line, Resawing, b.Thickness, c.resaw())
	if e != nil {
		return measure.Board{}, e
	}
	width, e := c.divide(line, Ripping, b.Width, c.rip())
	if e != nil {
		return measure.Board{}, e
	}
	if c.OnEdge {
		thickness, width = width, thickness
	}
	if _, e = takeOff(line, Planing, thickness, c.Planing); e != nil {
		return measure.Board{}, e
	}
	if _, e = takeOff(line, EndTrim, b.Length, c.EndTrim); e != nil {
		return measure.Board{}, e
	}
	ways, cut, across := c.rip(), Ripping, b.Width
	if c.OnEdge {
		ways, cut, across = c.resaw(), Resawing, b.Thickness
	}
	if ways > 1 && width < LeastStrip {
		return measure.Board{}, &CutError{Cut: cut, Line: line, Across: across}
	}
	wide := width
	if width, e = takeOff(line, Jointing, width, c.Jointing); e != nil {
		return measure.Board{}, e
	}
	if width < LeastStrip && c.Jointing > 0 {
		return measure.Board{}, &CutError{Cut: Jointing, Line: line, Across: wide}
	}
	return measure.Board{Thickness: thickness, Width: width, Length: b.Length}, nil
}

// divide is the width of each of n strips of a board, which is above zero.
func (c Cuts) divide(line int, cut Cut, across measure.Length, n int) (measure.Length, *CutError) {
	if n == 1 {
		return across, nil
	}
	if c.Kerf >= across {
		return 0, &CutError{Cut: Kerf, Line: line, Across: across}
	}
	lost, err := c.Kerf.Times(int64(n - 1))
	if err != nil || lost >= across || (across-lost)/measure.Length(n) == 0 {
		return 0, &CutError{Cut: cut, Line: line, Across: across}
	}
	return (across - lost) / measure.Length(n), nil
}

// takeOff is what is left when the same comes off both sides, which is above zero.
func takeOff(line int, cut Cut, across, each measure.Length) (measure.Length, *CutError) {
	if each >= across || 2*each >= across {
		return 0, &CutError{Cut: cut, Line: line, Across: across}
	}
	return across - 2*each, nil
}

// How much white or yellow wood glue one glue line takes, in grams to the square
// metre, and how thick it is spread. Common practice FROM MEMORY; the label of the
// product rules.
const (
	LeastPVASpread = 150
	MostPVASpread  = 200
	PVAFilm        = 6 * measure.Inch / 1000
)

// Pressure is a range of clamping pressure in pounds-force to the square inch.
type Pressure struct{ Low, High int64 }

// SoftwoodPressure and HardwoodPressure are what a glue line wants: what glue makers advise, as magazines reprint it.
// The Wood Handbook's range of 100 to 247 lbf/in² (chapter 10) is FROM MEMORY and
// agrees.
var (
	SoftwoodPressure = Pressure{100, 150}
	HardwoodPressure = Pressure{175, 250}
)

// ClampForce is pressure times area, in pounds-force.
//
//	force = pressure · glued area, with lbf/in² and in²
func ClampForce(psi int64, joint measure.Area) *big.Rat {
	force := joint.Rat(measure.Inch)
	return force.Mul(force, new(big.Rat).SetInt64(psi))
}

// ClampSpacing is how far apart clamps may stand so that their pressure meets at the
// first glue line: it spreads about 45° to each side of the clamp's head (common
// practice FROM MEMORY), so by twice the way from the head to that line.
func ClampSpacing(toGlueLine measure.Length) measure.Length { return 2 * toGlueLine }

// ClampsBySpacing is how many clamps a length wants when each serves one spacing of
// it: at least two.
func ClampsBySpacing(along, spacing measure.Length) int64 {
	if spacing <= 0 {
		return 2
	}
	n := int64(along / spacing)
	if along%spacing > 0 {
		n++
	}
	return max(n, 2)
}
