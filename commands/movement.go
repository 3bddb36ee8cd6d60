package commands

import (
	"context"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func (h house) movement() Command {
	return Command{
		Path:    "movement",
		Summary: "how much a board or a top changes in width, and how long to cut the slots",
		Options: []Option{
			{Name: "width", Summary: "across the grain", Kind: Length, Required: true, Example: "23 in"},
			speciesOption,
			{Name: "from", Summary: "moisture content now, or the air it stands in: humidity and temperature", Kind: Word, Required: true, MaxLength: 64, Example: "8%"},
			{Name: "to", Summary: "moisture content or air later", Kind: Word, Required: true, MaxLength: 64, Example: "60% 75F"},
			{Name: "grain", Summary: "how the rings lie in the face; flat unless you say", Kind: Word, Example: "quarter", Choices: []Choice{
				{Value: string(lumber.FlatSawn), Label: "flat-sawn (moves most)"},
				{Value: string(lumber.QuarterSawn), Label: "quarter-sawn (moves least)"},
				{Value: string(lumber.RiftSawn), Label: "rift-sawn (between the two)"},
			}},
		},
		Examples: []string{
			"/movement width:23 in species:hard maple from:7% to:11%",
			"/movement width:580mm species:white oak from:35% 20C to:60% 22C grain:quarter",
		},
		Run: h.answerMovement,
	}
}

func (h house) answerMovement(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	width := in.length("width")
	wood, notes := in.species("species")
	from, to := in.condition("from"), in.condition("to")
	grain := lumber.FlatSawn
	if in.has("grain") {
		grain = lumber.Grain(req.Options["grain"])
	}
	if in.err == nil && (width <= 0 || width > 10*measure.Metre) {
		in.fail(&Mistake{Option: "width", Given: measure.Quote(req.Options["width"]), Problem: "is not between nothing and 10 m (33 ft)", Try: "23 in"})
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	change, err := wood.Move(width, from.Moisture, to.Moisture, grain)
	if err != nil {
		return Reply{}, in.told(err, "species")
	}
	reply := Reply{Title: "Movement of " + wood.Name}
	label := "Grows by"
	switch {
	case change.By < 0:
		label = "Shrinks by"
	case change.By == 0:
		label = "Changes by"
	}
	reply.Figures = []Figure{
		moveFigure("change", label, change.By.Abs(), in),
		lengthFigure("width_after", "Width then", change.After, in),
	}
	if change.By != 0 {
		reply.Tables = []Table{slotTable(change.By, in)}
	}
	reply.Notes = append(reply.Notes, "Read as: "+lengthText(width, in)+" wide, "+string(grain)+"-sawn, from "+conditionText(from, in)+" to "+conditionText(to, in)+".")
	reply.Notes = append(append(reply.Notes, notes...), changeNotes(change, grain, wood)...)
	reply.Notes = append(reply.Notes, movementNotes(wood)...)
	reply.Notes = append(reply.Notes, provenanceNote(wood, false, wood.Reckoned, true)+" Averages, from which single boards differ; finish slows movement and does not stop it (common practice).")
	return reply, nil
}

// condition reads a moisture content or a climate.
func (in *reading) condition(name string) lumber.Condition {
	return value(in, name, func(text string) (lumber.Condition, error) { return lumber.ParseCondition(text, in.bare) })
}

func conditionText(c lumber.Condition, in *reading) string {
	if c.Air == nil {
		return c.Moisture.String() + " moisture"
	}
	return c.Air.Humidity.String() + " air at " + temperatureText(c.Air.Celsius, in) + ", so " + c.Moisture.String() + " moisture"
}

// slotTable says how much longer slots are to be on the side the wood moves to.
func slotTable(change measure.Length, in *reading) Table {
	t := Table{Title: "Room for the fixings", Columns: []string{"held", "edge moves", "slot longer by"}}
	for _, row := range []struct {
		held string
		move measure.Length
	}{{"in the middle", change.Abs() / 2}, {"at one edge", change.Abs()}} {
		slot := lumber.SlotFor(row.move)
		inch, _ := slot.Inch.Tape(16)
		metric := slot.Metric.Metric()
		if in.bare == measure.Millimetre {
			inch, metric = metric, inch
		}
		own, _ := row.move.MetricTo(1)
		if in.bare != measure.Millimetre {
			own = row.move.In(measure.Inch, 3) + " in"
		}
		t.Rows = append(t.Rows, []string{row.held, own, inch + " (" + metric + ")"})
	}
	return t
}

func changeNotes(change lumber.Change, grain lumber.Grain, wood lumber.Species) []string {
	var notes []string
	const room = "The room beside each fixing is rounded up to 1/16 in and to 1 mm. "
	if change.By < 0 {
		notes = append(notes, room+"This piece shrinks towards where it is held: leave it on that side, or on both if it will go both ways.")
	}
	if change.By > 0 {
		notes = append(notes, room+"This piece grows away from where it is held: leave it on the far side, or on both if it will go both ways.")
	}
	if grain == lumber.RiftSawn {
		notes = append(notes, "Rift is taken as the mean of flat and quarter.")
	}
	if change.Beyond {
		notes = append(notes, "The handbook's figures hold from 6 to 14 % moisture. Beyond that I followed the straight line of shrinkage (eq. 13-3), which starts at "+wood.StartText()+"; wetter wood keeps its size. Take it as rougher.")
	} else {
		notes = append(notes, "By the handbook's equation 13-2, which holds from 6 to 14 % moisture.")
	}
	return notes
}
