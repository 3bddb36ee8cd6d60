package measure

import "strconv"

// maxLengthText is how many bytes of text ParseLength looks at.
const maxLengthText = 64

// ParseLength reads a length that is not negative. A number without a unit is
// counted in bare, which is a positive unit such as Inch or Millimetre.
//
//	length  = number [ unit ] | feet [ inches ] | metres smaller .
//	feet    = number footmark .                          (* whole where inches follow *)
//	inches  = [ hyphen ] number [ inchmark ] .           (* below 12 *)
//	metres  = number ( "m" | "cm" ) .                    (* whole *)
//	smaller = number ( "cm" | "mm" ) .                   (* less than one of metres *)
//	unit    = inchmark | footmark | "yd" | "mm" | "cm" | "m" | … .
//	inchmark = `"` | "″" | "”" | "''" | "in" | "inch" | "inches" .
//	footmark = "'" | "′" | "’" | "ft" | "foot" | "feet" .
//	number  = as ParseNumber documents it .
//
// Spaces may stand between the parts. Words are read in either case, written out
// or short, in the British and the American spelling, and a short one may end in a
// full stop. Refused with a question are inches of 12 or more behind feet, and a
// number such as 1,234 that may mean two things. Zero is a length.
func ParseLength(text string, bare Length) (Length, error) {
	if len(text) > maxLengthText {
		return 0, &InputError{Value: text, Problem: "is too long for a length", Hint: lengthHint}
	}
	start := skipSpace(text, 0)
	m, i, e := scanMeasured(text, start)
	if e == nil && i > start && (i == len(text) || skipSpace(text, i) == len(text)) {
		var l Length
		if l, e = m.length(bare); e == nil {
			return l, nil
		}
	}
	return 0, mistake(e, text, "is not a length", lengthHint)
}

// measured is one length as written, before a bare number has got its unit.
type measured struct {
	number Number
	unit   Length // 0 where nothing was said
	feet   Length // what stood before the inches, or the metres before a smaller unit
	word   bool   // the unit was a word, not a symbol
	joined bool   // feet and inches, or metres and a smaller unit
}

// length counts a bare number in the given unit.
func (m measured) length(bare Length) (Length, *InputError) {
	unit := m.unit
	if unit == 0 {
		unit = bare
	}
	l, e := m.number.scale(unit)
	// Nine digits of feet or metres are a ninth of the longest length at most, so that
	// the sum with less than one of them fits.
	return l + m.feet, e
}

// scanMeasured reads a number with its unit, or feet and inches.
func scanMeasured(s string, start int) (m measured, next int, e *InputError) {
	m.number, next, e = scanNumber(s, start)
	if e != nil || next == start || next == len(s) {
		return m, next, e
	}
	m.unit, m.word, next = scanUnit(s, next)
	switch {
	case next == len(s):
	case m.unit == Foot:
		return scanInches(m, s, next)
	case m.unit == Metre || m.unit == Centimetre:
		return scanSmaller(m, s, next)
	}
	return m, next, nil
}

// scanSmaller goes on behind the metres or centimetres in m, where a number of a
// smaller metric unit may follow: 1 m 20 cm.
func scanSmaller(metres measured, s string, i int) (measured, int, *InputError) {
	at := skipSpace(s, i)
	part, next, e := scanNumber(s, at)
	if e != nil || next == at {
		return metres, i, nil
	}
	unit, word, end := scanUnit(s, next)
	if unit == 0 || isInches(unit) || unit >= metres.unit {
		return metres, i, nil
	}
	above, e := metres.number.scale(metres.unit)
	if e != nil {
		return metres, end, e
	}
	below, e := part.scale(unit)
	_, whole := metres.number.Whole()
	if e != nil || !whole || below >= metres.unit {
		return metres, end, &InputError{Problem: "has parts that do not add up to one length", Hint: "1.20 m or 120 cm"}
	}
	return measured{number: part, unit: unit, feet: above, word: word, joined: true}, end, nil
}

// scanInches goes on behind the feet in m, where inches may follow.
func scanInches(feet measured, s string, i int) (measured, int, *InputError) {
	at := skipSpace(s, i)
	if width := hyphenAt(s, at); width > 0 {
		at = skipSpace(s, at+width)
	}
	inches, next, e := scanNumber(s, at)
	if e != nil {
		return feet, next, e
	}
	if next == at {
		return feet, i, nil
	}
	unit, word, end := scanUnit(s, next)
	if unit != Inch && unit != 0 {
		return feet, end, &InputError{Problem: "has a unit behind the feet that is not inches", Hint: "3' 3-1/4\""}
	}
	foot, whole := feet.number.Whole()
	switch {
	case !whole:
		return feet, end, &InputError{Problem: "has a fraction of a foot and inches as well", Hint: "3.5' or 3' 6\""}
	case inches.num >= 12*int64(inches.denominator()):
		return feet, end, tooManyInches(foot, inches)
	}
	above, e := feet.number.scale(Foot)
	if e != nil {
		return feet, end, e
	}
	return measured{number: inches, unit: Inch, feet: above, word: word, joined: true}, end, nil
}

// tooManyInches asks about 3'14", which may be 4'2" or a slip.
func tooManyInches(foot int64, inches Number) *InputError {
	more, _ := inches.Whole()
	den := int64(inches.denominator())
	rest := Number{num: inches.num - more/12*12*den, den: den}
	carried := strconv.FormatInt(foot+more/12, 10) + "'" + rest.String() + "\""
	e := &InputError{
		Problem: "has 12 inches or more behind the feet, and may be " + carried + " or a slip",
		Hint:    carried,
	}
	if _, err := ParseNumber(strconv.FormatInt(foot+more/12, 10)); err != nil {
		e.Hint = lengthHint // the feet have grown a tenth digit
	}
	return e
}

// scanUnit reads a unit of length, with or without spaces before it. It stops
// where it began, with unit 0, at anything else.
func scanUnit(s string, start int) (unit Length, word bool, next int) {
	i := start
	if i < len(s) && (s[i] == ' ' || s[i] >= 0x80) {
		i = skipSpace(s, i)
	}
	if i == len(s) {
		return 0, false, start
	}
	switch c := s[i] | 0x20; {
	case s[i] == '"':
		return Inch, false, i + 1
	case s[i] == '\'':
		if i+1 < len(s) && s[i+1] == '\'' {
			return Inch, false, i + 2
		}
		return Foot, false, i + 1
	case c >= 'a' && c <= 'z':
		if unit, next = scanUnitWord(s, i); unit != 0 {
			return unit, true, next
		}
	case s[i] >= 0x80:
		if unit, next = scanPrime(s, i); unit != 0 {
			return unit, false, next
		}
	}
	return 0, false, start
}

// scanPrime reads the typographic marks for feet and inches. A foot mark typed
// twice is an inch mark.
func scanPrime(s string, i int) (Length, int) {
	const width = len("′")
	if len(s) < i+width {
		return 0, i
	}
	switch s[i : i+width] {
	case "″", "”", "“":
		return Inch, i + width
	case "′", "’", "‘":
		if len(s) >= i+2*width && s[i+width:i+2*width] == s[i:i+width] {
			return Inch, i + 2*width
		}
		return Foot, i + width
	}
	return 0, i
}

func scanUnitWord(s string, i int) (Length, int) {
	end := i
	for end < len(s) && (s[end]|0x20) >= 'a' && (s[end]|0x20) <= 'z' {
		end++
	}
	unit := lengthWord(s[i:end])
	if unit == 0 && end-i > 1 && s[end-1]|0x20 == 'x' {
		// 4cmx8cm: the last letter parts two sides of a size.
		end--
		unit = lengthWord(s[i:end])
	}
	if unit == 0 {
		return 0, i
	}
	if end < len(s) && s[end] == '.' && !isDigit(s, end+1) {
		end++
	}
	return unit, end
}

// lengthWord is the unit a word names, or 0.
func lengthWord(word string) Length {
	if unit := lowerLengthWord(word); unit != 0 {
		return unit
	}
	var lower [len("millimetres")]byte
	if len(word) > len(lower) {
		return 0
	}
	for i := range len(word) {
		lower[i] = word[i] | 0x20
	}
	return lowerLengthWord(string(lower[:len(word)]))
}

func lowerLengthWord(word string) Length {
	switch word {
	case "in", "ins", "inch", "inches":
		return Inch
	case "ft", "foot", "feet":
		return Foot
	case "yd", "yds", "yard", "yards":
		return Yard
	case "mm", "millimetre", "millimetres", "millimeter", "millimeters":
		return Millimetre
	case "cm", "centimetre", "centimetres", "centimeter", "centimeters":
		return Centimetre
	case "m", "metre", "metres", "meter", "meters":
		return Metre
	}
	return 0
}
