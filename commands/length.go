package commands

import (
	"strings"

	"tallystick/calc/measure"
)

// lengthText writes a length in both systems, the one the member uses first:
// inches as on a tape, millimetres to a tenth below 100 and whole above.
func lengthText(l measure.Length, in *reading) string {
	tape, metric := in.tapeText(l), metricText(l)
	if in.bare == measure.Millimetre {
		return metric + " (" + tape + ")"
	}
	return tape + " (" + metric + ")"
}

// shortLength writes a length in the member's own system.
func shortLength(l measure.Length, in *reading) string {
	if in.bare == measure.Millimetre {
		return metricText(l)
	}
	return in.tapeText(l)
}

// tapeText writes a length as on the member's tape. What stands between two marks
// has "about" before it.
func (in *reading) tapeText(l measure.Length) string {
	text, off := l.Tape(in.tape)
	if off != 0 {
		return "about " + text
	}
	return text
}

// metricText writes a length in millimetres.
func metricText(l measure.Length) string {
	places := 0
	if l.Abs() < 100*measure.Millimetre {
		places = 1
	}
	text, _ := l.MetricTo(places)
	return text
}

// lengthFigure is a length as a figure of a reply. Its value is in the member's
// own unit, to a millionth.
func lengthFigure(key, label string, l measure.Length, in *reading) Figure {
	f := Figure{Key: key, Label: label, Value: l.In(measure.Inch, 6), Unit: "in", Text: lengthText(l, in)}
	if in.bare == measure.Millimetre {
		f.Value, f.Unit = l.In(measure.Millimetre, 6), "mm"
	}
	return f
}

// offTheTape says how far the written inches are from the true length, or nothing
// where they are exact.
func offTheTape(what string, l measure.Length, in *reading) string {
	_, off := l.Tape(in.tape)
	if off == 0 {
		return ""
	}
	side := "more"
	if off < 0 {
		side = "less"
	}
	miss, _ := off.Abs().MetricTo(2)
	return what + " in inches is written to the nearest mark of the tape, " + miss + " " + side + " than it is."
}

// sizeText writes the sides of a piece in both systems.
func sizeText(size measure.Size, in *reading) string {
	tape, exact := size.Tape(in.tape)
	if !exact {
		tape = "about " + tape
	}
	sides := make([]string, len(size))
	for k, l := range size {
		sides[k] = strings.TrimSuffix(metricText(l), " mm")
	}
	metric := strings.Join(sides, " × ") + " mm"
	if in.bare == measure.Millimetre {
		return metric + " (" + tape + ")"
	}
	return tape + " (" + metric + ")"
}
