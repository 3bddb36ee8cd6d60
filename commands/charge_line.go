package commands

import (
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// A question about one piece is a line as people write it. It is read by fixed
// rules, the same for everybody and the same on every day:
//
//	line     = clause { parting clause } .
//	parting  = "," | ";" | line end | the full stop of a sentence .   (* not inside a number *)
//	clause   = { quantity | name | role | joining | other } .
//	quantity = boards | size | feet | time | rate | driving | percentage | distance | money | count .
//	boards   = a count, "@" or "pcs", and thickness x width x length  (* measure.ParseLot *) .
//	size     = two or three sides with "x" or "by" between            (* measure.ParseSize *) .
//	         | a length with "long", "wide", "deep", "high", "tall" or "thick" behind it; two or three make a size .
//	feet     = number ( "bf" | "board feet" ) .
//	time     = a time with its unit or a colon, or from-to            (* price.ParseSpan *) .
//	rate     = money ( "/" | "per" | "an" ) "hour" .
//	driving  = money ( "/" | "per" | "a" ) ( "mile" | "km" ) .
//	percentage = number ( "%" | "percent" ) .
//	distance = number ( "mi" | "km" ) .
//	money    = [ mark ] number [ mark ]                               (* price.ParseMoney *) .
//	count    = ( whole number | "two" … "dozen" ) before a kind of piece . (* only woods and words of no role between *)
//	name     = category | kind of piece | wood | venue of the member .
//	role     = a word that says what the quantity beside it is        (* roleWords *) .
//
// At each word the longest quantity is taken. A sum of money and a percentage mean
// something by the nearest role in their clause, the one before them first: "84
// materials", "materials 84", "shop takes 30%". Names, small words and unknown
// words may stand between; another quantity and a plus sign end the search. A plus
// sign adds, and hands the role on: "84 + 11.50 materials". A rate without a role
// is the one wanted, a time is the maker's own, a distance is driven in all.
//
// Amounts paid out are added up; so are times that a plus sign joins or that each
// have their own stage of work ("6h milling, 8h assembly"). Of everything else one
// value holds: two that differ are asked about and neither is used. A time or an
// amount with "each" directly beside it is that of one piece, and counts as often as
// there are pieces. A name may be a slip of the finger away. No clause changes how another is read, so that their
// order is of no account; and every word is in a part that is shown, or among the
// small ones passed over, or among those not understood.

// lineReader reads one line by what is known beforehand.
type lineReader struct {
	bare       measure.Length // the unit of bare numbers in a size
	trip       measure.Length // and of a bare rate for driving
	usual      price.Currency
	categories []string
	venues     []string

	parts []*part
	// most is how many words one quantity of the line may have.
	most int
}

// lineReading is what a line was read as.
type lineReading struct {
	parts []*part
	// fields are what there is one of, or the sum, by name.
	fields fields
	// doubts are questions about what could be read in two ways.
	doubts []string
	// passed are small words; unknown are those not understood.
	passed, unknown []string
}

// read reads a line.
func (l lineReader) read(text string) lineReading {
	clauses := splitLine(text)
	l.most = longestRun
	if numbersIn(clauses) > manyNumbers {
		l.most = shortRun
	}
	for n, clause := range clauses {
		l.scan(clause, n)
		l.names(clause, n)
		for _, t := range clause {
			if t.isFree() && rolesOf[t.word] == nil && !joining[t.word] && !describing[t.word] {
				if meant, ok := meantWord(t.word); ok {
					t.word = meant
				}
			}
		}
		l.claim(clause)
		l.apiece(clause)
		l.windows(clause, n, l.venueOf)
		l.mistyped(clause, n)
		for _, t := range clause {
			t.passed = t.part == nil && (joining[t.word] || verbs[t.word] || describing[t.word] || t.isMark())
		}
	}
	for _, p := range l.parts {
		if _, needed := rolesFor(p.kind); needed && (p.role == "" || p.role == priceRole) {
			p.drop()
		}
	}
	r := lineReading{parts: slices.DeleteFunc(slices.Clone(l.parts), (*part).dropped)}
	for _, p := range l.parts {
		if p.doubt != "" {
			r.doubts = append(r.doubts, p.doubt)
		}
		if p.kind == moneyPart && p.marked && p.role == "" && p.doubt == "" {
			r.doubts = append(r.doubts, quoted(p.text)+" has no word by it that says what it was for: write "+p.text+" materials, or "+p.text+"/h.")
		}
		if p.kind == moneyPart && p.role == priceRole {
			r.doubts = append(r.doubts, quoted(p.text)+" looks like a price for the piece, which I work out here: /offer tells what an offer pays, /rate what a sale paid.")
		}
	}
	r.settle(l)
	for _, clause := range clauses {
		for _, t := range clause {
			switch {
			case t.part != nil && !t.part.dropped():
			case t.passed && !t.isMark():
				r.passed = append(r.passed, t.text)
			case !t.passed:
				r.unknown = append(r.unknown, t.text)
				r.doubts = append(r.doubts, l.twoWays(t)...)
			}
		}
	}
	slices.Sort(r.doubts)
	r.doubts = slices.Compact(r.doubts)
	return r
}

// drop gives a part up: its words count as not understood. It keeps its role, for
// the question about it.
func (p *part) drop() { p.run = nil }

func (p *part) dropped() bool { return p.run == nil }

// twoWays asks about a word that is a number in two ways, or too much of one.
func (l *lineReader) twoWays(t *token) []string {
	if !t.isNumeric() {
		return nil
	}
	for _, parse := range []func() error{
		func() error { _, _, err := price.ParseMoney(t.text, l.usual); return err },
		func() error { _, err := measure.ParseSize(t.text, l.bare); return err },
	} {
		if input, ok := parse().(*measure.InputError); ok && strings.Contains(input.Problem, "may be ") {
			return []string{input.Error() + "."}
		}
	}
	return nil
}

// all is the words of a part in their order.
func (p *part) all() []*token {
	all := slices.Concat(p.run, p.labels)
	slices.SortFunc(all, func(a, b *token) int { return a.place - b.place })
	return all
}

func (p *part) first() *token { return p.all()[0] }

// wrote is the words of a part as they were typed.
func (p *part) wrote() string {
	all := p.all()
	words := make([]string, len(all))
	for i, t := range all {
		words[i] = t.text
	}
	return strings.Join(words, " ")
}
