package commands

import (
	"context"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func (h house) moisture() Command {
	return Command{
		Path:    "moisture",
		Summary: "the moisture content wood comes to in a room, a shed or outdoors",
		Options: []Option{
			{Name: "temperature", Summary: "of the air", Kind: Quantity, Required: true, Example: "70F"},
			{Name: "humidity", Summary: "relative humidity of the air", Kind: Percent, Required: true, Example: "45%"},
		},
		Examples: []string{"/moisture temperature:70F humidity:45%", "/moisture temperature:21C humidity:60%"},
		Run:      h.answerMoisture,
	}
}

func (h house) answerMoisture(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	air := lumber.Air{Celsius: in.temperature("temperature"), Humidity: value(in, "humidity", lumber.ParseHumidity)}
	if in.err != nil {
		return Reply{}, in.err
	}
	emc := air.Equilibrium()
	reply := Reply{
		Title:   "Moisture that wood comes to",
		Figures: []Figure{{Key: "equilibrium_moisture", Label: "Equilibrium moisture content", Value: emc.Plain(), Unit: "%", Text: emc.String()}},
		Tables:  []Table{targetTable()},
		Notes: []string{
			"Read as: air of " + temperatureText(air.Celsius, in) + " at " + air.Humidity.String() + " relative humidity.",
			"By the handbook's equation 4-5, any species, after weeks to months in that air; thick and finished wood takes longest.",
		},
	}
	if !air.InTable() {
		reply.Notes = append(reply.Notes, "That is outside the handbook's printed table (30 to 130 °F, 5 to 90 %), so take it as rougher.")
	}
	reply.Notes = append(reply.Notes, handbook+", Figure 13-1 and Table 13-2, for the United States: averages looked up, ranges from memory.")
	return reply, nil
}

// temperature reads a temperature that the equation takes.
func (in *reading) temperature(name string) lumber.Celsius {
	return value(in, name, func(text string) (lumber.Celsius, error) {
		c, err := lumber.ParseTemperature(text, in.bare)
		if err != nil {
			return 0, err
		}
		return c, c.Check(text)
	})
}

// temperatureText writes a temperature in both scales, the member's first.
func temperatureText(c lumber.Celsius, in *reading) string {
	if in.bare == measure.Millimetre {
		return c.String() + " (" + c.InFahrenheit() + ")"
	}
	return c.InFahrenheit() + " (" + c.String() + ")"
}

func targetTable() Table {
	t := Table{Title: "Aim for, indoors", Columns: []string{"where", "average", "any one piece"}}
	for _, target := range lumber.Targets {
		t.Rows = append(t.Rows, []string{target.Region, target.Average.String(), target.Low.Plain() + "–" + target.High.String()})
	}
	return t
}
