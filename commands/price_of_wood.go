package commands

import (
	"errors"
	"math/big"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// unitPrice is a price for one of a unit.
type unitPrice struct {
	price.Money
	unit string // "board foot"
	bare bool   // the unit was not written
}

// priceUnit is a unit a price may stand over, with its spellings.
type priceUnit struct {
	unit  string
	names []string
}

var (
	perFoot        = priceUnit{"board foot", []string{"bf", "bdft", "fbm", "board foot", "board-foot"}}
	perCubicMetre  = priceUnit{"cubic metre", []string{"m3", "m³", "m^3", "cbm", "cu m", "cubic metre", "cubic meter"}}
	perSheet       = priceUnit{usualSheet, []string{"sheet", "piece", "pc"}}
	perSquareFoot  = priceUnit{"square foot", []string{"ft2", "ft²", "sq ft", "sqft", "square foot"}}
	perSquareMetre = priceUnit{"square metre", []string{"m2", "m²", "sq m", "square metre", "square meter"}}
)

// parseUnitPrice reads a price for one of the units, a bare one for the first.
func parseUnitPrice(text string, usual price.Currency, units ...priceUnit) (p unitPrice, marked bool, err error) {
	for _, u := range units {
		m, mark, e := price.ParsePer(text, usual, u.names...)
		if e == nil {
			_, _, written := price.ParseMoney(text, usual)
			return unitPrice{m, u.unit, written == nil}, mark, nil
		}
		if err == nil {
			err = e
		}
	}
	return unitPrice{}, false, err
}

// solidWood are the units of a price of solid wood. A bare one is for what the
// member measures in.
func (in *reading) solidWood() []priceUnit {
	if in.bare == measure.Millimetre {
		return []priceUnit{perCubicMetre, perFoot}
	}
	return []priceUnit{perFoot, perCubicMetre}
}

// unitPrice reads a price for one of the units.
func (in *reading) unitPrice(name string, units []priceUnit) unitPrice {
	return value(in, name, func(text string) (unitPrice, error) {
		p, marked, err := parseUnitPrice(text, in.currency, units...)
		if input, ok := errors.AsType[*measure.InputError](err); ok && input.Hint == "" && units[0].unit == perCubicMetre.unit {
			input.Hint = "1250/m3 or 7.50/bf"
		}
		if err == nil && marked {
			in.currency = p.Currency()
		}
		return p, err
	})
}

// woodPrice reads a price of solid wood.
func (in *reading) woodPrice(name string) unitPrice { return in.unitPrice(name, in.solidWood()) }

// cubic tells a price of a cubic metre. Such a price is for the wood that is there:
// that stock under an inch counts as an inch is of the board foot alone.
func (p unitPrice) cubic() bool { return p.unit == perCubicMetre.unit }

// quantity is how many of the price's unit some wood is.
func (p unitPrice) quantity(feet lumber.BoardFeet) *big.Rat {
	if p.cubic() {
		return feet.CubicMetres()
	}
	return feet.Rat()
}

// perBoardFoot is the price of a board foot, exact.
func (p unitPrice) perBoardFoot() *big.Rat {
	return new(big.Rat).Mul(rat(p.Money), p.quantity(lumber.FromFeet(big.NewRat(1, 1))))
}

// text writes the price with its unit: "€7.50 a board foot", and for a member who
// measures in millimetres with that of a cubic metre.
func (p unitPrice) text(in *reading) string {
	text := moneyText(p.Money, in.req.Locale) + " a " + p.unit
	if p.unit != perFoot.unit || in.bare != measure.Millimetre {
		return text
	}
	each := new(big.Rat).Inv(lumber.FromFeet(big.NewRat(1, 1)).CubicMetres())
	cubic, err := price.CostOf(each, p.Money)
	if err != nil { // more than is counted
		return text
	}
	return text + " (" + moneyText(cubic, in.req.Locale) + " a cubic metre)"
}

// feetText writes a quantity of wood that is kept in board feet, for a member who
// measures in millimetres in cubic metres first.
func (in *reading) feetText(feet *big.Rat) string {
	text := trimmed(measure.Decimal(feet, 3)) + " board feet"
	if in.bare == measure.Millimetre {
		return measure.Decimal(lumber.FromFeet(feet).CubicMetres(), 4) + " m³ (" + text + ")"
	}
	return text
}

// taken says how a bare price was taken, where a member may have meant the board
// foot that makers elsewhere pay by.
func (p unitPrice) taken() string {
	if !p.bare || !p.cubic() {
		return ""
	}
	return "A bare price is for a cubic metre, as bare numbers are metric; for a board foot write 7.50/bf."
}
