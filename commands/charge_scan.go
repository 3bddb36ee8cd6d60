package commands

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// partKind is what a part of a line is read as.
type partKind string

// The kinds of part.
const (
	boardsPart   partKind = "boards"
	sizePart     partKind = "size"
	sidePart     partKind = "side"
	feetPart     partKind = "board feet"
	timePart     partKind = "time"
	ratePart     partKind = "rate"
	perTripPart  partKind = "rate for driving"
	percentPart  partKind = "percentage"
	distancePart partKind = "distance"
	moneyPart    partKind = "money"
	countPart    partKind = "count"
	categoryPart partKind = "category"
	piecePart    partKind = "piece"
	speciesPart  partKind = "wood"
	venuePart    partKind = "venue"
)

// part is a quantity or a name in a line, with the words that belong to it.
type part struct {
	kind   partKind
	role   role
	clause int
	at     int // where its first word stands in the clause
	run    []*token
	labels []*token
	text   string // as the parser of its kind read it

	size     measure.Size
	lot      measure.Lot
	span     price.Span
	money    price.Money
	marked   bool
	fraction price.Fraction
	distance measure.Length
	per      price.PerDistance
	number   measure.Number
	name     string
	// note says what was chosen where a name covers several things.
	note string
	// other is true for a number of something that is no money.
	other bool
	// each is true for what was told of one piece of several; pieces is by how many
	// it was multiplied, 0 where it was not.
	each   bool
	pieces int
	// doubt asks about a part that could be two things.
	doubt string
}

// quantity reports whether the part is an amount and not a name.
func (p *part) quantity() bool {
	return p.kind != categoryPart && p.kind != piecePart && p.kind != speciesPart && p.kind != venuePart
}

// longestRun is how many words one quantity may have: "48 in long x 14 in wide x 18
// in high" has eleven.
const longestRun = 12

// In a line of more numbers than manyNumbers no quantity is looked for in more words
// than shortRun: each run is tried as everything that it could be, and what takes
// long to read is never a maker's line.
const manyNumbers, shortRun = 120, 3

// scanner reads one quantity that stands in the whole of a text; nil where there
// is none.
type scanner func(l *lineReader, text string, run []*token) *part

// scanners are tried in this order on runs of the same length.
var scanners = []scanner{scanLot, scanLineSize, scanSide, scanFeet, scanTime, scanRate, scanPerTrip, scanPercentage, scanDistance, scanMoney}

// scan finds the quantities of a clause, at each word the longest.
func (l *lineReader) scan(clause []*token, number int) {
	for i := 0; i < len(clause); {
		p := l.longest(clause[i:])
		if p == nil {
			i++
			continue
		}
		p.clause, p.at = number, i
		for _, t := range p.run {
			t.part = p
		}
		l.parts = append(l.parts, p)
		i += len(p.run)
	}
}

func numbersIn(clauses [][]*token) (n int) {
	for _, clause := range clauses {
		for _, t := range clause {
			if t.isNumeric() {
				n++
			}
		}
	}
	return n
}

func (l *lineReader) longest(rest []*token) *part {
	if !rest[0].isNumeric() && !startsMoney(rest) {
		return nil
	}
	most := 1
	for most < len(rest) && most < l.most && !rest[most].plus {
		most++
	}
	for n := most; n > 0; n-- {
		if l.isPreposition(rest, n) || isNextAmount(rest, n) {
			continue
		}
		text := joinedText(rest[:n])
		for _, scan := range scanners {
			if p := scan(l, text, rest[:n]); p != nil {
				p.run, p.text = rest[:n], text
				return p
			}
		}
	}
	return nil
}

// isPreposition reports whether the last of n words is "in" before the name of a
// wood: "48x14x18 in elm" gives no unit.
func (l *lineReader) isPreposition(rest []*token, n int) bool {
	return n > 1 && n < len(rest) && rest[n-1].word == "in" && woodBegins()[rest[n].word]
}

// isNextAmount reports whether the last of n words is a bare number before a word
// for what was paid: "9h 40 wood" is nine hours, and forty for wood.
func isNextAmount(rest []*token, n int) bool {
	return n > 1 && n < len(rest) && !rest[n].plus && bareNumber.MatchString(rest[n-1].text) &&
		(slices.Contains(rolesOf[rest[n].word], costRole) || isCoin(rest[n])) && strings.ContainsFunc(rest[0].text, unicode.IsLetter)
}

var bareNumber = regexp.MustCompile(`^[0-9.,]+$`)

func startsMoney(rest []*token) bool {
	return len(rest) > 1 && isCoin(rest[0]) && rest[1].isNumeric() && !rest[1].plus
}

// isCoin reports whether a word stands for a currency.
func isCoin(t *token) bool { return signs[t.text] || coinCodes[t.word] || coins[t.word] != "" }

func scanLot(l *lineReader, text string, run []*token) *part {
	counted := len(run) > 1 && (strings.HasPrefix(run[1].word, "pc") || strings.HasPrefix(run[1].word, "piece") || strings.HasPrefix(run[1].word, "board"))
	if !counted && !strings.Contains(text, "@") || run[0].word == "@" {
		return nil
	}
	lot, err := measure.ParseLot(text, l.bare)
	if err != nil {
		return nil
	}
	return &part{kind: boardsPart, lot: lot}
}

func scanLineSize(l *lineReader, text string, _ []*token) *part {
	size, err := measure.ParseSize(text, l.bare)
	if err != nil {
		return nil
	}
	return &part{kind: sizePart, size: size}
}

var sideName = regexp.MustCompile(`(?i)^(.+?)\s*(long|wide|deep|high|tall|thick)$`)

// scanSide reads one named side: "48 in long".
func scanSide(l *lineReader, text string, _ []*token) *part {
	m := sideName.FindStringSubmatch(text)
	if m == nil {
		return nil
	}
	side, err := measure.ParseLength(m[1], l.bare)
	if err != nil || side == 0 {
		return nil
	}
	return &part{kind: sidePart, distance: side, name: strings.ToLower(m[2])}
}

var boardFeetUnit = regexp.MustCompile(`(?i)^([0-9].*?)\s*(?:bf|bdft|bd ft|fbm|board[ -]f(?:ee|oo)t)$`)

func scanFeet(_ *lineReader, text string, _ []*token) *part {
	m := boardFeetUnit.FindStringSubmatch(text)
	if m == nil {
		return nil
	}
	n, err := measure.ParseNumber(m[1])
	if err != nil || n.IsZero() {
		return nil
	}
	return &part{kind: feetPart, number: n}
}

// loneM is a number of "m", which may be minutes or metres.
var loneM = regexp.MustCompile(`(?i)^[^a-z:]*m\.?$`)

func scanTime(_ *lineReader, text string, _ []*token) *part {
	if loneM.MatchString(text) || !strings.ContainsAny(text, ":hHmMsS") {
		return nil
	}
	span, err := price.ParseSpan(text)
	if err != nil || span.High == 0 {
		return nil
	}
	return &part{kind: timePart, span: span}
}

var (
	anHour  = regexp.MustCompile(`(?i)^(.*?)\s*(?:/| per | an | a )\s*(?:h|hr|hrs|hour|hours)$`)
	aMile   = regexp.MustCompile(`(?i)^(.*?)\s*(?:/| per | a )\s*(mi|miles?|km|kilomet(?:re|er))$`)
	faraway = regexp.MustCompile(`(?i)[0-9]\s*(?:mi|miles?|kms?|kilomet(?:re|er)s?)\.?$`)
	percent = regexp.MustCompile(`(?i)(?:%|percent|per cent|pct)$`)
)

func scanRate(l *lineReader, text string, _ []*token) *part {
	m := anHour.FindStringSubmatch(text)
	if m == nil {
		return nil
	}
	money, marked, ok := l.amount(m[1])
	if !ok {
		return nil
	}
	return &part{kind: ratePart, money: money, marked: marked}
}

func scanPerTrip(l *lineReader, text string, _ []*token) *part {
	m := aMile.FindStringSubmatch(text)
	if m == nil || !soundMark(m[1]) {
		return nil
	}
	per, marked, err := price.ParsePerDistance(strings.TrimSpace(m[1])+"/"+m[2], l.usual, l.trip)
	if err != nil {
		return nil
	}
	return &part{kind: perTripPart, per: per, marked: marked}
}

func scanPercentage(_ *lineReader, text string, _ []*token) *part {
	if !percent.MatchString(text) {
		return nil
	}
	f, err := price.ParseFraction(text)
	if err != nil {
		return nil
	}
	return &part{kind: percentPart, fraction: f}
}

func scanDistance(l *lineReader, text string, _ []*token) *part {
	if !faraway.MatchString(text) {
		return nil
	}
	d, err := price.ParseDistance(strings.TrimSuffix(text, "."), l.trip)
	if err != nil {
		return nil
	}
	return &part{kind: distancePart, distance: d}
}

func scanMoney(l *lineReader, text string, run []*token) *part {
	if len(run) > 2 || len(run) == 2 && isCoin(run[0]) == isCoin(run[1]) {
		return nil
	}
	money, marked, ok := l.amount(text)
	if !ok {
		return nil
	}
	return &part{kind: moneyPart, money: money, marked: marked}
}

// amount reads money whose mark, if any, is one that is read as such.
func (l *lineReader) amount(text string) (price.Money, bool, bool) {
	if !soundMark(text) {
		return price.Money{}, false, false
	}
	money, marked, err := price.ParseMoney(text, l.usual)
	return money, marked, err == nil
}

var letterRun = regexp.MustCompile(`[^\s0-9.,'’]+`)

// soundMark reports whether what stands by the digits is at most one currency that
// is no ordinary word.
func soundMark(text string) bool {
	marks := letterRun.FindAllString(text, -1)
	return len(marks) == 0 || len(marks) == 1 && (signs[marks[0]] || coinCodes[strings.ToLower(marks[0])])
}
