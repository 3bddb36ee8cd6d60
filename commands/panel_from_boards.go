package commands

import (
	"context"
	"fmt"
	"slices"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func (h house) panelFromBoards() Command {
	return Command{
		Path:    "panel from-boards",
		Summary: "the panel that your boards give when they are glued side by side",
		Options: append([]Option{
			{Name: "boards", Summary: "how many, thickness x width x length; lots joined by a semicolon", Kind: Boards, Required: true,
				MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
		}, cutOptions()...),
		Examples: []string{
			"/panel from-boards boards:6 @ 5/8 x 3-1/2 x 40 in jointing:1/16 in planing:1/32 in end-trim:1/2 in",
			"/panel from-boards boards:4 @ 1-1/2 x 5-1/2 x 30 in rip:3 lay:on-edge jointing:1/32 in planing:1/16 in",
		},
		Run: h.answerPanelFromBoards,
	}
}

func (h house) answerPanelFromBoards(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	lot := in.lot("boards")
	w := readWorkshop(in)
	if in.err != nil {
		return Reply{}, in.err
	}
	p, err := lumber.PanelOf(lot, w.cuts)
	if err != nil {
		return Reply{}, w.ofLot(err, lot)
	}
	reply := Reply{Title: "Panel from " + boardsText(lot), Notes: []string{"Read as: " + lotText(lot, in)}}
	reply.Figures = append(panelFigures(p, in), stripFigures(p.Strips())...)
	reply.Notes = append(reply.Notes, w.sawNotes(false)...)
	reply.Notes = append(reply.Notes, w.limits(p, lot)...)
	reply.Tables = append(reply.Tables, w.stripTable(p))
	if err := w.weigh(&reply, p); err != nil {
		return Reply{}, err
	}
	w.glueUp(&reply, p)
	w.twoCautions(&reply)
	reply.Picture = w.drawPanel(p).again(req.Path, req.Options)
	return reply, nil
}

// ofLot names the line of a lot in which a cut leaves nothing.
func (w workshop) ofLot(err error, lot measure.Lot) error {
	line := ""
	if e, ok := asCut(err); ok && len(lot) > 1 {
		line = fmt.Sprintf(" of line %d", e.Line+1)
	}
	return w.mistake(err, line)
}

func panelFigures(p lumber.Panel, in *reading) []Figure {
	return []Figure{
		lengthFigure("panel_length", "Length", p.Size.Length, in),
		lengthFigure("panel_width", "Width", p.Size.Width, in),
		lengthFigure("panel_thickness", "Thickness", p.Size.Thickness, in),
	}
}

// stripFigures are a number of strips and the joints between them.
func stripFigures(strips int) []Figure {
	return []Figure{
		{Key: "strips", Label: "Strips", Value: fmt.Sprint(strips), Unit: "strips", Text: fmt.Sprint(strips)},
		{Key: "joints", Label: "Joints", Value: fmt.Sprint(strips - 1), Unit: "joints", Text: fmt.Sprint(strips - 1)},
	}
}

// limits name the boards that set the panel's thickness and length, and say where
// the inches are not exact.
func (w workshop) limits(p lumber.Panel, lot measure.Lot) []string {
	var notes []string
	if k := p.Thinnest; k >= 0 {
		strips, sets, them := w.ofRun(p, k)
		notes = append(notes, strips+", "+shortLength(p.Runs[k].Strip.Thickness, w.in)+" thick as glued, "+sets+" the thickness; thicker ones are planed down to "+them+".")
	}
	if k := p.Shortest; k >= 0 {
		strips, sets, them := w.ofRun(p, k)
		note := strips + ", " + shortLength(p.Runs[k].Strip.Length, w.in) + " long, " + sets + " the length; what others have over is cut off."
		if longer, ok := w.without(lot, p.Runs[k].Strip.Length); ok {
			note += " Without " + them + " the panel is " + sizeText(measure.Size{longer.Size.Length, longer.Size.Width}, w.in) + "."
		}
		notes = append(notes, note)
	}
	if note := offTheTape(w.in, named{"length", p.Size.Length}, named{"width", p.Size.Width}, named{"thickness", p.Size.Thickness}); note != "" {
		notes = append(notes, note)
	}
	return notes
}

// ofRun names strips by their numbers, as the table does, with the verb and the
// pronoun that go with them.
func (w workshop) ofRun(p lumber.Panel, k int) (strips, sets, them string) {
	first := 1
	for _, run := range p.Runs[:k] {
		first += run.Count
	}
	if p.Runs[k].Count == 1 {
		return fmt.Sprintf("Strip %d", first), "sets", "it"
	}
	return "Strips " + numbers(first, p.Runs[k].Count), "set", "them"
}

// without is the panel of the boards longer than the shortest.
func (w workshop) without(lot measure.Lot, shortest measure.Length) (lumber.Panel, bool) {
	longer := slices.DeleteFunc(slices.Clone(lot), func(line measure.LotLine) bool { return line.Board.Length <= shortest })
	if len(longer) == 0 {
		return lumber.Panel{}, false
	}
	p, err := lumber.PanelOf(longer, w.cuts)
	return p, err == nil
}
