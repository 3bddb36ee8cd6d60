package measure

import (
	"math/big"
	"strings"
	"sync"
)

// UnitNames lists the symbols of every unit Convert knows, by dimension, for
// completion. Each is read back as the unit it stands for.
func UnitNames() []string {
	names := make([]string, len(namedUnits))
	for k := range namedUnits {
		names[k] = namedUnits[k].symbol
	}
	return names
}

const (
	maxUnitText = 40
	notAUnit    = "is not a unit I know"
	noNearUnit  = "mm or ft" // what is tried where no unit is near
)

// findUnit reads the name of a unit. bare tells which system a name such as gal is
// read in: with Inch, Foot or Yard it is the United States'; with a metric length
// it is asked about. The note is a sentence for the asker, or empty.
func findUnit(text string, bare Length) (u *namedUnit, note string, e *InputError) {
	text = strings.TrimSpace(text)
	if text == "" || len(text) > maxUnitText {
		return nil, "", mistake(nil, text, "is too long for a unit", noNearUnit)
	}
	meaning, known := unitIndex().find(unitKey(text))
	switch {
	case !known:
		return nil, "", &InputError{Value: text, Problem: notAUnit, Hint: unitIndex().closest(unitKey(text))}
	case meaning.refused != "":
		return nil, "", &InputError{Value: text, Problem: meaning.refused, Hint: meaning.hint}
	case meaning.or == "":
		return meaning.unit, "", nil
	case bare%Inch != 0:
		hint := meaning.unit.symbol
		if _, isUnit := unitIndex().find(unitKey(meaning.or)); isUnit {
			hint += " or " + meaning.or
		}
		return nil, "", &InputError{Value: text, Problem: "may be " + meaning.unit.symbol + " or " + meaning.or, Hint: hint}
	}
	return meaning.unit, "I read " + text + " as the " + meaning.unit.name + ".", nil
}

// unitMeaning is what a name stands for.
type unitMeaning struct {
	unit          *namedUnit
	or            string // what else the name may mean, or empty
	refused, hint string // why it is not converted, or empty
}

// unitNames is what every name stands for, under its unitKey.
type unitNames map[string]unitMeaning

// unitIndex is built from the tables when it is first asked for.
var unitIndex = sync.OnceValue(func() unitNames {
	index := unitNames{}
	bySymbol := map[string]*namedUnit{}
	for k := range namedUnits {
		u := &namedUnits[k]
		bySymbol[u.symbol] = u
		for _, name := range append([]string{u.symbol, u.name}, u.aliases...) {
			index[unitKey(name)] = unitMeaning{unit: u}
			// The name as written as well, for a slip to be near to.
			index[strings.ToLower(name)] = unitMeaning{unit: u}
		}
	}
	for _, custom := range customaryUnits {
		for _, name := range custom.names {
			index[unitKey(name)] = unitMeaning{unit: bySymbol[custom.us], or: custom.other}
		}
	}
	for _, refused := range refusedUnits {
		for _, name := range refused.names {
			index[unitKey(name)] = unitMeaning{refused: refused.problem, hint: refused.hint}
		}
	}
	return index
})

// find looks a key up as it is, and without a plural s.
func (n unitNames) find(key string) (unitMeaning, bool) {
	meaning, known := n[key]
	if singular, plural := strings.CutSuffix(key, "s"); !known && plural {
		meaning, known = n[singular]
	}
	return meaning, known
}

// closest is the symbol of the unit whose name is nearest to the key, or noNearUnit.
// A slip is one letter, in a long name two; in a name as short as hp a letter in place
// of another makes a different unit.
func (n unitNames) closest(key string) string {
	hint, least, best := noNearUnit, 2, ""
	if len(key) > 7 {
		least = 3
	}
	singular := strings.TrimSuffix(key, "s")
	for name, meaning := range n {
		if meaning.unit == nil || len(key) < 4 && len(key) == len(name) && !isSwapped(key, name) {
			continue
		}
		d := min(EditDistance(key, name), EditDistance(singular, name))
		if d < least && d < len(name) || d == least && best != "" && name < best {
			hint, least, best = meaning.unit.symbol, d, name
		}
	}
	return hint
}

// isSwapped tells whether two words have the same letters.
func isSwapped(a, b string) bool {
	for _, r := range a {
		if strings.Count(a, string(r)) != strings.Count(b, string(r)) {
			return false
		}
	}
	return true
}

// unitSpellings are the ways to write one name that unitKey makes alike.
var unitSpellings = strings.NewReplacer(
	"²", "2", "³", "3", "^", "", "µ", "u", "μ", "u", "°", " ", "º", " ",
	"·", " ", "⋅", " ", "•", " ", "-", " ", "‑", " ", "*", " ", ".", " ",
	"″", `"`, "”", `"`, "′", "'", "’", "'",
	"meter", "metre", "liter", "litre",
)

// unitWords are words inside a name that unitKey makes alike.
var unitWords = map[string]string{
	"imperial": "imp", "uk": "imp", "british": "imp", "american": "us",
	"square": "sq", "cubic": "cu",
	"degree": "", "degrees": "", "deg": "",
	"inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "yard": "yd", "yards": "yd", "yds": "yd", "ins": "in",
	"metre": "m", "metres": "m", "centimetre": "cm", "centimetres": "cm", "millimetre": "mm", "millimetres": "mm",
}

// unitKey brings the spellings of a unit's name to one: lower case, single spaces,
// sq ft, square feet and ft² all as ft2, and "per" as a slash.
func unitKey(text string) string {
	parts := strings.Split(strings.ReplaceAll(strings.ToLower(text), " per ", "/"), "/")
	for k := range parts {
		parts[k] = factorKey(parts[k])
	}
	return strings.Join(parts, "/")
}

// factorKey is the unitKey of what stands on one side of a slash.
func factorKey(text string) string {
	words := strings.Fields(unitSpellings.Replace(text))
	kept := words[:0]
	for _, word := range words {
		base := strings.TrimRight(word, "23")
		if short, known := unitWords[base]; known {
			word = short + word[len(base):]
		}
		if word != "" {
			kept = append(kept, word)
		}
	}
	if len(kept) > 1 && kept[0] == "u" && kept[1] == "s" {
		kept = append([]string{"us"}, kept[2:]...)
	}
	key := strings.Join(kept, " ")
	for _, power := range []struct{ prefix, exponent string }{{"sq", "2"}, {"cu", "3"}} {
		if base, found := strings.CutPrefix(key, power.prefix); found && powerOfLength(strings.TrimSpace(base)) {
			return strings.TrimSpace(base) + power.exponent
		}
	}
	return key
}

func powerOfLength(base string) bool {
	switch base {
	case "in", "ft", "yd", "mm", "cm", "m":
		return true
	}
	return false
}

// exact is the unit in the SI unit of its dimension, or nil where the library knows
// it. It is the table's own and not to be changed.
func (u *namedUnit) exact() *big.Rat { return sizesInSI()[u] }

var sizesInSI = sync.OnceValue(func() map[*namedUnit]*big.Rat {
	sizes := map[*namedUnit]*big.Rat{}
	for k := range namedUnits {
		u := &namedUnits[k]
		if u.size == "" {
			continue
		}
		top, bottom, quotient := strings.Cut(u.size, "/")
		size, _ := new(big.Rat).SetString(top)
		if quotient {
			by, _ := new(big.Rat).SetString(bottom)
			size.Quo(size, by)
		}
		sizes[u] = size
	}
	return sizes
})

// inNanometres is a unit of length in nanometres, as exact is in metres.
func (u *namedUnit) inNanometres() *big.Rat { return sizesInNanometres()[u] }

var sizesInNanometres = sync.OnceValue(func() map[*namedUnit]*big.Rat {
	sizes := map[*namedUnit]*big.Rat{}
	for u, size := range sizesInSI() {
		if u.dimension == lengthUnit {
			sizes[u] = new(big.Rat).Mul(size, Metre.Rat(Nanometre))
		}
	}
	return sizes
})

// EditDistance counts the letters to insert, drop, replace or swap with their
// neighbour to get from a to b (optimal string alignment). It is for short words:
// longer than 64 bytes, two texts count as far apart.
func EditDistance(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return len(a) + len(b)
	}
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
	}
	return rows[len(a)][len(b)]
}
