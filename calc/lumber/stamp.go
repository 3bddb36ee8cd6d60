package lumber

import (
	"slices"
	"strings"
	"unicode"

	"tallystick/calc/measure"
)

// Stamp is the mark on wood packaging as ISPM 15 (IPPC/FAO, 2018, Annex 2) lays it out:
// the symbol, the country and the producer, the treatment.
type Stamp struct {
	// Symbol is true where the letters IPPC were given for the wheat ear.
	Symbol bool
	// Country is the two-letter ISO 3166 code; Producer is the plant-protection
	// organization's own code. Either may be empty.
	Country, Producer string
	// Treatments are codes such as HT, in the order found.
	Treatments []string
	// Other is what is no part of the mark.
	Other []string
}

// treatmentCodes are the codes of treatment, with DB (debarked) and KD (kiln dried),
// which stand beside one.
var treatmentCodes = []string{"HT", "DH", "MB", "SF", "KD", "DB"}

const (
	maxStampText = 80
	stampHint    = "XX-1234 HT"
)

// Has reports whether a code is in the mark.
func (s Stamp) Has(code string) bool { return slices.Contains(s.Treatments, code) }

// Treated reports whether the mark names a treatment, and not only KD or DB.
func (s Stamp) Treated() bool { return s.Has("HT") || s.Has("DH") || s.Has("MB") || s.Has("SF") }

// ParseStamp reads a mark as it is copied off the wood. Nothing about it is refused but
// emptiness: what is missing is for the reader to say.
//
//	mark      = { symbol | origin | treatment | other } .
//	symbol    = "IPPC" .
//	origin    = letter letter parting producer .
//	producer  = { letter | digit } { parting { letter | digit } } .   (* up to a treatment *)
//	treatment = "HT" | "DH" | "MB" | "SF" | "KD" | "DB" .
//	parting   = "-" | "/" | space | … .
//
// Two letters with a code behind them are the country, even where they spell a
// treatment: HT-001 HT is Haiti.
func ParseStamp(text string) (Stamp, error) {
	if len(text) > maxStampText {
		return Stamp{}, &measure.InputError{Value: text, Problem: "is longer than a mark", Hint: stampHint}
	}
	words := strings.FieldsFunc(strings.ToUpper(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if len(words) == 0 {
		return Stamp{}, &measure.InputError{Value: text, Problem: "holds no letters of a mark", Hint: stampHint}
	}
	var s Stamp
	for k := range words {
		word := words[k]
		switch codes := treatments(word); {
		case word == "IPPC":
			s.Symbol = true
		case s.Country == "" && isCountry(words[k:]):
			s.Country = word
		case s.Country == "" && originInOne(word):
			s.Country, s.Producer = word[:2], word[2:]
		case codes != nil:
			s.Treatments = append(s.Treatments, codes...)
		case s.Country != "" && len(s.Treatments) == 0:
			s.Producer = strings.TrimPrefix(s.Producer+"-"+word, "-")
		default:
			s.Other = append(s.Other, word)
		}
	}
	return s, nil
}

// isCountry reports whether the first word is the country of an origin: two letters, and
// what follows is a producer. A treatment's letters are a country only where a producer
// with a digit follows.
func isCountry(words []string) bool {
	if len(words[0]) != 2 || !letters(words[0]) {
		return false
	}
	if treatments(words[0]) == nil {
		return true
	}
	return len(words) > 1 && strings.IndexFunc(words[1], unicode.IsDigit) >= 0
}

// originInOne reports whether country and producer were written together: XX1234.
func originInOne(word string) bool {
	return len(word) > 3 && letters(word[:2]) && word[2] >= '0' && word[2] <= '9'
}

func letters(word string) bool {
	return strings.IndexFunc(word, func(r rune) bool { return r < 'A' || r > 'Z' }) < 0
}

// treatments reads one code or several written together: KDHT.
func treatments(word string) []string {
	var codes []string
	for len(word) >= 2 && slices.Contains(treatmentCodes, word[:2]) {
		codes, word = append(codes, word[:2]), word[2:]
	}
	if word != "" {
		return nil
	}
	return codes
}
