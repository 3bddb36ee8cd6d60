package measure

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// The scanners of this package share one shape: they look at s from byte i on
// and return where they stopped. A scanner that finds nothing it knows stops
// where it began. An InputError is returned only for text that is surely meant
// as the thing scanned for, and leaves Value to the caller.

// mistake completes what a scanner found, or makes the plain mistake where it
// found nothing in particular to say.
func mistake(e *InputError, value, problem, hint string) *InputError {
	if e == nil {
		e = &InputError{}
	}
	_, negative := cutMinus(strings.TrimSpace(value))
	switch {
	case strings.TrimSpace(value) == "":
		e.Problem = "is empty"
	case e.Problem != "":
	case negative:
		e.Problem = "is below zero"
	default:
		e.Problem = problem
	}
	e.Value = value
	if e.Hint == "" {
		e.Hint = hint
	}
	return e
}

func skipSpace(s string, i int) int {
	for i < len(s) {
		c := s[i]
		switch {
		case c == ' ' || c == '\t' || c == '\n' || c == '\r':
			i++
		case c < utf8.RuneSelf:
			return i
		default:
			r, width := utf8.DecodeRuneInString(s[i:])
			if !unicode.IsSpace(r) {
				return i
			}
			i += width
		}
	}
	return i
}

func isDigit(s string, i int) bool { return i < len(s) && s[i]-'0' <= 9 }

// scanDigits reads a run of digits. The value is meaningful up to 18 of them.
func scanDigits(s string, i int) (value int64, next int) {
	for i < len(s) && s[i]-'0' <= 9 {
		value = value*10 + int64(s[i]-'0')
		i++
	}
	return value, i
}

// scanNumber reads a number as ParseNumber documents it, not in lowest terms.
func scanNumber(s string, start int) (Number, int, *InputError) {
	whole, i := scanDigits(s, start)
	if i-start > maxWholeDigits {
		return Number{}, i, &InputError{Problem: "has more than 9 digits before the decimal point"}
	}
	if i == len(s) {
		return Number{num: whole, den: 1}, i, nil
	}
	switch c := s[i]; {
	case c == '.' || c == ',':
		if isDigit(s, i+1) {
			return scanDecimals(s, start, i, whole)
		}
	case c == ' ' || c == '-' || c == '/' || c >= utf8.RuneSelf:
		return scanFraction(s, start, i, whole)
	}
	return Number{num: whole, den: 1}, i, nil
}

var powersOfTen = [...]int64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18}

// scanDecimals goes on at the separator s[i], which a digit follows.
func scanDecimals(s string, start, i int, whole int64) (Number, int, *InputError) {
	decimals, next := scanDigits(s, i+1)
	places := next - i - 1
	if next < len(s) && (s[next] == '.' || s[next] == ',') && isDigit(s, next+1) {
		return scanGroups(s, start, i)
	}
	if s[i] == ',' && places == 3 && i-start >= 1 && i-start <= 3 && s[start] != '0' {
		digits := s[start:i]
		return Number{}, next, &InputError{
			Problem: "may be " + digits + "." + s[i+1:next] + " or " + digits + s[i+1:next],
			Hint:    digits + "." + s[i+1:next],
		}
	}
	if places > maxDecimals {
		return Number{}, next, &InputError{Problem: "has more than 9 decimals"}
	}
	scale := powersOfTen[places]
	return Number{num: whole*scale + decimals, den: scale}, next, nil
}

// scanGroups reads digits in groups of three, parted by the mark at s[i], and
// decimals behind the other mark: 1,234.50 or 1.234,50 or 1.234.567.
func scanGroups(s string, start, i int) (Number, int, *InputError) {
	group := s[i]
	whole, next := scanDigits(s, start)
	sound := next-start >= 1 && next-start <= 3 && s[start] != '0'
	digits := next - start
	for next < len(s) && s[next] == group && isDigit(s, next+1) {
		value, end := scanDigits(s, next+1)
		sound = sound && end-next-1 == 3
		digits += end - next - 1
		whole, next = whole*1000+value, end
	}
	n := Number{num: whole, den: 1}
	if next < len(s) && (s[next] == '.' || s[next] == ',') && isDigit(s, next+1) {
		decimals, end := scanDigits(s, next+1)
		places := end - next - 1
		if places > maxDecimals {
			return Number{}, end, &InputError{Problem: "has more than 9 decimals"}
		}
		scale := powersOfTen[places]
		n = Number{num: whole*scale + decimals, den: scale}
		next = end
		sound = sound && !(next < len(s) && (s[next] == '.' || s[next] == ',') && isDigit(s, next+1))
	}
	switch {
	case !sound:
		return Number{}, next, &InputError{Problem: "has separators I cannot place", Hint: "1234.5 or 1,234.50"}
	case digits > maxWholeDigits:
		return Number{}, next, &InputError{Problem: "has more than 9 digits before the decimal point"}
	}
	return n, next, nil
}

// scanFraction goes on at s[i] behind the whole digits s[start:i], of which there
// may be none: at a slash, at a vulgar fraction, or at what parts a whole number
// from its fraction.
func scanFraction(s string, start, i int, whole int64) (Number, int, *InputError) {
	alone := Number{num: whole, den: 1}
	if i > start {
		if width := slashAt(s, i); width > 0 {
			if !isDigit(s, i+width) {
				return alone, i, nil
			}
			return scanDenominator(s, i+width, whole)
		}
	}
	at := i
	if i > start {
		if width := hyphenAt(s, i); width > 0 {
			at = i + width
		} else {
			at = skipSpace(s, i)
		}
	}
	if n, width := glyphAt(s, at); width > 0 {
		return Number{num: whole*n.den + n.num, den: n.den}, at + width, nil
	}
	if i == start || at == i || !isDigit(s, at) {
		return alone, i, nil
	}
	top, end := scanDigits(s, at)
	width := slashAt(s, end)
	if width == 0 || !isDigit(s, end+width) || end-at > maxWholeDigits {
		return alone, i, nil
	}
	part, next, e := scanDenominator(s, end+width, top)
	if e != nil {
		return Number{}, next, e
	}
	if part.num >= part.den {
		return Number{}, next, &InputError{
			Problem: "has a fraction of one or more behind a whole number",
			Hint:    "1-1/4",
		}
	}
	return Number{num: whole*part.den + part.num, den: part.den}, next, nil
}

func scanDenominator(s string, i int, top int64) (Number, int, *InputError) {
	bottom, next := scanDigits(s, i)
	switch {
	case next-i > maxWholeDigits || bottom > maxDenominator:
		return Number{}, next, &InputError{Problem: "has a denominator above 1000"}
	case bottom == 0:
		return Number{}, next, &InputError{Problem: "divides by zero"}
	}
	return Number{num: top, den: bottom}, next, nil
}

// slashAt, hyphenAt and glyphAt give the width in bytes of the mark at s[i], or 0.

func slashAt(s string, i int) int {
	switch {
	case i >= len(s):
		return 0
	case s[i] == '/':
		return 1
	case strings.HasPrefix(s[i:], "⁄") || strings.HasPrefix(s[i:], "∕"):
		return len("⁄")
	}
	return 0
}

func hyphenAt(s string, i int) int {
	switch {
	case i >= len(s):
		return 0
	case s[i] == '-':
		return 1
	case s[i] < utf8.RuneSelf:
		return 0
	}
	switch r, width := utf8.DecodeRuneInString(s[i:]); r {
	case '‐', '‑', '–':
		return width
	}
	return 0
}

func glyphAt(s string, i int) (Number, int) {
	if i >= len(s) || s[i] < utf8.RuneSelf {
		return Number{}, 0
	}
	r, width := utf8.DecodeRuneInString(s[i:])
	num, den := vulgarFraction(r)
	if den == 0 {
		return Number{}, 0
	}
	return Number{num: num, den: den}, width
}

// vulgarFraction is the value of one of Unicode's fraction characters (blocks
// Latin-1 Supplement and Number Forms), or 0/0.
func vulgarFraction(r rune) (num, den int64) {
	switch r {
	case '½':
		return 1, 2
	case '⅓':
		return 1, 3
	case '⅔':
		return 2, 3
	case '¼':
		return 1, 4
	case '¾':
		return 3, 4
	case '⅕':
		return 1, 5
	case '⅖':
		return 2, 5
	case '⅗':
		return 3, 5
	case '⅘':
		return 4, 5
	case '⅙':
		return 1, 6
	case '⅚':
		return 5, 6
	case '⅐':
		return 1, 7
	case '⅛':
		return 1, 8
	case '⅜':
		return 3, 8
	case '⅝':
		return 5, 8
	case '⅞':
		return 7, 8
	case '⅑':
		return 1, 9
	case '⅒':
		return 1, 10
	}
	return 0, 0
}
