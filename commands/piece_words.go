package commands

import (
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// oneLine is a member's text fit to stand inside a line: what does not print, line
// ends among it, becomes a space.
func oneLine(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text))
}

// shorten cuts text to so many characters.
func shorten(text string, limit int) string {
	if utf8.RuneCountInString(text) <= limit {
		return text
	}
	return strings.TrimSpace(string([]rune(text)[:limit-1])) + "…"
}

// secondsText is a time as it is shown: to the minute, half to even.
func secondsText(seconds int64) string {
	minutes, rest := seconds/60, seconds%60
	if rest > 30 || rest == 30 && minutes%2 == 1 {
		minutes++
	}
	return measure.FormatDuration(time.Duration(minutes) * time.Minute)
}

// longText is a length of time on the calendar: in days from two on.
func longText(seconds int64) string {
	if days := seconds / 86400; days >= 2 {
		return strconv.FormatInt(days, 10) + " days"
	}
	return secondsText(seconds)
}

func hoursFigure(key, label string, seconds int64) Figure {
	return Figure{Key: key, Label: label, Value: measure.Decimal(big.NewRat(seconds, 3600), 4), Unit: "h", Text: secondsText(seconds)}
}

func countFigure(key, label string, n int, unit string) Figure {
	text := strconv.Itoa(n)
	return Figure{Key: key, Label: label, Value: text, Unit: unit, Text: plural(n, strings.TrimSuffix(unit, "s"))}
}

// ratioFigure is a ratio as a percentage, to a tenth.
func ratioFigure(key, label string, ratio *big.Rat) Figure {
	v := measure.Decimal(new(big.Rat).Mul(ratio, big.NewRat(100, 1)), 1)
	return Figure{Key: key, Label: label, Value: v, Unit: "%", Text: v + " %"}
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	if word == "entry" {
		return strconv.Itoa(n) + " entries"
	}
	return strconv.Itoa(n) + " " + word + "s"
}

// millionthsText writes a quantity with at most three decimals and its unit.
func millionthsText(millionths int64, unit string) string {
	unit = oneLine(unit)
	v := measure.Decimal(big.NewRat(millionths, 1_000_000), 3)
	if strings.Contains(v, ".") {
		v = strings.TrimSuffix(strings.TrimRight(v, "0"), ".")
	}
	switch unit {
	case price.UnitBoardFeet:
		return v + " board feet"
	case "":
		return v
	}
	return v + " " + unit
}

// inMillionths rounds a quantity to the millionth, half to even.
func inMillionths(r *big.Rat) (int64, bool) {
	n, ok := new(big.Int).SetString(strings.ReplaceAll(measure.Decimal(r, 6), ".", ""), 10)
	if !ok || !n.IsInt64() || n.Int64() > price.MaxMillionths {
		return 0, false
	}
	return n.Int64(), true
}

// dateText writes a day as people do.
func dateText(day int) string { return dayTime(day).Format("2 January 2006") }

// shortDay is a day in a narrow table.
func shortDay(day int) string { return dayTime(day).Format("2006-01-02") }

func secondsOf(n int64) time.Duration { return time.Duration(n) * time.Second }

func dayTime(day int) time.Time { return time.Unix(int64(day)*24*60*60, 0).UTC() }

const oldestDay = 20 * 366 // how long ago a day may be

var dayLayouts = []string{"2006-01-02", "2 Jan 2006", "2 January 2006", "Jan 2 2006", "January 2 2006", "Jan 2, 2006", "January 2, 2006"}

var ordinal = regexp.MustCompile(`(\d)(st|nd|rd|th)\b`)

// readDay reads a day. Without a year it is the last such day. One like 3/4/2026,
// which may be in March or April, is asked about.
func readDay(text string, now int) (int, error) {
	words := strings.ToLower(strings.Join(strings.Fields(text), " "))
	switch words {
	case "today":
		return now, nil
	case "yesterday":
		return now - 1, nil
	}
	words = ordinal.ReplaceAllString(words, "$1")
	for _, layout := range dayLayouts {
		if t, err := time.Parse(layout, words); err == nil {
			return int(t.Unix() / 86400), nil
		}
	}
	year := dayTime(now).Year()
	for _, layout := range []string{"2 Jan 2006", "2 January 2006", "Jan 2 2006", "January 2 2006"} {
		for _, y := range []int{year, year - 1} {
			t, err := time.Parse(layout, words+" "+strconv.Itoa(y))
			if err == nil && int(t.Unix()/86400) <= now {
				return int(t.Unix() / 86400), nil
			}
		}
	}
	return 0, &measure.InputError{Value: text, Problem: "is not a day that I can read", Hint: shortDay(now) + " or yesterday"}
}

// day reads a day that is not to come; absent it is the day of the request.
func (in *reading) day(name string) int {
	now := today(in.req)
	if !in.has(name) {
		return now
	}
	return value(in, name, func(text string) (int, error) {
		day, err := readDay(text, now)
		switch {
		case err != nil:
			return 0, err
		case day > now+1: // tomorrow may have begun where the member is
			return 0, &measure.InputError{Value: text, Problem: "is still to come", Hint: shortDay(now)}
		case day < now-oldestDay:
			return 0, &measure.InputError{Value: text, Problem: "is more than 20 years ago", Hint: shortDay(now)}
		}
		return day, nil
	})
}

// momentFigure is a moment, which a transport may write in each reader's own time zone.
func momentFigure(key, label string, at time.Time) Figure {
	return Figure{Key: key, Label: label, Value: strconv.FormatInt(at.Unix(), 10), Unit: "s", Text: momentText(at), At: at}
}

func momentText(at time.Time) string { return at.UTC().Format("2 January 2006, 15:04 UTC") }

// until reads how long something holds: a time from now, or the end of a day.
func (in *reading) until(name string) int64 {
	return value(in, name, func(text string) (int64, error) {
		now := in.req.Time.Unix()
		if d, err := measure.ParseDuration(text); err == nil {
			if d <= 0 || d > 366*24*time.Hour {
				return 0, &measure.InputError{Value: text, Problem: "is not a time to hold a piece, at most a year", Hint: "48h"}
			}
			return now + price.Seconds(d), nil
		}
		day, err := readDay(text, today(in.req)+366) // a day without a year may be to come
		if err != nil || day > today(in.req)+366 {
			return 0, &measure.InputError{Value: text, Problem: "is neither a time nor a day within a year", Hint: "48h or " + shortDay(today(in.req)+2)}
		}
		if day < today(in.req) {
			return 0, &measure.InputError{Value: text, Problem: "is past", Hint: "48h or " + shortDay(today(in.req)+2)}
		}
		return int64(day+1)*86400 - 1, nil
	})
}

func yesOption(name, summary string) Option {
	return Option{Name: name, Summary: summary, Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}}
}
