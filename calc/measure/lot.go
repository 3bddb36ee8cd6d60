package measure

import (
	"strconv"
	"strings"
)

// Board is one board: its thickness, its width across the grain and its length
// along it, as they are measured.
type Board struct{ Thickness, Width, Length Length }

// Volume is the exact volume of the board.
func (b Board) Volume() Volume { return VolumeOf(1, b.Thickness, b.Width, b.Length) }

// LotLine is a number of equal boards.
type LotLine struct {
	Count int
	Board Board
}

// Lot is boards as they lie in a pile or stand on a bill, line by line.
type Lot []LotLine

// The limits of a lot. Ten thousand lines is more than a yard tallies in a day.
const (
	MaxLotCount = 10_000
	MaxLotLines = 10_000
	maxLotText  = 1 << 20
	lotHint     = "6 @ 1x4x8'"
)

// Boards is how many boards the lot holds.
func (l Lot) Boards() int {
	boards := 0
	for _, line := range l {
		boards += line.Count
	}
	return boards
}

// Volume is the exact volume of the lot.
func (l Lot) Volume() Volume {
	var sum Volume
	for _, line := range l {
		b := line.Board
		sum = sum.Plus(VolumeOf(line.Count, b.Thickness, b.Width, b.Length))
	}
	return sum
}

// ParseLot reads boards, thickness by width by length. A number without a unit is
// counted in bare.
//
//	lot     = line { parting line } .
//	parting = ";" | "+" | newline | "," .               (* no decimal comma *)
//	line    = [ count mark ] side by side by side .
//	count   = digit { digit } .                         (* 1 to 10000 *)
//	mark    = "@" | piece [ "@" | "of" ] .
//	piece   = "pc" | "pcs" | "piece" | "pieces" | "board" | "boards" .
//	side    = length .
//	by, length = as ParseSize and ParseLength document them .
//
// A short unit word behind a board (in, mm, cm) counts for every measure that has
// none of its own. A long one (ft, yd, m) marks the length alone, as boards are
// sold. Measures without a unit beside units of the other system than bare only are
// of that system, as ParseSize has it: in 1 x 4 x 8 ft the section is in inches and
// in 27 x 145 x 2.4 m in millimetres, whatever bare is. A comma between two digits
// is a decimal comma, except before a count. A count and a thickness need a mark
// between them. Blank lines are passed over.
//
// A mistake quotes the part it is in, and the line's number where there are
// several.
func ParseLot(text string, bare Length) (Lot, error) {
	return parseLot(text, lotReader{bare: bare})
}

// ParseNamedLot reads boards as ParseLot does, by the names a lumber yard has for
// them: a number without a unit is in inches, beside a length in metres too, as in
// 2 x 4 x 2.4 m.
func ParseNamedLot(text string) (Lot, error) {
	return parseLot(text, lotReader{bare: Inch, named: true})
}

// lotReader is how the measures of a lot are counted that have no unit.
type lotReader struct {
	bare  Length
	named bool // a unit of the other system says nothing about its neighbours
}

func parseLot(text string, r lotReader) (Lot, error) {
	if len(text) > maxLotText {
		return nil, &InputError{Value: text, Problem: "is too long for a lot of boards", Hint: lotHint}
	}
	lot := make(Lot, 0, 1+min(strings.Count(text, "@"), MaxLotLines))
	for i := 0; i < len(text); {
		end, next := lineEnd(text, i)
		if s := strings.TrimSpace(text[i:end]); s != "" {
			if len(lot) == MaxLotLines {
				return nil, &InputError{Value: text, Problem: "has more than 10,000 lines", Hint: lotHint}
			}
			line, e := r.line(s)
			if e != nil {
				if len(lot) > 0 || strings.Trim(text[next:], " \t\r\n;,+") != "" {
					e.Problem = "in line " + strconv.Itoa(len(lot)+1) + " " + e.Problem
				}
				return nil, e
			}
			lot = append(lot, line)
		}
		i = next
	}
	if len(lot) == 0 {
		return nil, mistake(nil, text, "names no boards", lotHint)
	}
	return lot, nil
}

// lineEnd finds where the line that begins at s[i] ends and where the next one
// begins.
func lineEnd(s string, i int) (end, next int) {
	board := false // a board has begun, so what follows may be the next line's count
	for k := i; k < len(s); k++ {
		switch s[k] {
		case ';', '+', '\n':
			return k, k + 1
		case 'x', 'X', '*':
			board = true
		case ',':
			if !isDecimalComma(s, i, k, board) {
				return k, k + 1
			}
		default:
			board = board || s[k] >= 0x80 && byAt(s, k) > 0
		}
	}
	return len(s), len(s)
}

// isDecimalComma tells the comma at s[k] of the line from s[i] on: inside a number,
// or between two lines.
func isDecimalComma(s string, i, k int, board bool) bool {
	if !isDigit(s, k+1) {
		return false
	}
	if k > i && isDigit(s, k-1) {
		if !board {
			return true
		}
		_, end := scanDigits(s, k+1)
		_, counted := scanCountMark(s, end)
		return !counted
	}
	before := strings.TrimRight(s[i:k], " \t")
	return before == "" || byAt(before, len(before)-1) > 0 || strings.HasSuffix(before, "@") || strings.HasSuffix(before, "×")
}

// line reads one line, which has no spaces around it and is not empty.
func (r lotReader) line(s string) (LotLine, *InputError) {
	count, i, e := scanCount(s)
	if e != nil {
		return LotLine{}, e
	}
	board := strings.TrimSpace(s[i:])
	sides, n, e := scanSides(board, lotHint)
	switch {
	case n == 0 && (board == "" || byAt(board, 0) > 0):
		return LotLine{}, &InputError{Value: s, Problem: "names no thickness, width and length", Hint: lotHint}
	case e == nil && n == maxSides:
	case e == nil && n < maxSides:
		return LotLine{}, &InputError{Value: s, Problem: "lacks one of thickness, width and length", Hint: lotHint}
	case e == nil && strings.Contains(s, ","):
		return LotLine{}, &InputError{Value: s, Problem: "has more than three measures; a comma between two digits is a decimal comma", Hint: "1x4x8'; 2x4x8'"}
	case e == nil:
		return LotLine{}, &InputError{Value: s, Problem: "has more than three measures", Hint: lotHint}
	case i == 0 && startsWithCount(s):
		return LotLine{}, &InputError{Value: s, Problem: "needs an @ between the count and the board", Hint: lotHint}
	default:
		return LotLine{}, e
	}
	bare := r.bare
	if last := sides[maxSides-1]; last.word && !last.joined && last.unit < Foot {
		bare = last.unit
	} else if !r.named {
		bare = bareBeside(sides[:], bare)
	}
	var l [maxSides]Length
	for k := range l {
		if l[k], e = sides[k].resolve(board, bare, lotHint); e != nil {
			return LotLine{}, e
		}
	}
	b := Board{Thickness: l[0], Width: l[1], Length: l[2]}
	if i == 0 && b.Thickness > b.Width {
		if e := r.askCount(s, sides[0]); e != nil {
			return LotLine{}, e
		}
	}
	return LotLine{Count: count, Board: b}, nil
}

// scanCount reads the count of a line and its mark. A line without one is one
// board, and the scan stops where it began.
func scanCount(s string) (count, next int, e *InputError) {
	value, end := scanDigits(s, 0)
	at, marked := scanCountMark(s, end)
	switch {
	case !marked && strings.Contains(s, "@"):
		written, _, _ := strings.Cut(s, "@")
		return 0, 0, mistake(nil, strings.TrimSpace(written), "is not a count of boards", lotHint)
	case !marked:
		return 1, 0, nil
	case end == 0:
		return 0, 0, &InputError{Value: s, Problem: "lacks the count of boards", Hint: lotHint}
	case value == 0:
		return 0, 0, &InputError{Value: s[:end], Problem: "is a count of no boards", Hint: lotHint}
	case value > MaxLotCount || end > 9:
		return 0, 0, &InputError{Value: s[:end], Problem: "is a count above 10,000 boards in one line", Hint: lotHint}
	}
	return int(value), at, nil
}

// scanCountMark reads what parts a count from its board.
func scanCountMark(s string, i int) (next int, marked bool) {
	i = skipSpace(s, i)
	if i < len(s) && s[i] == '@' {
		return i + 1, true
	}
	end := i
	for end < len(s) && s[end]|0x20 >= 'a' && s[end]|0x20 <= 'z' {
		end++
	}
	switch strings.ToLower(s[i:end]) {
	case "pc", "pcs", "piece", "pieces", "board", "boards":
	default:
		return i, false
	}
	if end < len(s) && s[end] == '.' {
		end++
	}
	at := skipSpace(s, end)
	switch {
	case at < len(s) && s[at] == '@':
		return at + 1, true
	case strings.HasPrefix(s[at:], "of "):
		return at + len("of "), true
	}
	return end, true
}

// startsWithCount reports whether a line begins as 6 1x4x8' does, with two numbers
// side by side.
func startsWithCount(s string) bool {
	_, end := scanDigits(s, 0)
	at := skipSpace(s, end)
	return end > 0 && at > end && isDigit(s, at)
}

// askCount asks about 6 3/4 x 3-1/2 x 40: a board thicker than it is wide whose
// thickness is written with a space may be a count and a board.
func (r lotReader) askCount(s string, thickness side) *InputError {
	written := sideText(s, thickness.start)
	whole, fraction, spaced := strings.Cut(written, " ")
	fraction = strings.TrimSpace(fraction)
	if _, end := scanDigits(whole, 0); !spaced || end != len(whole) || !isDigit(fraction, 0) {
		return nil
	}
	rest := s[len(written):]
	counted := whole + " @ " + fraction + rest
	if _, e := r.line(counted); e != nil {
		return nil // not a count and a board, so it is a board
	}
	e := &InputError{
		Value:   s,
		Problem: "may be " + whole + " boards or one board " + whole + "-" + fraction + " thick",
		Hint:    lotHint,
	}
	if len(s) <= 2*QuoteLimit {
		e.Hint = counted + " or " + whole + "-" + fraction + rest
	}
	return e
}
