package price

import (
	"math/big"
	"strings"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// The units trips are counted in. The mile is the international one, 1609.344 m
// exactly (NIST SP 811, appendix B.8).
const (
	Kilometre = 1000 * measure.Metre
	Mile      = 1_609_344 * measure.Millimetre
)

// PerDistance is an amount for each mile or kilometre. It may be finer than the
// minor unit: 0.725 USD a mile.
type PerDistance struct {
	Rate Money
	// Unit is Mile or Kilometre.
	Unit measure.Length
}

// UnitName is "mile" or "km".
func (p PerDistance) UnitName() string { return unitName(p.Unit) }

func unitName(unit measure.Length) string {
	if unit == Mile {
		return "mile"
	}
	return "km"
}

// Cost is what a distance comes to, rounded half to even to the minor unit.
func (p PerDistance) Cost(distance measure.Length) (Money, error) {
	return CostOf(distance.Rat(p.Unit), p.Rate)
}

// Micros is the rate in millionths of the major unit, as it is stored.
func (p PerDistance) Micros() int64 { return p.Rate.Decimal().Shift(fineDigits).IntPart() }

// PerDistanceOf makes a rate from what Micros gave.
func PerDistanceOf(micros int64, c Currency, unit measure.Length) PerDistance {
	return PerDistance{Rate: Money{amount: scaled(micros, -fineDigits), currency: c}, Unit: unit}
}

// mostPerDistance keeps a stored rate, and what any trip costs, within bounds.
var mostPerDistance = whole(1_000_000)

// ParsePerDistance reads an amount for a mile or a kilometre: "0.725/mile",
// "0.45 € per km". A bare amount is for one of the usual unit.
func ParsePerDistance(text string, usual Currency, unit measure.Length) (p PerDistance, marked bool, err error) {
	amount, word, said := cutPer(text)
	p.Unit = unit
	if said {
		switch strings.ToLower(word) {
		case "mi", "mile", "miles":
			p.Unit = Mile
		case "km", "kilometre", "kilometer":
			p.Unit = Kilometre
		default:
			return PerDistance{}, false, refuse(text, "is not an amount per mile or km")
		}
	}
	p.Rate, marked, err = parseMoney(amount, usual, fineDigits)
	if input, ok := err.(*measure.InputError); ok {
		input.Value = strings.TrimSpace(text)
	}
	if err == nil && p.Rate.amount.Cmp(mostPerDistance) > 0 {
		return PerDistance{}, false, refuse(text, "is more than I count for a distance")
	}
	return p, marked, err
}

// mostDistance is further than anybody drives for a piece, and far within what a
// Length holds.
const mostDistance = 1_000_000 * Kilometre

// ParseDistance reads a distance; a number without a unit is in the given one.
func ParseDistance(text string, unit measure.Length) (measure.Length, error) {
	const hint = "32 miles or 50 km"
	refused := func(problem string) error {
		return &measure.InputError{Value: strings.TrimSpace(text), Problem: problem, Hint: hint}
	}
	var metres *big.Rat
	if n, err := measure.ParseNumber(text); err == nil {
		metres = new(big.Rat).Mul(n.Rat(), unit.Rat(measure.Metre))
	} else {
		q, err := measure.ParseQuantity(text, measure.Millimetre)
		if err != nil {
			return 0, refused("is not a distance")
		}
		m, err := q.To("m", measure.Millimetre)
		if err != nil || q.Price {
			return 0, refused("is not a distance")
		}
		l, fits := m.Length()
		if !fits {
			return 0, refused("is further than I count")
		}
		metres = l.Rat(measure.Metre)
	}
	if metres.Cmp(mostDistance.Rat(measure.Metre)) > 0 {
		return 0, refused("is further than I count")
	}
	if metres.Sign() <= 0 {
		return 0, refused("is no distance")
	}
	nanometres := metres.Mul(metres, measure.Metre.Rat(measure.Nanometre))
	return measure.Length(decimal.NewFromBigRat(nanometres, 0).IntPart()), nil // to the nanometre
}
