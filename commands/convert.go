package commands

import (
	"context"
	"strconv"
	"strings"

	"tallystick/calc/measure"
)

func (h house) convert() Command {
	return Command{
		Path:    "convert",
		Summary: "one measure in another unit, exactly where that is possible",
		Options: []Option{
			{Name: "value", Summary: "the measure with its unit", Kind: Quantity, Required: true, Example: `7' 8-1/2"`},
			{Name: "to", Summary: "the unit you want", Kind: Unit, Required: true, Example: "mm", Complete: completeUnits},
		},
		Examples: []string{
			`/convert value:7' 8-1/2" to:mm`,
			"/convert value:1 bf to:m3",
			"/convert value:7.50/bf to:m3",
		},
		Run: h.answerConvert,
	}
}

func completeUnits(_ context.Context, _ Request, typed string) ([]Choice, error) {
	var all []Choice
	for _, u := range measure.UnitNames() {
		all = append(all, Choice{Value: u, Label: u})
	}
	return matching(all, typed), nil
}

func (h house) answerConvert(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	quantity := value(in, "value", func(text string) (measure.Quantity, error) { return measure.ParseQuantity(text, in.bare) })
	converted := value(in, "to", func(text string) (measure.Conversion, error) { return quantity.To(text, in.bare) })
	if in.err != nil {
		return Reply{}, in.err
	}
	unit := converted.Unit
	if quantity.Price {
		unit = quantity.Currency + "/" + unit
	}
	about := ""
	if !converted.Exact && !converted.Float {
		about = "about "
	}
	reply := Reply{Title: "Conversion",
		Figures: []Figure{{Key: "converted", Label: quantity.Text, Value: converted.Value, Unit: unit, Text: about + converted.Value + " " + unit}}}
	reply.Notes = append(reply.Notes, "Read as: "+quantityText(quantity)+".")
	if l, ok := converted.Length(); ok {
		if note := onTheTape(l, unit, in.tape); note != "" {
			reply.Notes = append(reply.Notes, note)
		}
	}
	if !converted.Exact {
		reply.Notes = append(reply.Notes, "Good to 12 significant digits.")
	}
	reply.Notes = append(reply.Notes, converted.Notes...)
	return reply, nil
}

// quantityText repeats a measure as it was understood: feet and inches as the
// inches they come to.
func quantityText(q measure.Quantity) string {
	plain := measure.Decimal(q.Value, 6)
	if strings.Contains(plain, ".") {
		plain = strings.TrimRight(strings.TrimRight(plain, "0"), ".")
	}
	if q.Price {
		return strings.TrimSpace(plain+" "+q.Currency) + " for one " + q.Unit
	}
	return plain + " " + q.Unit
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
