package price

import (
	"strconv"
	"strings"
	"unicode"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

const (
	maxAmountBytes = 64
	maxSumBytes    = 400
	// wholeDigits is how many digits an amount may have before its decimal mark.
	wholeDigits = 14
	// fineDigits is how many decimals a rate for a small unit may have.
	fineDigits = 6
)

// ParseMoney reads one amount: "124.90", "$124.90", "124,90 €", "USD 124.90",
// "1,234.50". A bare number is in the usual currency; marked reports whether the
// text named one. It refuses signs, exponents, more decimals than the currency
// has, and "1,234", which may be 1.234 or 1234 where the currency has decimals.
//
//	money  = [ mark ] amount [ mark ]        (at most one mark)
//	mark   = currency sign | ISO 4217 code
//	amount = digits [ ( "." | "," ) digits ] | digits { group digits } [ point digits ]
func ParseMoney(text string, usual Currency) (m Money, marked bool, err error) {
	return parseMoney(text, usual, 0)
}

// parseMoney is ParseMoney with at least so many decimals allowed.
func parseMoney(text string, usual Currency, finest int32) (m Money, marked bool, err error) {
	if len(text) > maxAmountBytes {
		return Money{}, false, refuse(text, "is longer than an amount of money")
	}
	body := strings.TrimSpace(text)
	if word := strings.TrimSuffix(body, "."); strings.HasSuffix(word, "kr") {
		body = word // as Danish has it
	}
	front := strings.IndexFunc(body, isNumeric)
	if front < 0 {
		return Money{}, false, refuse(text, "is not an amount of money")
	}
	back := strings.LastIndexFunc(body, isNumeric) + 1
	c := usual
	before, after := strings.TrimSpace(body[:front]), strings.TrimSpace(body[back:])
	if before != "" && after != "" {
		return Money{}, false, refuse(text, "is not an amount of money")
	}
	if mark := before + after; mark != "" {
		if strings.HasPrefix(mark, "-") || strings.HasPrefix(mark, "−") {
			return Money{}, false, refuse(text, "is below zero")
		}
		if c, marked = currencyOf(mark, usual); !marked {
			return Money{}, false, refuse(text, "is not an amount of money")
		}
	}
	amount, problem := readAmount(body[front:back], c.digits == 0 && finest == 0)
	if problem != "" {
		return Money{}, false, refuse(text, problem)
	}
	if digits := max(c.digits, finest); amount.finerThan(digits) {
		return Money{}, false, refuse(text, "has more decimals than "+c.code+" has")
	}
	if amount.Cmp(scaled(MaxMinor, -c.digits)) > 0 {
		return Money{}, false, refuse(text, "is more than I count")
	}
	return Money{amount: amount, currency: c}, marked, nil
}

// ParseSum reads amounts joined by "+": "84 + 11.50 + 6.20". At most one
// currency may be named; bare amounts beside a marked one are in its currency.
func ParseSum(text string, usual Currency) (sum Money, marked bool, err error) {
	if len(text) > maxSumBytes {
		return Money{}, false, refuse(text, "is longer than a sum of money")
	}
	c := usual
	for p := range strings.SplitSeq(text, "+") {
		m, named, err := ParseMoney(p, usual)
		if err != nil {
			return Money{}, false, err
		}
		if named {
			if marked && c != m.currency {
				_, err := common(Money{currency: c}, m)
				return Money{}, false, err
			}
			c, marked = m.currency, true
		}
		sum.amount = sum.amount.Add(m.amount)
	}
	sum.currency = c
	if c != usual { // the bare ones are in it, which may have other decimals
		sum.amount = number{}
		for p := range strings.SplitSeq(text, "+") {
			m, _, err := ParseMoney(p, c)
			if err != nil {
				return Money{}, false, err
			}
			sum.amount = sum.amount.Add(m.amount)
		}
	}
	if sum.amount.Cmp(scaled(MaxMinor, -c.digits)) > 0 {
		return Money{}, false, refuse(text, "is more than I count")
	}
	return sum, marked, nil
}

// ParsePer reads an amount for each of something: "25/h", "7.50 per bf". units
// are the words that may follow; a bare amount is for one of them too.
func ParsePer(text string, usual Currency, units ...string) (m Money, marked bool, err error) {
	amount, unit, said := cutPer(text)
	if said {
		known := false
		for _, u := range units {
			known = known || strings.EqualFold(unit, u)
		}
		if !known {
			return Money{}, false, refuse(text, "is not an amount per "+units[0])
		}
	}
	m, marked, err = ParseMoney(amount, usual)
	if input, ok := err.(*measure.InputError); ok {
		input.Value = text
	}
	return m, marked, err
}

func cutPer(text string) (amount, unit string, said bool) {
	if at := strings.LastIndex(text, "/"); at >= 0 {
		return text[:at], strings.TrimSpace(text[at+1:]), true
	}
	for _, word := range []string{" per ", " an ", " a "} {
		if before, after, found := strings.Cut(text, word); found {
			return before, strings.TrimSpace(after), true
		}
	}
	return text, "", false
}

func isNumeric(r rune) bool { return r >= '0' && r <= '9' || r == '.' || r == ',' }

// readAmount reads digits with at most one decimal mark and regular thousands.
// Spaces and apostrophes may group thousands. Where there are only whole amounts a mark
// before three digits groups them.
func readAmount(text string, wholes bool) (number, string) {
	const notMoney = "is not an amount of money"
	grouped := strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '\'' || r == '’' {
			return ' '
		}
		return r
	}, text)
	whole, fraction := grouped, ""
	points, commas := strings.Count(grouped, "."), strings.Count(grouped, ",")
	at := strings.LastIndexAny(grouped, ".,")
	switch {
	case at < 0:
	case wholes && points+commas == 1 && len(grouped)-at == 4 && at >= 1 && at <= 3 && grouped[0] != '0':
	case points+commas == 1: // one mark: a decimal mark, unless it may be thousands
		whole, fraction = grouped[:at], grouped[at+1:]
		if len(fraction) == 3 && len(whole) >= 1 && len(whole) <= 3 && grouped[at] == ',' && whole != "0" {
			return number{}, "may be " + whole + "." + fraction + " or " + whole + fraction
		}
	case points == 0 || commas == 0: // the same mark twice: thousands
	default: // both: the last is the decimal mark and stands once
		if strings.Count(grouped, grouped[at:at+1]) != 1 {
			return number{}, notMoney
		}
		whole, fraction = grouped[:at], grouped[at+1:]
	}
	digits, ok := ungroup(whole)
	if !ok || len(digits) > wholeDigits || len(fraction) > fineDigits || digits+fraction == "" || !allDigits(fraction) {
		return number{}, notMoney
	}
	all := digits + fraction // digits only, length capped
	if n, err := strconv.ParseInt("0"+all, 10, 64); err == nil {
		return scaled(n, -int32(len(fraction))), ""
	}
	d, err := decimal.NewFromString(all)
	if err != nil {
		return number{}, notMoney
	}
	return numberOf(d).Shift(-int32(len(fraction))), ""
}

// ungroup takes the marks out of "1,234,567" when every group but the first has
// three digits and one mark is used throughout.
func ungroup(text string) (string, bool) {
	at := strings.IndexAny(text, "., ")
	if at < 0 {
		return text, allDigits(text)
	}
	groups := strings.Split(text, text[at:at+1])
	for i, g := range groups {
		if !allDigits(g) || (i > 0 && len(g) != 3) || (i == 0 && (g == "" || len(g) > 3)) {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}

func allDigits(text string) bool {
	for i := range len(text) {
		if text[i] < '0' || text[i] > '9' {
			return false
		}
	}
	return true
}

func refuse(text, problem string) error {
	return &measure.InputError{Value: strings.TrimSpace(text), Problem: problem}
}
