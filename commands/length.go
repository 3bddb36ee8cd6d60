package commands

import (
	"strconv"
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
	if off.Abs() >= leastOff {
		return "about " + text
	}
	return text
}

// leastOff is where a length counts as off the tape: below it is what dividing a
// board left over, which no tape shows.
const leastOff = measure.Micrometre

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

// named is a length with the name it has in a reply.
type named struct {
	name string
	l    measure.Length
}

// offTheTape says how far inches are written from the true lengths, or nothing where
// they are exact or the member reads millimetres first.
func offTheTape(in *reading, lengths ...named) string {
	var off []string
	for _, n := range lengths {
		_, miss := n.l.Tape(in.tape)
		if miss.Abs() < leastOff {
			continue
		}
		side := "over"
		if miss < 0 {
			side = "under"
		}
		text, _ := miss.Abs().MetricTo(2)
		off = append(off, n.name+" "+text+" "+side)
	}
	if len(off) == 0 || in.bare == measure.Millimetre {
		return ""
	}
	return "Inches stand at the nearest 1/" + strconv.Itoa(in.tape) + ": " + strings.Join(off, ", ") + "."
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
