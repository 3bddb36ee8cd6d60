package commands

import (
	"context"
	"errors"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) convert() Command {
	return Command{
		Path:    "convert",
		Summary: "a measure or a price in another unit, exactly where that is possible",
		Options: []Option{
			{Name: "value", Summary: "the measure with its unit, or a price per unit", Kind: Quantity, Required: true, Example: `7' 8-1/2"`},
			{Name: "to", Summary: "the unit you want; both systems unless you say", Kind: Unit, Example: "mm", Complete: h.completeUnits},
		},
		Examples: []string{
			`/convert value:7' 8-1/2" to:mm`,
			"/convert value:1 bf to:m3",
			"/convert value:7.50/bf to:m3",
			"/convert value:400 ft2/US gal to:m2/L",
			"/convert value:40 lb",
		},
		Run: h.answerConvert,
	}
}

// completeUnits offers the units the value can be given in, or all of them before
// there is a value.
func (h house) completeUnits(_ context.Context, req Request, typed string) ([]Choice, error) {
	quantity, err := measure.ParseQuantity(req.Options["value"], h.Bare)
	var all []Choice
	for _, u := range measure.UnitNames() {
		if err == nil {
			if _, unlike := quantity.To(u, h.Bare); unlike != nil {
				continue
			}
		}
		all = append(all, Choice{Value: u, Label: u})
	}
	return matching(all, typed), nil
}

func (h house) answerConvert(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	c := conversion{in: in}
	c.quantity = value(in, "value", func(text string) (measure.Quantity, error) {
		q, err := measure.ParseQuantity(text, in.bare)
		return q, askedAbout(err, "1/3 cord or 1/2 cord")
	})
	if in.err == nil {
		c.settle()
	}
	to := value(in, "to", func(text string) (measure.Conversion, error) {
		converted, err := c.quantity.To(text, in.bare)
		return converted, askedAbout(err, "cord or ft3")
	})
	if in.err != nil {
		return Reply{}, in.err
	}
	c.reply = Reply{Title: "Conversion", Notes: []string{"Read as: " + c.readAs() + "."}}
	if !in.has("to") {
		return c.both()
	}
	c.add("converted", c.quantity.Text, to)
	if l, ok := to.Length(); ok {
		if note := onTheTape(l, to.Unit, in.tape); note != "" {
			c.reply.Notes = append(c.reply.Notes, note)
		}
	}
	c.close(to.Notes)
	return c.reply, nil
}

// askedAbout says what a face cord may be, which no factor does: a row 4 ft high and
// 8 ft long of sticks of any length, by geometry.
func askedAbout(err error, hint string) error {
	if input, ok := errors.AsType[*measure.InputError](err); ok && strings.Contains(input.Problem, "one row of sticks") {
		input.Problem = "is one row of sticks, 4 ft by 8 ft; how long are they? Sticks of 16 in make it 1/3 cord, of 24 in 1/2 cord"
		input.Hint = hint
	}
	return err
}

// conversion is one quantity on its way into other units.
type conversion struct {
	in       *reading
	quantity measure.Quantity
	rounded  bool // a figure has been cut at twelve digits
	short    bool // a figure is written with six
	coins    bool // a price has been rounded to the coin
	reply    Reply
}

// settle finds the currency of a price.
func (c *conversion) settle() {
	if !c.quantity.Price {
		return
	}
	m, marked, err := price.ParseMoney(c.quantity.Currency+" 1", c.in.currency)
	switch {
	case c.quantity.Currency == "":
	case err != nil || !marked:
		c.in.fail(&Mistake{Option: "value", Given: measure.Quote(c.quantity.Text), Problem: "is in no currency I know", Try: "7.50/bf or 7.50 USD/bf"})
	default:
		c.in.currency = m.Currency()
	}
}

// readAs repeats a measure as it was understood: feet and inches as the inches they
// come to.
func (c *conversion) readAs() string {
	q := c.quantity
	plain := trimmed(measure.Decimal(q.Value, 6))
	if q.Price {
		return plain + " " + c.in.currency.Code() + " for one " + q.Unit
	}
	return plain + " " + q.Unit
}

func trimmed(decimal string) string {
	if !strings.Contains(decimal, ".") {
		return decimal
	}
	return strings.TrimSuffix(strings.TrimRight(decimal, "0"), ".")
}

// add gives one conversion as a figure. A price is written as money, rounded to its
// coin, and its value is all of it.
func (c *conversion) add(key, label string, to measure.Conversion) {
	shown, short := to.Value, false
	if !c.in.has("to") {
		shown, short = sixDigits(to.Value)
	}
	c.short = c.short || short
	f := Figure{Key: key, Label: label, Value: to.Value, Unit: to.Unit, Text: shown + " " + to.Unit}
	if !to.Exact {
		c.rounded = true
		if !to.Float {
			f.Text = "about " + f.Text
		}
	}
	if c.quantity.Price {
		f.Unit = c.in.currency.Code() + "/" + to.Unit
		f.Text = c.priceText(to)
	}
	c.reply.Figures = append(c.reply.Figures, f)
}

// fineCoins is how many coins a price needs to be written in them: fewer, and the
// rounding would show.
const fineCoins = 10

func (c *conversion) priceText(to measure.Conversion) string {
	each, ok := new(big.Rat).SetString(to.Value)
	one := price.NewMoney(1, c.in.currency)
	if ok {
		if m, err := price.CostOf(new(big.Rat).Mul(each, wholeCoins(c.in.currency)), one); err == nil {
			minor, err := m.Minor()
			if err == nil && (minor >= fineCoins || each.Sign() == 0) {
				c.coins = c.coins || m.Decimal().String() != to.Value
				return moneyText(m, c.in.req.Locale) + " for one " + to.Unit
			}
		}
	}
	shown, _ := sixDigits(to.Value)
	return shown + " " + c.in.currency.Code() + " for one " + to.Unit
}

// sixDigits rounds a plain decimal half to even to six significant digits, but never
// before the decimal point, and reports whether that changed it.
func sixDigits(decimal string) (short string, changed bool) {
	const digits = 6
	r, ok := new(big.Rat).SetString(decimal)
	if !ok {
		return decimal, false
	}
	whole, fraction, _ := strings.Cut(strings.TrimPrefix(decimal, "-"), ".")
	places := digits - len(whole)
	if whole == "0" {
		places = digits + len(fraction) - len(strings.TrimLeft(fraction, "0"))
	}
	short = trimmed(measure.Decimal(r, places))
	return short, short != decimal
}

// wholeCoins is how many of its smallest coins one of a currency has.
func wholeCoins(c price.Currency) *big.Rat {
	one, _, err := price.ParseMoney("1", c)
	if err != nil {
		return big.NewRat(1, 1)
	}
	minor, err := one.Minor()
	if err != nil {
		return big.NewRat(1, 1)
	}
	return new(big.Rat).SetInt64(minor)
}

// close adds what was rounded and how names were read.
func (c *conversion) close(notes []string) {
	if c.coins {
		c.reply.Notes = append(c.reply.Notes, "Written to the nearest "+coin(c.in.currency, c.in.req.Locale)+"; nothing is converted between currencies.")
	}
	switch {
	case c.quantity.Price:
	case c.short:
		c.reply.Notes = append(c.reply.Notes, "Written to six digits; name a unit with to: for all of them.")
	case c.rounded && c.in.has("to"):
		c.reply.Notes = append(c.reply.Notes, "Good to 12 significant digits.")
	}
	c.reply.Notes = append(c.reply.Notes, notes...)
}

// bothSystems are the units a measure is given in when none is asked for, each kind
// in both systems. The names are keys of figures too.
var bothSystems = [][]struct{ unit, key, label string }{
	{{"mm", "mm", "Millimetres"}, {"cm", "cm", "Centimetres"}, {"m", "m", "Metres"}, {"in", "in", "Inches"}, {"ft", "ft", "Feet"}},
	{{"cm²", "cm2", "Square centimetres"}, {"m²", "m2", "Square metres"}, {"in²", "in2", "Square inches"}, {"ft²", "ft2", "Square feet"}},
	{{"L", "l", "Litres"}, {"m³", "m3", "Cubic metres"}, {"US fl oz", "us_fl_oz", "US fluid ounces"}, {"US gal", "us_gal", "US gallons"},
		{"imp gal", "imp_gal", "Imperial gallons"}, {"ft³", "ft3", "Cubic feet"}, {"bf", "bf", "Board feet"}},
	{{"g", "g", "Grams"}, {"kg", "kg", "Kilograms"}, {"oz", "oz", "Ounces"}, {"lb", "lb", "Pounds"}},
	{{"°C", "c", "Celsius"}, {"°F", "f", "Fahrenheit"}},
	{{"N", "n", "Newtons"}, {"lbf", "lbf", "Pounds-force"}},
	{{"kPa", "kpa", "Kilopascals"}, {"bar", "bar", "Bar"}, {"psi", "psi", "Pounds-force per square inch"}},
	{{"N·m", "nm", "Newton metres"}, {"lbf·ft", "lbf_ft", "Pound-force feet"}, {"lbf·in", "lbf_in", "Pound-force inches"}},
	{{"kg/m³", "kg_m3", "Kilograms a cubic metre"}, {"g/cm³", "g_cm3", "Grams a cubic centimetre"}, {"lb/ft³", "lb_ft3", "Pounds a cubic foot"}},
	{{"m²/L", "m2_l", "Square metres a litre"}, {"ft²/US gal", "ft2_us_gal", "Square feet a US gallon"}, {"ft²/imp gal", "ft2_imp_gal", "Square feet an imperial gallon"}},
}

// both gives the measure in the usual units of both systems.
func (c *conversion) both() (Reply, error) {
	for _, kind := range bothSystems {
		if _, err := c.quantity.To(kind[0].unit, c.in.bare); err != nil {
			continue // another kind of measure
		}
		for _, u := range kind {
			to, err := c.quantity.To(u.unit, c.in.bare)
			if err != nil {
				return Reply{}, err
			}
			c.add("to_"+u.key, u.label, to)
			if l, ok := to.Length(); ok && u.unit == "in" {
				c.reply.Notes = append(c.reply.Notes, onTheTape(l, u.unit, c.in.tape))
			}
		}
		break
	}
	var notes []string
	if c.quantity.Note != "" {
		notes = append(notes, c.quantity.Note)
	}
	c.close(notes)
	return c.reply, nil
}

// onTheTape says where a length in inches or feet stands on a tape.
func onTheTape(l measure.Length, unit string, tape int) string {
	if unit != "in" && unit != "ft" {
		return ""
	}
	inches, off := l.Tape(tape)
	feet, _ := l.TapeFeet(tape)
	text := "On the tape: " + inches
	if feet != inches {
		text += ", or " + feet
	}
	if off == 0 {
		return text + ", exactly."
	}
	side := "longer"
	if off < 0 {
		side = "shorter"
	}
	miss, _ := off.Abs().MetricTo(3)
	return text + ", to the nearest 1/" + strconv.Itoa(tape) + " in: " + miss + " " + side + " than the true length."
}
