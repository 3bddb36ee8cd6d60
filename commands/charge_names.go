package commands

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// longestName is how many words a category, a wood or a venue may have.
const longestName = 3

// names finds the category, the kind of piece, the woods and the count of a clause.
func (l *lineReader) names(clause []*token, number int) {
	l.windows(clause, number, l.categoryOf)
	l.windows(clause, number, pieceOf)
	l.windows(clause, number, speciesOf)
	for i, t := range clause {
		if t.part != nil && (t.part.kind == categoryPart || t.part.kind == piecePart) && t.part.at == i {
			l.countBefore(clause, number, i)
			describe(clause, i)
		}
	}
}

// windows looks at every run of free words, the longest first, and makes a part of
// what find knows.
func (l *lineReader) windows(clause []*token, number int, find func(run []*token) *part) {
	for i := 0; i < len(clause); i++ {
		most := 0
		for most < longestName && i+most < len(clause) && clause[i+most].isFree() && (most == 0 || !clause[i+most].plus) {
			most++
		}
		for n := most; n > 0; n-- {
			p := find(clause[i : i+n])
			if p == nil {
				continue
			}
			p.run, p.text, p.clause, p.at = clause[i:i+n], joinedText(clause[i:i+n]), number, i
			for _, t := range p.run {
				t.part = p
			}
			l.parts = append(l.parts, p)
			i += n - 1
			break
		}
	}
}

// phrase is some words as one name, with hyphens.
func phrase(run []*token) string {
	words := make([]string, len(run))
	for i, t := range run {
		words[i] = t.word
	}
	return strings.Join(words, "-")
}

// singulars are the words that a word may be the plural of, itself first.
func singulars(word string) []string {
	list := []string{word}
	for _, end := range []struct{ plural, singular string }{{"ves", "f"}, {"es", ""}, {"s", ""}, {"'s", ""}} {
		if stem, ok := strings.CutSuffix(word, end.plural); ok && len(stem) > 1 {
			list = append(list, stem+end.singular)
		}
	}
	return list
}

// categoryOf knows the community's own categories. Its catch-all is no name of a
// piece.
func (l *lineReader) categoryOf(run []*token) *part {
	for _, name := range singulars(phrase(run)) {
		if name != "other" && slices.Contains(l.categories, name) {
			return &part{kind: categoryPart, name: name}
		}
	}
	return nil
}

func pieceOf(run []*token) *part {
	if len(run) == 2 && pieces[run[0].word] { // a console table
		return pieceOf(run[1:])
	}
	for _, name := range singulars(phrase(run)) {
		if pieces[name] {
			return &part{kind: piecePart, name: name}
		}
	}
	return nil
}

// countBefore makes a count of a whole number directly before a kind of piece, and
// of "set of 4", with describing words and woods between: "4 small oak stools". Before
// several pieces a word that is not known may stand there too: "2 coffee tables".
func (l *lineReader) countBefore(clause []*token, number, at int) {
	const most = 1000
	for k := at - 1; k >= 0 && !clause[k+1].plus; k-- {
		t := clause[k]
		if t.isFree() && (describing[t.word] || t.word == "of") || t.part != nil && t.part.kind == speciesPart {
			continue
		}
		if clause[at].part.several() && l.stranger(t) {
			continue
		}
		n, ok := writtenCounts[t.word], t.isFree()
		bare := t.part != nil && t.part.kind == moneyPart && !t.part.marked
		if bare {
			read, err := measure.ParseNumber(t.text)
			if err != nil {
				return
			}
			n, ok = read.Whole()
		}
		if !ok || n < 1 || n > most {
			return
		}
		if bare {
			l.parts = slices.DeleteFunc(l.parts, func(p *part) bool { return p == t.part })
		}
		count := &part{kind: countPart, run: []*token{t}, text: t.text, clause: number, at: k, name: strconv.FormatInt(n, 10)}
		t.part = count
		l.parts = append(l.parts, count)
		return
	}
}

// several reports whether the name of a kind of piece was typed in the plural.
func (p *part) several() bool {
	last := p.run[len(p.run)-1].word
	return strings.HasSuffix(last, "s") && !strings.HasSuffix(p.name, "s")
}

// stranger reports whether a word says nothing here.
func (l *lineReader) stranger(t *token) bool {
	return t.isFree() && !t.isNumeric() && !t.isMark() && writtenCounts[t.word] == 0 && rolesOf[t.word] == nil &&
		!joining[t.word] && !verbs[t.word] && !otherUnits[t.word]
}

// describe puts the describing words directly before a piece to it.
func describe(clause []*token, at int) {
	for k := at - 1; k >= 0 && clause[k].isFree() && !clause[k+1].plus && describing[clause[k].word]; k-- {
		p := clause[at].part
		clause[k].part = p
		p.labels = append(p.labels, clause[k])
	}
}

// speciesOf knows the handbook's and the trade's names, and the names that cover
// several woods.
func speciesOf(run []*token) *part {
	for _, name := range singulars(phrase(run)) {
		if p := woodPart(strings.ReplaceAll(name, "-", " ")); p != nil {
			return p
		}
	}
	return nil
}

func woodPart(name string) *part {
	wood, note, err := lumber.FindSpecies(name)
	if err == nil {
		return &part{kind: speciesPart, name: wood.Name, note: note}
	}
	if input, ok := errors.AsType[*measure.InputError](err); ok && input.Hint != "" && strings.Contains(input.Hint, " or ") && slices.Contains(lumber.GroupNames(), name) {
		return &part{kind: speciesPart, name: name, note: capital(name) + " covers several woods that differ: say " + input.Hint + " for the weight."}
	}
	return nil
}

// woodNames are the names of woods that a slip of the finger is looked up among, and
// woodBegins the words they begin with.
var (
	woodNames = sync.OnceValue(func() []string {
		return slices.Concat(lumber.TradeNames(), lumber.GroupNames())
	})
	woodBegins = sync.OnceValue(func() map[string]bool {
		begins := map[string]bool{}
		for _, name := range woodNames() {
			first, _, _ := strings.Cut(name, " ")
			begins[first] = true
		}
		return begins
	})
)

// venueOf knows the member's own venues.
func (l *lineReader) venueOf(run []*token) *part {
	if name := phrase(run); slices.Contains(l.venues, name) {
		return &part{kind: venuePart, name: name}
	}
	return nil
}

// mistyped finds names that are a slip of the finger away from a category, a wood
// or a venue.
func (l *lineReader) mistyped(clause []*token, number int) {
	known := func(run []*token) bool {
		first := run[0].word
		return len(run) == 1 && (joining[first] || describing[first] || rolesOf[first] != nil)
	}
	l.windows(clause, number, func(run []*token) *part {
		if name, ok := nearWord(phrase(run), l.categories); ok && !known(run) {
			return &part{kind: categoryPart, name: name, note: "I took " + quoted(joinedText(run)) + " for " + name + "."}
		}
		return nil
	})
	l.windows(clause, number, func(run []*token) *part {
		typed := strings.ReplaceAll(phrase(run), "-", " ")
		if name, ok := nearWord(typed, woodNames()); ok && !known(run) {
			p := woodPart(name)
			p.note = then("I took "+quoted(joinedText(run))+" for "+name+".", p.note)
			return p
		}
		return nil
	})
	l.windows(clause, number, func(run []*token) *part {
		if name, ok := nearWord(phrase(run), l.venues); ok && !known(run) {
			return &part{kind: venuePart, name: name, note: "I took " + quoted(joinedText(run)) + " for your venue " + name + "."}
		}
		return nil
	})
}

func quoted(text string) string { return "\"" + measure.Quote(text) + "\"" }
