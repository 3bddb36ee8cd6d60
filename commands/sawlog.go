package commands

import (
	"context"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func (h house) sawlog() Command {
	return Command{
		Path:    "sawlog",
		Summary: "the board feet a log should saw out to, by the log rules",
		Options: []Option{
			{Name: "diameter", Summary: "inside the bark at the small end", Kind: Length, Required: true, Example: "16 in"},
			{Name: "length", Summary: "of the log, without trim", Kind: Length, Required: true, Example: "16 ft"},
			{Name: "rule", Summary: "one rule only; all of them unless you say", Kind: Word, Example: "doyle", Choices: []Choice{
				{Value: string(lumber.Doyle), Label: "Doyle"},
				{Value: string(lumber.InternationalQuarter), Label: "International 1/4-inch"},
				{Value: string(lumber.Scribner), Label: "Scribner (formula)"},
			}},
		},
		Examples: []string{"/sawlog diameter:16 in length:16 ft", "/sawlog diameter:41cm length:2.4m rule:international"},
		Run:      h.answerSawlog,
	}
}

// ruleNotes say what each rule is and where it leads astray.
var ruleNotes = map[lumber.LogRule]struct{ label, note string }{
	lumber.Doyle:                {"Doyle", "Doyle is (D − 4)² × L / 16 and allows 5/16 in of kerf; on small logs it comes out low."},
	lumber.InternationalQuarter: {"International 1/4-inch", "International allows 1/4 in of kerf and the log's taper, and is rounded to the nearest 5."},
	lumber.Scribner:             {"Scribner", "Scribner here is the formula (0.79 D² − 2 D − 4) × L / 16; the old printed tables differ from it somewhat."},
}

func (h house) answerSawlog(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	diameter, length := in.length("diameter"), in.logLength()
	if _, err := lumber.Doyle.Saw(diameter, 16*measure.Foot); err != nil && in.err == nil {
		return Reply{}, in.told(err, "diameter")
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Title: "What the log saws out to",
		Notes: []string{"Read as: " + lengthText(diameter, in) + " across inside the bark at the small end, " + feetText(length) + " long."}}
	for _, rule := range lumber.LogRules {
		if in.has("rule") && string(rule) != req.Options["rule"] {
			continue
		}
		feet, err := rule.Saw(diameter, length)
		if err != nil {
			return Reply{}, in.told(err, "length")
		}
		said := ruleNotes[rule]
		reply.Figures = append(reply.Figures, Figure{Key: "board_feet_" + string(rule), Label: said.label,
			Value: feet.Round(0), Unit: "bf", Text: feet.Round(0) + " board feet (" + measure.Decimal(feet.CubicMetres(), 3) + " m³)"})
		reply.Notes = append(reply.Notes, said.note)
	}
	reply.Notes = append(reply.Notes, "The rules guess at sawn boards, not at the log's volume, and differ; sweep, rot and your own kerf change what comes out. A price a board foot wants its rule named.")
	return reply, nil
}

// logLength reads a log's length. A bare number is feet where bare is an inch, as logs are
// spoken of, else metres.
func (in *reading) logLength() measure.Length {
	return value(in, "length", func(text string) (measure.Length, error) {
		bare := measure.Metre
		if in.bare%measure.Inch == 0 {
			bare = measure.Foot
		}
		return measure.ParseLength(text, bare)
	})
}

func feetText(l measure.Length) string {
	return l.In(measure.Foot, 2) + " ft (" + l.In(measure.Metre, 2) + " m)"
}
