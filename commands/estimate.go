package commands

import (
	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// scales are the units an estimate is written in, by system.
type scales struct{ metric, inch lumber.Unit }

var (
	masses      = scales{lumber.Kilogram, lumber.Pound}
	smallMasses = scales{lumber.Gram, lumber.Ounce}
	densities   = scales{lumber.KilogramPerCubic, lumber.PoundPerCubicFoot}
	stresses    = scales{lumber.Megapascal, lumber.PoundPerSquare}
	stiffnesses = scales{lumber.Megapascal, lumber.MillionPSI}
	forces      = scales{lumber.Newton, lumber.PoundForce}
	areas       = scales{lumber.SquareMetre, lumber.SquareFoot}
	liquids     = scales{lumber.Litre, lumber.USGallon}
	sips        = scales{lumber.Millilitre, lumber.USFluidOunce}
	coverages   = scales{lumber.SquareMetrePerL, lumber.SquareFootPerGal}
)

// order puts the member's own system first.
func (s scales) order(in *reading) (own, other lumber.Unit) {
	if in.bare == measure.Millimetre {
		return s.metric, s.inch
	}
	return s.inch, s.metric
}

// estimateText writes an estimate in both systems, the member's first.
func estimateText(e lumber.Estimate, s scales, digits int, in *reading) string {
	own, other := s.order(in)
	return e.Text(own, digits) + " (" + e.Text(other, digits) + ")"
}

// estimateFigure is an estimate as a figure of a reply. Its value is in the member's own
// unit, with no more digits than it deserves.
func estimateFigure(key, label string, e lumber.Estimate, s scales, digits int, in *reading) Figure {
	own, _ := s.order(in)
	return Figure{Key: key, Label: label, Value: e.Write(own, digits), Unit: own.Symbol, Text: estimateText(e, s, digits, in)}
}

// massFigure is a mass; below a kilogram or a pound it is told in grams or ounces.
func massFigure(key, label string, e lumber.Estimate, in *reading) Figure {
	f := estimateFigure(key, label, e, masses, 3, in)
	f.Text = massText(e, in)
	return f
}

func massText(e lumber.Estimate, in *reading) string {
	return estimateText(e, masses.handy(e, smallMasses), 3, in)
}

// liquidFigure is a volume of liquid; below a litre or a gallon it is told in millilitres
// or fluid ounces.
func liquidFigure(key, label string, e lumber.Estimate, in *reading) Figure {
	f := estimateFigure(key, label, e, liquids, 3, in)
	f.Text = estimateText(e, liquids.handy(e, sips), 3, in)
	return f
}

// handy takes the small unit of a system where the estimate is below its large one.
func (s scales) handy(e lumber.Estimate, small scales) scales {
	if e < lumber.One(s.metric) {
		s.metric = small.metric
	}
	if e < lumber.One(s.inch) {
		s.inch = small.inch
	}
	return s
}

// moveText writes a small length in both systems, the member's first: thousandths of an
// inch with the nearest 1/32, tenths of a millimetre.
func moveText(l measure.Length, in *reading) string {
	inch := l.In(measure.Inch, 3) + " in"
	if tape, off := l.Tape(32); l.Abs() >= measure.Inch/64 {
		if off == 0 {
			inch = tape
		} else {
			inch += ", near " + tape
		}
	}
	metric, _ := l.MetricTo(1)
	if in.bare == measure.Millimetre {
		return metric + " (" + inch + ")"
	}
	return inch + " (" + metric + ")"
}

// moveFigure is a small length as a figure, in the member's own unit.
func moveFigure(key, label string, l measure.Length, in *reading) Figure {
	f := Figure{Key: key, Label: label, Value: l.In(measure.Inch, 3), Unit: "in", Text: moveText(l, in)}
	if in.bare == measure.Millimetre {
		f.Value, f.Unit = l.In(measure.Millimetre, 1), "mm"
	}
	return f
}
