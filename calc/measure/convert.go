package measure

import (
	"math/big"
	"strings"
)

// Conversion is a quantity in another unit.
type Conversion struct {
	// Quantity is what was converted.
	Quantity Quantity
	// Unit is the symbol of the unit it is now in. Where the quantity is a price,
	// the price is for one of it.
	Unit string
	// Value is how many of Unit, as a plain decimal: every digit where it ends
	// within fifteen decimals, else rounded half to even to twelve significant
	// digits.
	Value string
	// Exact reports whether Value is the true value and nothing was rounded.
	Exact bool
	// Float reports that the value was worked out in binary floating point by the
	// unit library, and rounded to twelve significant digits.
	Float bool
	// Notes are sentences for the asker, on names that were read one way of two.
	Notes []string

	length *big.Rat // in nanometres, where the quantity is a length
}

// exactPlaces is how many decimals an exact value is written with.
const exactPlaces = 15

// Convert reads value and writes it in the unit to. Lengths, areas, volumes built
// from them, forces, torques and densities are converted exactly; liquid measures,
// masses, pressures and temperatures through the unit library. Unlike quantities,
// US survey units and measures that depend on something unsaid are InputErrors.
// Convert is ParseQuantity and Quantity.To in one; a caller that must know which of
// the two texts a mistake is in calls them itself.
func Convert(value, to string, bare Length) (Conversion, error) {
	q, err := ParseQuantity(value, bare)
	if err != nil {
		return Conversion{}, err
	}
	return q.To(to, bare)
}

// To is the quantity in the unit that to names. For a price the unit may stand
// behind a slash or "per", and a currency before that must be the price's own. Every
// mistake is in to.
func (q Quantity) To(to string, bare Length) (Conversion, error) {
	name := to
	if unit, before, found := cutPer(to); found && (before == "" || isCurrency(before)) {
		if _, isUnit := unitIndex().find(unitKey(to)); !isUnit {
			if e := q.perUnit(to, before); e != nil {
				return Conversion{}, e
			}
			name = unit
		}
	}
	target, note, e := findUnit(name, bare)
	if e != nil {
		return Conversion{}, e
	}
	if e := q.unlike(to, target); e != nil {
		return Conversion{}, e
	}
	c := Conversion{Quantity: q, Unit: target.symbol}
	for _, n := range []string{q.Note, note} {
		if n != "" {
			c.Notes = append(c.Notes, n)
		}
	}
	c.workOut(target)
	return c, nil
}

// workOut fills in the value in the target unit.
func (c *Conversion) workOut(target *namedUnit) {
	q := c.Quantity
	from, into, value := q.unit.exact(), target.exact(), new(big.Rat)
	if q.unit.dimension == lengthUnit && !q.Price {
		c.length = new(big.Rat).Mul(q.unit.inNanometres(), q.Value)
	}
	switch {
	case q.unit == target:
		c.Value, c.Exact = write(q.Value)
	case q.unit.dimension == temperatureUnit:
		c.Value, c.Float = temperature(q.Value, q.unit, target), true
	case from == nil || into == nil:
		c.Value, c.Float = throughLibrary(q.Value, q.unit, target, q.Price), true
	case c.length != nil:
		c.Value, c.Exact = write(value.Quo(c.length, target.inNanometres()))
	case q.Price:
		c.Value, c.Exact = write(value.Mul(into, q.Value).Quo(value, from))
	default:
		c.Value, c.Exact = write(value.Mul(from, q.Value).Quo(value, into))
	}
}

// Length is the converted length rounded to the nanometre, half to even, and whether
// the quantity is one that fits.
func (c Conversion) Length() (Length, bool) {
	if c.length == nil {
		return 0, false
	}
	l := roundHalfEven(c.length.Num(), c.length.Denom())
	return Length(l.Int64()), l.IsInt64()
}

// perUnit checks what a price is to be converted to.
func (q Quantity) perUnit(to, currency string) *InputError {
	switch {
	case !q.Price:
		return &InputError{
			Value:   to,
			Problem: "is a price per unit, and " + Quote(q.Text) + " is none",
			Hint:    dimensions[q.unit.dimension].example,
		}
	case currency != "" && q.Currency != "" && !strings.EqualFold(currency, q.Currency):
		return &InputError{Value: to, Problem: "is another currency, which I do not convert", Hint: "/" + q.Unit}
	}
	return nil
}

// unlike refuses a unit of another dimension.
func (q Quantity) unlike(to string, target *namedUnit) *InputError {
	from := dimensions[q.unit.dimension]
	switch {
	case q.unit.dimension == target.dimension:
		return nil
	case q.unit.symbol == "oz" && target.dimension == volumeUnit:
		return &InputError{
			Value:   to,
			Problem: "is a unit of volume and oz one of mass; fluid ounces are US fl oz or imp fl oz",
			Hint:    from.example,
		}
	}
	return &InputError{
		Value:   to,
		Problem: "is a unit of " + dimensions[target.dimension].name + " and " + q.unit.symbol + " one of " + from.name,
		Hint:    from.example,
	}
}

// write is an exact value as a plain decimal, and whether that is all of it.
func write(r *big.Rat) (decimal string, exact bool) {
	if den := r.Denom(); den.IsInt64() && powersOfTen[exactPlaces]%den.Int64() == 0 {
		return trimZeros(Decimal(r, exactPlaces)), true
	}
	return significant(r), false
}

// significant rounds half to even to significantDigits, but never before the decimal
// point.
func significant(r *big.Rat) string {
	// The smallest value here is a billionth of the smallest unit in the largest:
	// no more than forty zeros stand before its first digit.
	const enough = 60
	whole, decimals, _ := strings.Cut(strings.TrimPrefix(Decimal(r, enough), "-"), ".")
	places := significantDigits - len(whole)
	if whole == "0" {
		zeros := len(decimals) - len(strings.TrimLeft(decimals, "0"))
		places = zeros + significantDigits
	}
	return trimZeros(Decimal(r, places))
}
