package measure

import (
	"strings"
	"unicode/utf8"
)

// side is one measure of a size or of a board as written.
type side struct {
	measured
	letter byte // the side's letter, or 0
	start  int  // where it stands in the text
}

// maxSides is how many sides a size or a board has. scanSides reports one more
// where it stopped at a further one.
const maxSides = 3

// scanSides reads measures parted by x, ×, * or "by" to the end of s. The mistakes
// it returns are complete.
func scanSides(s, hint string) (sides [maxSides]side, count int, e *InputError) {
	for i := 0; ; count++ {
		i = skipSpace(s, i)
		m, next, e := scanMeasured(s, i)
		if e != nil || next == i {
			return sides, count, sideMistake(e, s, i, hint)
		}
		letter, end := scanSideName(s, next)
		if letter != 0 && m.unit == 0 {
			m.unit, m.word, end = scanUnit(s, end)
		}
		if count == maxSides {
			return sides, count + 1, nil
		}
		sides[count] = side{measured: m, letter: letter, start: i}
		if i = skipSpace(s, end); i == len(s) {
			return sides, count + 1, nil
		}
		width := byAt(s, i)
		if width == 0 {
			return sides, count, sideMistake(nil, s, sides[count].start, hint)
		}
		i += width
	}
}

// sideMistake quotes the one side that begins at s[i].
func sideMistake(e *InputError, s string, i int, hint string) *InputError {
	value := sideText(s, i)
	if value == "" {
		return mistake(e, s, "lacks a measure", hint)
	}
	if e == nil && byAt(value, 0) > 0 {
		value = s
	}
	e = mistake(e, strings.TrimSpace(value), "is not a length", hint)
	e.Hint = hint // a value for the whole size, not for the one side
	return e
}

// sideText is the text of the side that begins at s[i], up to what parts it from
// the next.
func sideText(s string, i int) string {
	for end := i + 1; end < len(s); end++ {
		if byAt(s, end) > 0 {
			return strings.TrimSpace(s[i:end])
		}
	}
	return strings.TrimSpace(s[min(i, len(s)):])
}

// byAt is the width in bytes of the mark that parts two sides at s[i], or 0.
func byAt(s string, i int) int {
	switch {
	case i >= len(s):
		return 0
	case s[i] == 'x' || s[i] == 'X' || s[i] == '*':
		return 1
	case len(s) > i+1 && s[i]|0x20 == 'b' && s[i+1]|0x20 == 'y':
		return 2
	case s[i] >= utf8.RuneSelf && strings.HasPrefix(s[i:], "×"):
		return len("×")
	}
	return 0
}

// The letters of a side, in the order sizes are kept in.
const sideLetters = "LWDH"

// scanSideName reads the letter or the word that names a side, with or without
// spaces before it.
func scanSideName(s string, start int) (letter byte, next int) {
	i := skipSpace(s, start)
	end := i
	for end < len(s) && s[end]|0x20 >= 'a' && s[end]|0x20 <= 'z' {
		end++
	}
	if end == i {
		return 0, start
	}
	if letter = sideLetter(s[i:end]); letter != 0 {
		return letter, end
	}
	if s[end-1]|0x20 == 'x' {
		if letter = sideLetter(s[i : end-1]); letter != 0 {
			return letter, end - 1
		}
	}
	return 0, start
}

func sideLetter(word string) byte {
	switch strings.ToLower(word) {
	case "l", "long":
		return 'L'
	case "w", "wide":
		return 'W'
	case "d", "deep":
		return 'D'
	case "h", "high", "tall", "t", "thick":
		return 'H'
	}
	return 0
}

// bareBeside is the unit of the sides that have none. Beside sides marked in the
// other system only they are taken to be in that one too: a section before 8' is in
// inches, before 2.4 m in millimetres, for whoever counts in bare.
func bareBeside(sides []side, bare Length) Length {
	marked := Length(0)
	for _, d := range sides {
		switch {
		case d.unit == 0:
		case isInches(d.unit) == isInches(bare):
			return bare
		case marked == 0 || d.unit == marked:
			marked = d.unit
		default:
			marked = Millimetre // two metric units; of inches it makes no difference
		}
	}
	switch {
	case marked == 0:
		return bare
	case isInches(bare) && marked == Centimetre:
		return Centimetre
	case isInches(bare):
		return Millimetre
	}
	return Inch
}

// isInches tells the inch, the foot and the yard from metric units.
func isInches(unit Length) bool { return unit%Inch == 0 }

// resolve counts one side in its own unit, else in bare. A side of zero is a
// mistake.
func (d side) resolve(s string, bare Length, hint string) (Length, *InputError) {
	l, e := d.length(bare)
	if e == nil && l == 0 {
		e = &InputError{Problem: "is a measure of zero", Hint: hint}
	}
	if e != nil {
		e.Value, e.Hint = sideText(s, d.start), hint
		return 0, e
	}
	return l, nil
}
