package measure

import (
	"math/big"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

// Quantity is a number of a unit, or a price per unit, as somebody wrote it.
type Quantity struct {
	// Text is what was typed, without the spaces around it.
	Text string
	// Value is how many of the unit, exactly. Feet and inches are counted in
	// inches. It is negative only for a temperature.
	Value *big.Rat
	// Unit is the unit's symbol, "in".
	Unit string
	// Price is set where the quantity is money per unit; Currency is then what
	// stood before or behind the number, "$" or "USD", or empty.
	Price    bool
	Currency string
	// Note is a sentence where a name such as gal was read one way of two.
	Note string

	unit *namedUnit
}

const (
	maxQuantityText = 80
	quantityHint    = "7' 8-1/2\" or 40 kg"
)

// ParseQuantity reads a number with a unit. A number without one is a length in
// bare, which also tells the system that names such as gal are read in: with Inch
// the gallon of the United States, and the Note says so; with a metric unit it is
// asked about.
//
//	quantity = length | [ minus ] number unit | price .
//	price    = [ currency ] number [ currency ] per unit .
//	per      = "/" | "per" .
//	currency = "$" | "€" | "£" | … | letter letter letter .
//	unit     = a name UnitNames lists, or another spelling of it .
//	length, number = as ParseLength and ParseNumber document them .
//
// Only a temperature may be below zero.
func ParseQuantity(text string, bare Length) (Quantity, error) {
	if len(text) > maxQuantityText {
		return Quantity{}, &InputError{Value: text, Problem: "is too long for a quantity", Hint: quantityHint}
	}
	q, e := scanQuantity(strings.TrimSpace(text), bare)
	if e == nil {
		return q, nil
	}
	if e.Value == "" || e.Value == text {
		e = mistake(e, text, "is not a quantity", quantityHint)
	}
	return Quantity{}, e
}

func scanQuantity(s string, bare Length) (Quantity, *InputError) {
	unsigned, negative := cutMinus(s)
	currency, number := cutCurrency(unsigned)
	n, next, e := scanNumber(number, 0)
	if e != nil {
		return Quantity{}, e
	}
	if next == 0 {
		return Quantity{}, &InputError{}
	}
	q := Quantity{Text: s, Currency: currency}
	rest := strings.TrimSpace(number[next:])
	// A compound unit such as lb/ft3 has a slash of its own.
	_, isUnit := unitIndex().find(unitKey(rest))
	if perUnit, behind, price := cutPer(rest); price && (!isUnit || currency != "") {
		if negative {
			return Quantity{}, &InputError{Problem: "is below zero"}
		}
		if behind == "" || currency == "" && isCurrency(behind) && !isLowerUnit(behind) {
			q.Value, q.Price, q.Currency = n.Rat(), true, currency+behind
			if q.unit, q.Note, e = findUnit(perUnit, bare); e != nil {
				return Quantity{}, ofQuantity(e, s, perUnit, bare)
			}
			if q.unit.dimension == temperatureUnit {
				return Quantity{}, &InputError{Problem: "is not a price of a quantity", Hint: "7.50/bf"}
			}
			q.Unit = q.unit.symbol
			return q, nil
		}
	}
	switch {
	case currency != "":
		return Quantity{}, &InputError{Problem: "is money without a unit it is paid for", Hint: "7.50/bf"}
	case isUnit:
		q.Value = n.Rat()
		if q.unit, q.Note, e = findUnit(rest, bare); e != nil {
			return Quantity{}, ofQuantity(e, s, rest, bare)
		}
	default:
		if q.Value, q.unit, e = compoundLength(number, rest, bare); e != nil {
			return Quantity{}, e
		}
	}
	if negative {
		if q.unit.dimension != temperatureUnit {
			return Quantity{}, &InputError{Problem: "is below zero"}
		}
		q.Value.Neg(q.Value)
		if q.Value.Cmp(absoluteZero(q.unit)) < 0 {
			return Quantity{}, &InputError{Problem: "is below absolute zero", Hint: "20 °C"}
		}
	}
	q.Unit = q.unit.symbol
	return q, nil
}

// isLowerUnit tells 5 gal/ft2 from a price: a unit in three small letters is no
// currency. In capitals CUP is one.
func isLowerUnit(word string) bool {
	_, known := unitIndex().find(unitKey(word))
	return known && word == strings.ToLower(word)
}

func isSize(s string, bare Length) bool {
	_, err := ParseSize(s, bare)
	return err == nil
}

// ofQuantity makes a mistake about the unit at the end of s one about all of s, with
// its number before the units to try.
func ofQuantity(e *InputError, s, unit string, bare Length) *InputError {
	whole := &InputError{Value: s, Hint: quantityHint}
	before, behind := strings.CutSuffix(s, unit)
	switch {
	case e == nil:
		return &InputError{}
	case unit == "":
		whole.Problem = "lacks a unit"
		return whole
	case e.Problem == notAUnit:
		whole.Problem = "is in no unit I know"
	default:
		whole.Problem = e.Problem
	}
	before = strings.Join(strings.Fields(before), " ")
	if !behind || before == "" || !strings.ContainsFunc(unit, unicode.IsLetter) || e.Hint == noNearUnit || len(s) > 2*QuoteLimit {
		return whole
	}
	if last := before[len(before)-1]; last >= '0' && last <= '9' {
		before += " "
	}
	for near := range strings.SplitSeq(e.Hint, " or ") {
		if _, unread := scanQuantity(before+near, bare); unread != nil { // as a price of a degree is
			return whole
		}
	}
	whole.Hint = before + strings.ReplaceAll(e.Hint, " or ", " or "+before)
	return whole
}

// absoluteZero is 0 K as a thermometer in the unit reads it (NIST SP 811, appendix
// B.8: t/°C = T/K − 273.15 and t/°F = T/K · 1.8 − 459.67).
func absoluteZero(u *namedUnit) *big.Rat {
	switch u.symbol {
	case "°C":
		return big.NewRat(-273_15, 100)
	case "°F":
		return big.NewRat(-459_67, 100)
	}
	return new(big.Rat)
}

// compoundLength reads a bare number, a marked one, or feet and inches. rest is what
// stands behind the first number.
func compoundLength(s, rest string, bare Length) (*big.Rat, *namedUnit, *InputError) {
	m, next, e := scanMeasured(s, 0)
	if e != nil {
		return nil, nil, e
	}
	if skipSpace(s, next) != len(s) {
		if _, err := ParseLot(s, bare); err == nil || isSize(s, bare) {
			return nil, nil, &InputError{Problem: "is several measures, and I convert one at a time", Hint: quantityHint}
		}
		_, _, e = findUnit(rest, bare)
		return nil, nil, ofQuantity(e, s, rest, bare)
	}
	if m.unit == 0 {
		m.unit = bare
	}
	value := m.number.onTopOf(int64(m.feet / m.unit)) // feet are whole where inches follow, metres likewise
	if u := lengthUnits()[m.unit]; u != nil {
		return value, u, nil
	}
	return value.Mul(value, m.unit.Rat(Millimetre)), unitIndex()["mm"].unit, nil
}

// lengthUnits are the units that are lengths, by their length; of alike ones the
// first.
var lengthUnits = sync.OnceValue(func() map[Length]*namedUnit {
	units := map[Length]*namedUnit{}
	for k := range namedUnits {
		u := &namedUnits[k]
		if u.dimension != lengthUnit {
			continue
		}
		if size := u.inNanometres(); size.IsInt() && units[Length(size.Num().Int64())] == nil {
			units[Length(size.Num().Int64())] = u
		}
	}
	return units
})

func cutMinus(s string) (rest string, negative bool) {
	for _, minus := range []string{"-", "−"} {
		if after, found := strings.CutPrefix(s, minus); found {
			return strings.TrimSpace(after), true
		}
	}
	return s, false
}

// cutCurrency parts the name or sign of a currency from the number behind it.
func cutCurrency(s string) (currency, rest string) {
	at := strings.IndexFunc(s, func(r rune) bool {
		return r >= '0' && r <= '9' || r == '.' || r == ','
	})
	if at <= 0 || !isCurrency(strings.TrimSpace(s[:at])) {
		return "", s
	}
	return strings.TrimSpace(s[:at]), s[at:]
}

// isCurrency reports whether s is a currency's sign with at most two letters, or
// three letters as ISO 4217 has them.
func isCurrency(s string) bool {
	letters, signs := 0, 0
	for _, r := range s {
		switch {
		case unicode.Is(unicode.Sc, r):
			signs++
		case r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z':
			letters++
		default:
			return false
		}
	}
	return signs == 1 && letters <= 2 || signs == 0 && letters == 3 && utf8.RuneCountInString(s) == 3
}

// cutPer parts what stands before a slash or "per" from the unit behind it.
func cutPer(s string) (unit, before string, found bool) {
	if before, unit, found = strings.Cut(s, "/"); found {
		return strings.TrimSpace(unit), strings.TrimSpace(before), true
	}
	words := strings.Fields(s)
	for k, word := range words {
		if strings.EqualFold(word, "per") && k < 2 {
			return strings.Join(words[k+1:], " "), strings.Join(words[:k], " "), true
		}
	}
	return "", "", false
}
