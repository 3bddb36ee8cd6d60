package measure

import (
	"strconv"
	"strings"
	"time"
)

const (
	// maxDuration is the longest time on one piece: eleven years of hours.
	maxDuration     = 100_000 * time.Hour
	maxDurationText = 64
	durationHint    = "7.5 or 7h30"
)

// ParseDuration reads shop time that is not negative, at most 100,000 hours. A
// bare number is counted in hours.
//
//	duration = number                                   (* hours *)
//	         | digits ":" digit digit [ ":" digit digit ]
//	         | part { [ space ] part } [ digits ] .     (* 7h40: minutes behind hours *)
//	part     = number unit .                            (* hours, minutes, seconds, in that order *)
//	unit     = "h" | "hr" | "hour" | "m" | "min" | "minute" | "s" | "sec" | "second" .
//	number   = as ParseNumber documents it .
//
// Words are read in either case, in the plural, and a short one may end in a full
// stop. Only the last part may have a fraction, and behind a larger part minutes
// and seconds stay below 60. The result is rounded to the nanosecond, half to even.
func ParseDuration(text string) (time.Duration, error) {
	if len(text) > maxDurationText {
		return 0, &InputError{Value: text, Problem: "is too long for a length of time", Hint: durationHint}
	}
	d, e := scanDuration(text)
	if e == nil && d <= maxDuration {
		return d, nil
	}
	if e == nil {
		e = &InputError{Problem: "is more than 100,000 hours"}
	}
	return 0, mistake(e, text, "is not a length of time", durationHint)
}

// scanDuration reads the whole of s. An InputError that says nothing stands for text
// that is no time.
func scanDuration(s string) (time.Duration, *InputError) {
	var sum time.Duration
	var last time.Duration // the unit of the part before, 0 at the first
	broken := false        // the part before had a fraction
	for i := skipSpace(s, 0); i < len(s) || last == 0; i = skipSpace(s, i) {
		n, next, e := scanNumber(s, i)
		if e != nil {
			return 0, e
		}
		if next == i {
			return 0, &InputError{}
		}
		if last == 0 && next < len(s) && s[next] == ':' {
			return scanClock(s, i)
		}
		unit, end := scanTimeUnit(s, next)
		if unit == 0 && skipSpace(s, end) == len(s) {
			unit = impliedUnit(last)
		}
		if unit == 0 || broken || last != 0 && unit >= last {
			return 0, &InputError{}
		}
		if last != 0 && n.num >= 60*int64(n.denominator()) {
			return 0, sixtyOrMore(unit)
		}
		part, fits := n.times(unit)
		if !fits {
			return 0, &InputError{Problem: "is more than 100,000 hours"}
		}
		_, whole := n.Whole()
		sum, last, broken, i = sum+part, unit, !whole, end
	}
	return sum, nil
}

// impliedUnit is what a last number without a unit counts: hours alone, and behind
// hours or minutes the next unit down.
func impliedUnit(last time.Duration) time.Duration {
	switch last {
	case 0:
		return time.Hour
	case time.Hour:
		return time.Minute
	case time.Minute:
		return time.Second
	}
	return 0
}

// scanClock reads 7:40 or 7:40:30 from s[i] to the end.
func scanClock(s string, i int) (time.Duration, *InputError) {
	hours, next := scanDigits(s, i)
	if next == i || next-i > maxWholeDigits || next == len(s) || s[next] != ':' {
		return 0, &InputError{}
	}
	sum, fits := Number{num: hours}.times(time.Hour)
	if !fits {
		return 0, &InputError{Problem: "is more than 100,000 hours"}
	}
	for _, unit := range []time.Duration{time.Minute, time.Second} {
		if next == len(s) || s[next] != ':' {
			break
		}
		value, end := scanDigits(s, next+1)
		if end-next != len(":40") {
			return 0, &InputError{}
		}
		if value >= 60 {
			return 0, sixtyOrMore(unit)
		}
		sum += time.Duration(value) * unit
		next = end
	}
	if skipSpace(s, next) != len(s) {
		return 0, &InputError{}
	}
	return sum, nil
}

func sixtyOrMore(unit time.Duration) *InputError {
	name := "minutes"
	if unit == time.Second {
		name = "seconds"
	}
	return &InputError{Problem: "has 60 " + name + " or more behind a larger unit"}
}

// times is n units of time, and whether that is at most maxDuration.
func (n Number) times(unit time.Duration) (time.Duration, bool) {
	whole, _ := n.Whole()
	if whole > int64(maxDuration/unit) {
		return 0, false
	}
	d, e := n.scale(Length(unit)) // the same sum, in nanoseconds
	return time.Duration(d), e == nil
}

func scanTimeUnit(s string, start int) (time.Duration, int) {
	i := skipSpace(s, start)
	end := i
	for end < len(s) && s[end]|0x20 >= 'a' && s[end]|0x20 <= 'z' {
		end++
	}
	unit := timeUnit(strings.ToLower(s[i:end]))
	if unit == 0 {
		return 0, start
	}
	if end < len(s) && s[end] == '.' && !isDigit(s, end+1) {
		end++
	}
	return unit, end
}

func timeUnit(word string) time.Duration {
	switch word {
	case "h", "hr", "hrs", "hour", "hours":
		return time.Hour
	case "m", "min", "mins", "minute", "minutes":
		return time.Minute
	case "s", "sec", "secs", "second", "seconds":
		return time.Second
	}
	return 0
}

// FormatDuration writes shop time as ParseDuration reads it: "14 h 15 min",
// "45 min", "30 s". It is rounded to the second, half to even.
func FormatDuration(d time.Duration) string {
	seconds, _ := nearest(magnitude(int64(d)), 1, uint64(time.Second)) // a billionth always fits
	if seconds == 0 {
		return "0 min"
	}
	var room [40]byte
	out := room[:0]
	if d < 0 {
		out = append(out, '-')
	}
	for _, part := range [...]struct {
		value uint64
		unit  string
	}{{seconds / 3600, " h"}, {seconds / 60 % 60, " min"}, {seconds % 60, " s"}} {
		if part.value == 0 {
			continue
		}
		if len(out) > 0 && out[len(out)-1] != '-' {
			out = append(out, ' ')
		}
		out = append(strconv.AppendUint(out, part.value, 10), part.unit...)
	}
	return string(out)
}
