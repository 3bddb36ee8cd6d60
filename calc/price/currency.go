// Package price does the sums of a maker's trade with money: what a piece cost,
// what price breaks even, what price pays the wanted rate, what to ask, and what
// a sale paid an hour. Amounts are exact decimals with an ISO 4217 currency; no
// float ever touches them, currencies never mix, and nothing is converted from
// one currency to another. It knows no people and formats nothing for reading.
package price

import (
	"slices"
	"strings"

	iso "github.com/bojanz/currency"

	"tallystick/calc/measure"
)

// Currency is an ISO 4217 currency and its number of minor digits: 2 for USD,
// 0 for JPY, 3 for KWD. The zero value is no currency.
type Currency struct {
	code   string
	digits int32
}

// ParseCurrency reads an ISO 4217 code in either case. Codes and minor digits
// are those of CLDR as the bojanz/currency package carries them.
func ParseCurrency(code string) (Currency, error) {
	upper := strings.ToUpper(strings.TrimSpace(code))
	digits, ok := iso.GetDigits(upper)
	if !ok || len(upper) != 3 {
		return Currency{}, &measure.InputError{Value: code, Problem: "is not a currency code of ISO 4217", Hint: "USD"}
	}
	return Currency{code: upper, digits: int32(digits)}, nil
}

// Code is the three-letter code.
func (c Currency) Code() string { return c.code }

// Digits is how many decimals an amount may have.
func (c Currency) Digits() int32 { return c.digits }

// symbols lists the signs people type and the currencies each may stand for,
// the likeliest first. A sign that several share takes the community's currency
// when that is among them.
var symbols = map[string][]string{
	"$":   {"USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"},
	"US$": {"USD"},
	"C$":  {"CAD"},
	"CA$": {"CAD"},
	"$CA": {"CAD"},
	"$US": {"USD"},
	"A$":  {"AUD"},
	"AU$": {"AUD"},
	"$AU": {"AUD"},
	"NZ$": {"NZD"},
	"$NZ": {"NZD"},
	"$SG": {"SGD"},
	"HK$": {"HKD"},
	"NT$": {"TWD"},
	"MX$": {"MXN"},
	"$MX": {"MXN"},
	"€":   {"EUR"},
	"£":   {"GBP"},
	"£GB": {"GBP"},
	"¥":   {"JPY", "CNY"},
	"￥":   {"JPY", "CNY"},
	"JP¥": {"JPY"},
	"CN¥": {"CNY"},
	"元":   {"CNY"},
	"₹":   {"INR"},
	"Rs":  {"INR"},
	"Rp":  {"IDR"},
	"zł":  {"PLN"},
	"kr":  {"SEK", "NOK", "DKK", "ISK"},
	"Dkr": {"DKK"},
	"Nkr": {"NOK"},
	"Ikr": {"ISK"},
	"Kč":  {"CZK"},
	"Fr":  {"CHF"},
	"R":   {"ZAR"},
	"R$":  {"BRL"},
	"BR$": {"BRL"},
	"Ft":  {"HUF"},
	"₴":   {"UAH"},
	"₽":   {"RUB"},
	"฿":   {"THB"},
	"₫":   {"VND"},
	"₩":   {"KRW"},
	"₪":   {"ILS"},
	"₺":   {"TRY"},
	"₱":   {"PHP"},
}

// currencyOf reads a sign or code as it stands beside an amount.
func currencyOf(mark string, usual Currency) (Currency, bool) {
	codes, ok := symbols[mark]
	if !ok {
		c, err := ParseCurrency(mark)
		return c, err == nil
	}
	if slices.Contains(codes, usual.code) {
		return usual, true
	}
	c, err := ParseCurrency(codes[0])
	return c, err == nil
}
