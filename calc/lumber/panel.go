package lumber

import (
	"math"
	"math/big"

	"tallystick/calc/measure"
)

// Panel is boards glued side by side.
type Panel struct {
	// Size is the finished panel: its thickness, its width across the strips, and
	// its length along them.
	Size measure.Board
	// Runs are the strips in the order of the boards they come from.
	Runs []StripRun
	// Thinnest and Shortest are the runs that limit the thickness and the length.
	// They are -1 where all runs are alike in that.
	Thinnest, Shortest int
	// Stock is the volume of the boards, Finished that of the panel.
	Stock, Finished measure.Volume
	// Glue is the area of all glue lines, and Joint that of the largest one: each
	// as high and as long as the smaller of its two strips before planing and
	// trimming.
	Glue, Joint measure.Area
}

// StripRun is a number of equal strips lying side by side.
type StripRun struct {
	// Line is the line of the lot they were cut from, from 0.
	Line int
	// Count is how many there are.
	Count int
	// Strip is one of them as it is glued: before planing and trimming.
	Strip measure.Board
}

// PanelOf is the panel that boards give, each line's strips beside the next line's.
// The thinnest strip sets the thickness and the shortest the length. Cuts that leave
// nothing of a board are a CutError; a lot without boards or too large to count is an
// InputError.
func PanelOf(lot measure.Lot, cuts Cuts) (Panel, error) {
	p := Panel{Thinnest: -1, Shortest: -1, Stock: lot.Volume()}
	strips := 0
	for k, line := range lot {
		strip, e := cuts.strip(k, line.Board)
		if e != nil {
			return Panel{}, e
		}
		run := StripRun{Line: k, Count: line.Count * cuts.pieces(), Strip: strip}
		across, err := strip.Width.Times(int64(run.Count))
		if err != nil {
			return Panel{}, err
		}
		if p.Size.Width, err = p.Size.Width.Plus(across); err != nil {
			return Panel{}, err
		}
		p.glue(run)
		p.Runs = append(p.Runs, run)
		strips += run.Count
	}
	if strips == 0 {
		return Panel{}, &measure.InputError{Value: "", Problem: "names no boards", Hint: "6 @ 1x4x8'"}
	}
	p.limit(cuts)
	p.Finished = measure.VolumeOf(1, p.Size.Thickness, p.Size.Width, p.Size.Length)
	return p, nil
}

// glue adds the glue lines that a further run brings.
func (p *Panel) glue(run StripRun) {
	if n := len(p.Runs); n > 0 {
		beside := p.Runs[n-1].Strip
		p.joint(1, min(beside.Thickness, run.Strip.Thickness), min(beside.Length, run.Strip.Length))
	}
	p.joint(int64(run.Count-1), run.Strip.Thickness, run.Strip.Length)
}

func (p *Panel) joint(count int64, high, long measure.Length) {
	if count < 1 {
		return
	}
	one := measure.AreaOf(high, long)
	p.Glue = p.Glue.Plus(areaOf(count, high, long))
	if one.Rat(measure.Inch).Cmp(p.Joint.Rat(measure.Inch)) > 0 {
		p.Joint = one
	}
}

// limit sets the thickness and the length by the smallest strip.
func (p *Panel) limit(cuts Cuts) {
	thin, short := p.Runs[0].Strip.Thickness, p.Runs[0].Strip.Length
	thick, long := thin, short
	thinnest, shortest := 0, 0
	for k, run := range p.Runs {
		if s := run.Strip.Thickness; s < thin {
			thin, thinnest = s, k
		}
		if s := run.Strip.Length; s < short {
			short, shortest = s, k
		}
		thick, long = max(thick, run.Strip.Thickness), max(long, run.Strip.Length)
	}
	if thick > thin {
		p.Thinnest = thinnest
	}
	if long > short {
		p.Shortest = shortest
	}
	p.Size.Thickness, p.Size.Length = thin-2*cuts.Planing, short-2*cuts.EndTrim
}

// Strips is how many strips lie side by side.
func (p Panel) Strips() int {
	strips := 0
	for _, run := range p.Runs {
		strips += run.Count
	}
	return strips
}

// Joints is how many glue lines there are.
func (p Panel) Joints() int { return p.Strips() - 1 }

// Yield is the share of the stock's volume that ends in the panel, from 0 to 1.
func (p Panel) Yield() *big.Rat {
	share := p.Finished.Rat(measure.Inch)
	return share.Quo(share, p.Stock.Rat(measure.Inch))
}

// OuterStrip is the width of the narrower of the two strips at the edges, through
// which clamps press on the first glue line.
func (p Panel) OuterStrip() measure.Length {
	return min(p.Runs[0].Strip.Width, p.Runs[len(p.Runs)-1].Strip.Width)
}

// GlueLength is how long the clamped joints are: the shortest strip before trimming.
func (p Panel) GlueLength() measure.Length {
	short := measure.Length(math.MaxInt64)
	for _, run := range p.Runs {
		short = min(short, run.Strip.Length)
	}
	return short
}
