package commands

import (
	"context"
	"errors"
	"math/big"

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
		return Reply{}, in.ofLog(err, "diameter", lengthText(diameter, in))
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Title: "What the log saws out to",
		Notes: []string{"Read as: " + lengthText(diameter, in) + " across inside the bark at the small end, " + in.feetOrMetres(length) + " long."}}
	for _, rule := range lumber.LogRules {
		if in.has("rule") && string(rule) != req.Options["rule"] {
			continue
		}
		feet, err := rule.Saw(diameter, length)
		if err != nil {
			return Reply{}, in.ofLog(err, "length", in.feetOrMetres(length))
		}
		said := ruleNotes[rule]
		reply.Figures = append(reply.Figures, Figure{Key: "board_feet_" + string(rule), Label: said.label,
			Value: feet.Round(0), Unit: "bf", Text: feet.Round(0) + " board feet (" + measure.Decimal(feet.CubicMetres(), 3) + " m³)"})
		reply.Notes = append(reply.Notes, said.note)
	}
	reply.Notes = append(reply.Notes, "The rules guess at sawn boards, not at the log's volume, and differ; sweep, rot and your own kerf change what comes out. A price a board foot wants its rule named.")
	return reply, nil
}

// inMillimetres is the number from which a bare length is no log in metres, and so in
// millimetres like every other.
const inMillimetres = 100

// logLength reads a log's length. A bare number is feet where bare is an inch, as logs are
// spoken of, else metres, or millimetres where it is far too long for them.
func (in *reading) logLength() measure.Length {
	return value(in, "length", func(text string) (measure.Length, error) {
		if in.bare != measure.Millimetre {
			return measure.ParseLength(text, measure.Foot)
		}
		bare := measure.Metre
		if n, err := measure.ParseNumber(text); err == nil && n.Rat().Cmp(big.NewRat(inMillimetres, 1)) >= 0 {
			bare = measure.Millimetre
		}
		return measure.ParseLength(text, bare)
	})
}

// ofLog is what is wrong with a measure of the log, and for a bare number how it was
// read.
func (in *reading) ofLog(err error, name, read string) error {
	told := in.told(err, name)
	m, ok := errors.AsType[*Mistake](told)
	if _, unmarked := measure.ParseNumber(in.req.Options[name]); ok && unmarked == nil {
		m.Problem = "is " + read + " as I read it, which " + m.Problem
	}
	return told
}

func (in *reading) feetOrMetres(l measure.Length) string {
	feet, metres := l.In(measure.Foot, 2)+" ft", l.In(measure.Metre, 2)+" m"
	if in.bare == measure.Millimetre {
		return metres + " (" + feet + ")"
	}
	return feet + " (" + metres + ")"
}
