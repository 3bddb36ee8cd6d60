package price

import (
	_ "embed"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallystick/calc/measure"
)

// mileageTable holds the published rates with their sources in its header.
//
//go:embed mileage-rates.csv
var mileageTable string

// Country is whose published mileage figures are meant.
type Country string

// The countries with published figures. CATerritories are Yukon, the Northwest
// Territories and Nunavut.
const (
	UnitedStates  Country = "US"
	Canada        Country = "CA"
	CATerritories Country = "CA-territories"
)

// territoriesAdd is what the Canadian figure is higher by in the territories
// (Department of Finance Canada, as the table's header has it).
var territoriesAdd = scaled(4, -2)

// canadianFirst is the distance in a year that the higher Canadian figure is for.
const canadianFirst = 5000 * Kilometre

// Mileage is a published figure for driving with one's own vehicle.
type Mileage struct {
	Country Country
	Year    int
	// From and Until are its months, both included.
	From, Until time.Month
	// First is the figure up to Limit in a year, and Beyond the one after it. With
	// no Limit they are the same.
	First, Beyond PerDistance
	Limit         measure.Length
	// Status is the table's own mark of how the figure was found: "LOOKED UP" or
	// "FROM MEMORY".
	Status string
}

// FromMemory reports that the figure was not looked up.
func (m Mileage) FromMemory() bool { return strings.Contains(m.Status, "FROM MEMORY") }

// Issuer names who publishes the figure.
func (m Mileage) Issuer() string {
	if m.Country == UnitedStates {
		return "Internal Revenue Service, standard mileage rate for business"
	}
	return "Department of Finance Canada, automobile allowance limits"
}

// Cost is what a distance comes to after so much was driven in the year before it,
// rounded half to even to the minor unit once.
func (m Mileage) Cost(distance, before measure.Length) (Money, error) {
	first := distance
	if m.Limit > 0 {
		first = max(0, min(distance, m.Limit-before))
	}
	lower, higher := (distance - first).Rat(m.Beyond.Unit), first.Rat(m.First.Unit)
	c := m.First.Rate.currency
	// Both parts over one divisor, so that only the sum is rounded.
	den := numberOfInt(lower.Denom()).Mul(numberOfInt(higher.Denom()))
	num := numberOfInt(higher.Num()).Mul(numberOfInt(lower.Denom())).Mul(m.First.Rate.amount).
		Add(numberOfInt(lower.Num()).Mul(numberOfInt(higher.Denom())).Mul(m.Beyond.Rate.amount))
	return exact{num: num, den: den}.nearest(c)
}

// Mileages lists the published figures of a country, the oldest first.
func Mileages(country Country) []Mileage {
	r := csv.NewReader(strings.NewReader(mileageTable))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		return nil // the table is part of the program, and a test reads every row
	}
	var list []Mileage
	for _, row := range rows[1:] {
		m, ok := mileageOf(row)
		if ok && (m.Country == country || m.Country == Canada && country == CATerritories) {
			if country == CATerritories {
				m.Country = country
				m.First.Rate.amount = m.First.Rate.amount.Add(territoriesAdd)
				m.Beyond.Rate.amount = m.Beyond.Rate.amount.Add(territoriesAdd)
			}
			list = append(list, m)
		}
	}
	return list
}

// MileageFor finds the figure of a month; false where none is known.
func MileageFor(country Country, year int, month time.Month) (Mileage, bool) {
	list := Mileages(country)
	i := slices.IndexFunc(list, func(m Mileage) bool { return m.Year == year && m.From <= month && month <= m.Until })
	if i < 0 {
		return Mileage{}, false
	}
	return list[i], true
}

// mileageOf reads a row: country, year, period, rate, unit, status.
func mileageOf(row []string) (Mileage, bool) {
	code, unit, _ := strings.Cut(row[4], "/")
	c, err := ParseCurrency(code)
	if err != nil {
		return Mileage{}, false
	}
	m := Mileage{Country: Country(row[0]), From: time.January, Until: time.December, Status: row[5]}
	if m.Year, err = strconv.Atoi(row[1]); err != nil {
		return Mileage{}, false
	}
	switch row[2] {
	case "Jan-Jun":
		m.Until = time.June
	case "Jul-Dec":
		m.From = time.July
	case "full":
	default:
		m.Limit = canadianFirst
	}
	first, beyond, two := strings.Cut(row[3], "/")
	if !two {
		beyond = first
	}
	per := Kilometre
	if unit == "mile" {
		per = Mile
	}
	for _, tier := range []struct {
		text string
		into *PerDistance
	}{{first, &m.First}, {beyond, &m.Beyond}} {
		rate, _, err := parseMoney(tier.text, c, fineDigits)
		if err != nil {
			return Mileage{}, false
		}
		*tier.into = PerDistance{Rate: rate, Unit: per}
	}
	return m, true
}
