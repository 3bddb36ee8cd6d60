package commands

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// FiguresIn is true when every filled cell of a column is a figure, which stands to the
// right as numbers do.
func FiguresIn(rows [][]string, column int) bool {
	any := false
	for _, row := range rows {
		switch {
		case column >= len(row) || row[column] == "" || row[column] == "–" || row[column] == "-":
		case !isFigure(row[column]):
			return false
		default:
			any = true
		}
	}
	return any
}

// beforeDigits is what may stand before a number: signs, and a currency, whose letters
// have a sign of their own or a blank that does not break behind them, as the locales
// write them (CA$, R$, KWD, F CFA; CHF-5 in German of Switzerland). A name that ends
// in a number, such as "box 2", has neither.
var beforeDigits = regexp.MustCompile(`^[-+−~\p{Z}\p{Cf}]*` +
	`(?:[\p{L}./\x{202f}]{0,5}\p{Sc}|[\p{L}./\x{202f}]{1,5}\x{a0}|[A-Z]{3}-)?` +
	`[-+−~\p{Z}\p{Cf}]*$`)

const (
	// mostBefore is longer than anything of that kind, in bytes.
	mostBefore = 24
	// mostFigure is longer than a figure with its unit in both systems; what is longer
	// are words that begin with one.
	mostFigure = 32
)

// isFigure tells a figure from words that hold a digit.
func isFigure(cell string) bool {
	cell = strings.TrimPrefix(cell, "about ")
	at := strings.IndexFunc(cell, unicode.IsDigit)
	if at < 0 || at > mostBefore || utf8.RuneCountInString(cell) > mostFigure {
		return false
	}
	// Most cells need no matching, which costs ten times as much.
	return strings.TrimLeft(cell[:at], "+-−~$€£¥ ") == "" || beforeDigits.MatchString(cell[:at])
}
