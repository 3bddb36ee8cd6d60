package measure

import (
	"slices"
	"strings"
)

// Size is the two or three sides of a piece, in the order length, width, height
// where the text named them and in the order typed where it did not. Every side is
// above zero.
type Size []Length

const (
	maxSizeText = 160
	sizeHint    = "39 x 23 x 1-3/4 in or 99 x 58 x 4.5 cm"
)

// ParseSize reads the sides of a piece. A number without a unit is counted in
// bare.
//
//	size = side by side [ by side ] .
//	side = length [ name ] | number name [ unit ] .
//	by   = "x" | "×" | "*" | "by" .
//	name = "L" | "W" | "D" | "H" | "T" | "long" | "wide" | "deep" | "high" | "tall" | "thick" .
//	length, number, unit = as ParseLength documents them .
//
// A unit word behind the last side counts for every side that has none of its own:
// 39 x 23 x 1-3/4 in. A unit elsewhere marks its own side, and the system of sides
// that have none where every unit written is of the other system than bare: they are
// inches beside ' " in ft yd, millimetres beside mm and m, centimetres beside cm
// alone. Names are for all sides or for none, each once.
func ParseSize(text string, bare Length) (Size, error) {
	if len(text) > maxSizeText {
		return nil, &InputError{Value: text, Problem: "is too long for a size", Hint: sizeHint}
	}
	if strings.TrimSpace(text) == "" {
		return nil, mistake(nil, text, "", sizeHint)
	}
	sides, count, e := scanSides(text, sizeHint)
	switch {
	case e != nil:
		return nil, e
	case count == 1:
		return nil, &InputError{Value: text, Problem: "is one measure; a size has two or three", Hint: sizeHint}
	case count > maxSides:
		return nil, &InputError{Value: text, Problem: "has more than three measures", Hint: sizeHint}
	}
	if e := inNamedOrder(sides[:count]); e != nil {
		e.Value, e.Hint = text, sizeHint
		return nil, e
	}
	if last := lastWritten(sides[:count]); last.word && !last.joined {
		bare = last.unit
	} else {
		bare = bareBeside(sides[:count], bare)
	}
	size := make(Size, count)
	for k := range size {
		if size[k], e = sides[k].resolve(text, bare, sizeHint); e != nil {
			return nil, e
		}
	}
	return size, nil
}

func lastWritten(sides []side) side {
	return slices.MaxFunc(sides, func(a, b side) int { return a.start - b.start })
}

// inNamedOrder puts sides that are named into the order of sideLetters.
func inNamedOrder(sides []side) *InputError {
	named := 0
	for _, d := range sides {
		if d.letter != 0 {
			named++
		}
	}
	switch named {
	case 0:
		return nil
	case len(sides):
	default:
		return &InputError{Problem: "names some sides and not others"}
	}
	slices.SortStableFunc(sides, func(a, b side) int {
		return strings.IndexByte(sideLetters, a.letter) - strings.IndexByte(sideLetters, b.letter)
	})
	for k := 1; k < len(sides); k++ {
		if sides[k].letter == sides[k-1].letter {
			return &InputError{Problem: "names the same side twice"}
		}
	}
	return nil
}

// Tape writes the sides in inches as Length.Tape does, "39 × 23 × 1-3/4 in", and
// reports whether that is exact.
func (s Size) Tape(denominator int) (text string, exact bool) {
	exact = true
	sides := make([]string, len(s))
	for k, l := range s {
		inches, off := l.Tape(denominator)
		sides[k] = strings.TrimSuffix(inches, " in")
		exact = exact && off == 0
	}
	return strings.Join(sides, " × ") + " in", exact
}

// Metric writes the sides in millimetres, exactly: "990 × 584.2 × 45 mm".
func (s Size) Metric() string {
	sides := make([]string, len(s))
	for k, l := range s {
		sides[k] = l.In(Millimetre, 6)
	}
	return strings.Join(sides, " × ") + " mm"
}
