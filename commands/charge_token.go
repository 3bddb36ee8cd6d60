package commands

import (
	"strings"
	"unicode"

	"tallystick/calc/measure"
)

// token is one word of a line as it was typed, and what became of it.
type token struct {
	text string // without the punctuation around it
	word string // in small letterRun
	as   string // what it is read as, where that is another word
	plus bool   // a plus sign stands before it
	// place counts the words of the line.
	place int
	// part is what the word was read into; nil where it was not.
	part   *part
	passed bool
}

// splitLine parts a line where its commas, semicolons, line ends and sentences
// part it. A comma or a full stop inside a number parts nothing.
func splitLine(text string) [][]*token {
	var clauses [][]*token
	var clause []*token
	plus, place := false, 0
	end := func() {
		if len(clause) > 0 {
			clauses = append(clauses, clause)
		}
		clause, plus = nil, false
	}
	add := func(raw string) {
		pieces := strings.Split(raw, "+")
		for i, p := range pieces {
			plus = plus || i > 0
			if p = trimWord(p); p == "" {
				continue
			}
			clause = append(clause, &token{text: p, word: strings.ToLower(strings.TrimRight(p, ".")), plus: plus && len(clause) > 0, place: place})
			plus = false
			place++
		}
	}
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\n' || r == '\r' || r == ';' || r == '|' }) {
		for field := range strings.FieldsFuncSeq(line, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) }) {
			for _, sub := range splitCommas(field) {
				switch {
				case sub == ",":
					end()
				case endsSentence(sub):
					add(strings.TrimRight(sub, ".!?"))
					end()
				default:
					add(sub)
				}
			}
		}
		end()
	}
	var parted [][]*token
	for _, c := range clauses {
		pairWords(c)
		parted = append(parted, splitDashes(c)...)
	}
	return parted
}

// splitDashes parts a clause at dashes that stand alone, but for those from one
// number or one time to another.
func splitDashes(clause []*token) [][]*token {
	var out [][]*token
	start := 0
	for i, t := range clause {
		if t.text != "-" && t.text != "–" && t.text != "—" {
			continue
		}
		if i > start && i+1 < len(clause) && clause[i-1].isNumeric() && clause[i+1].isNumeric() &&
			(!strings.ContainsFunc(clause[i-1].text, unicode.IsLetter) || strings.ContainsFunc(clause[i+1].text, unicode.IsLetter)) {
			continue
		}
		if i > start {
			out = append(out, clause[start:i])
		}
		start = i + 1
	}
	if start < len(clause) {
		clause[start].plus = clause[start].plus && start == 0
		out = append(out, clause[start:])
	}
	return out
}

// pairs are two words that are one.
var pairs = map[[2]string]string{{"each", "way"}: "each-way", {"one", "way"}: "one-way", {"glue", "up"}: "glue-up", {"fair", "price"}: "fair-price"}

func pairWords(clause []*token) {
	for i := 1; i < len(clause); i++ {
		if one, ok := pairs[[2]string{clause[i-1].word, clause[i].word}]; ok && !clause[i].plus {
			clause[i-1].word, clause[i].word = one, one
		}
		if i+2 < len(clause) && clause[i-1].word == "between" && clause[i+1].word == "and" {
			clause[i+1].as = "to"
		}
	}
}

// splitCommas cuts a word at the commas that are not between two digits; each of
// them is a piece of its own.
func splitCommas(field string) []string {
	var out []string
	start := 0
	for i := range len(field) {
		if field[i] != ',' || i > 0 && i+1 < len(field) && digitAt(field, i-1) && digitAt(field, i+1) {
			continue
		}
		if i > start {
			out = append(out, field[start:i])
		}
		out = append(out, ",")
		start = i + 1
	}
	if start < len(field) {
		out = append(out, field[start:])
	}
	return out
}

func digitAt(s string, i int) bool { return s[i] >= '0' && s[i] <= '9' }

// shortened are the words that end in a full stop without ending a sentence.
var shortened = wordSet("in ft yd mm cm m h hr hrs min mins sec mi km pc pcs approx incl ca no bd")

func endsSentence(word string) bool {
	bare := strings.TrimRight(word, ".!?")
	if bare == word || bare == "" {
		return false
	}
	letterRun := strings.TrimLeftFunc(bare, func(r rune) bool { return !unicode.IsLetter(r) })
	return strings.ContainsAny(word[len(bare):], "!?") || !shortened[strings.ToLower(letterRun)]
}

// standingWords are the marks that may stand as words of their own inside a quantity.
var standingWords = wordSet("- – — × * / % @")

// trimWord takes off the punctuation that people put around a word. The marks of
// feet and inches stay behind a digit.
func trimWord(word string) string {
	if standingWords[word] {
		return word
	}
	word = strings.TrimLeft(word, "([{<*_~`\"'“‘«#")
	word = strings.TrimRight(word, ")]}>*_~`:=…»!?.")
	for trimmed := word; trimmed != ""; word = trimmed {
		trimmed = strings.TrimRight(word, "\"'”’")
		before := []rune(trimmed)
		if trimmed == word || len(before) == 0 || unicode.IsNumber(before[len(before)-1]) || strings.ContainsFunc(trimmed, unicode.IsNumber) {
			break
		}
	}
	if strings.IndexFunc(word, func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsNumber(r) || unicode.Is(unicode.Sc, r) || r == '@'
	}) < 0 {
		return ""
	}
	return word
}

// isFree reports that nothing has been made of the word yet.
func (t *token) isFree() bool { return t.part == nil && !t.passed }

// isNumeric reports that the word has a digit or a fraction in it.
func (t *token) isNumeric() bool { return strings.ContainsFunc(t.text, unicode.IsNumber) }

// isMark reports that the word is punctuation, and no word at all.
func (t *token) isMark() bool {
	return strings.IndexFunc(t.text, func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsNumber(r) || unicode.In(r, unicode.Sc, unicode.So)
	}) < 0
}

// joinedText is a run of words as it was typed, with the words for a currency
// written as its sign.
func joinedText(run []*token) string {
	words := make([]string, len(run))
	for i, t := range run {
		words[i] = t.text
		if t.as != "" {
			words[i] = t.as
		}
		if sign, ok := coins[t.word]; ok {
			words[i] = sign
		}
	}
	return strings.Join(words, " ")
}

// nearWord finds the one candidate that a word is a slip away from.
func nearWord(word string, candidates []string) (string, bool) {
	if len(word) < leastSlipped || notMeant[word] {
		return "", false
	}
	allowed := 1
	if len(word) >= 8 {
		allowed = 2
	}
	best, least := "", allowed+1
	for _, c := range candidates {
		if c == "" || c[0] != word[0] {
			continue
		}
		if d := measure.EditDistance(word, c); d < least {
			best, least = c, d
		}
	}
	return best, best != ""
}
