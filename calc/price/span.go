package price

import (
	"strings"
	"time"
	"unicode"

	"tallystick/calc/measure"
)

// Span is the maker's time on a piece where it is known only between two bounds.
// Both are the same where it is known.
type Span struct{ Low, High time.Duration }

// Known reports whether the span is one time.
func (s Span) Known() bool { return s.Low == s.High }

const (
	spanHint    = "7h30 or 6-9"
	maxSpanText = 128
)

// ParseSpan reads a time, or two with the lesser first.
//
//	span  = time | time until time .
//	until = "-" | "–" | "—" | "to" | ".." .
//	time  = as measure.ParseDuration documents it .
//
// A unit behind the second time counts for a bare first one: 30-45 min. What can
// be read as one time is: 6-1/2 is six and a half hours.
func ParseSpan(text string) (Span, error) {
	if len(text) > maxSpanText {
		return Span{}, &measure.InputError{Value: text, Problem: "is too long for a length of time", Hint: spanHint}
	}
	whole, err := measure.ParseDuration(text)
	if err == nil {
		return Span{whole, whole}, nil
	}
	for _, until := range []string{"..", " to ", "–", "—", "-"} {
		for at := 0; ; {
			next := strings.Index(text[at:], until)
			if next < 0 {
				break
			}
			at += next
			low, high := strings.TrimSpace(text[:at]), strings.TrimSpace(text[at+len(until):])
			at += len(until)
			if low == "" || high == "" {
				continue
			}
			if s, ok := spanOf(low, high); ok {
				if s.Low > s.High {
					return Span{}, &measure.InputError{Value: text, Problem: "runs from the longer time to the shorter",
						Hint: high + "-" + low}
				}
				return s, nil
			}
		}
	}
	return Span{}, err
}

func spanOf(low, high string) (Span, bool) {
	if isBare(low) {
		low += unitBehind(high)
	}
	from, err := measure.ParseDuration(low)
	if err != nil {
		return Span{}, false
	}
	to, err := measure.ParseDuration(high)
	return Span{from, to}, err == nil
}

func isBare(text string) bool {
	return !strings.ContainsFunc(text, unicode.IsLetter) && !strings.Contains(text, ":")
}

// unitBehind is the unit of a time that is one number with one unit, else
// nothing.
func unitBehind(text string) string {
	at := strings.IndexFunc(text, unicode.IsLetter)
	if at < 0 || strings.ContainsFunc(text[at:], unicode.IsDigit) {
		return ""
	}
	return " " + text[at:]
}
