package commands

import (
	"context"
	"errors"
	"fmt"
	"math/big"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) panelNeeds() Command {
	options := []Option{
		{Name: "size", Summary: "the finished panel: length x width x thickness", Kind: Size, Required: true, Example: "39 x 23 x 3/4 in"},
		{Name: "board", Summary: "a board you can get: thickness x width x length", Kind: Boards, Required: true, Example: "1 x 6 x 96 in"},
	}
	options = append(options, cutOptions()...)
	options = append(options,
		Option{Name: "measure", Summary: "how the board's size is meant: as measured, or its name in a lumber yard", Kind: Word, Example: byVolume,
			Choices: []Choice{{Value: byVolume, Label: "as measured"}, {Value: byNominal, Label: "nominal: a 2x4 that is dressed to 1-1/2 x 3-1/2"}}},
		Option{Name: "waste", Summary: "the part of the boards that will not do", Kind: Percent, Example: "15%"},
		Option{Name: "price", Summary: "the price of a board foot, or of a cubic metre where bare numbers are metric", Kind: PerFoot, Example: "7.50/bf"},
		Option{Name: "price-each", Summary: "the price of one such board", Kind: Money, Example: "12.40"})
	return Command{
		Path:    "panel needs",
		Summary: "the boards to buy for a panel of a size",
		Public:  true,
		Options: options,
		Examples: []string{
			"/panel needs size:39 x 23 x 3/4 in board:1 x 6 x 96 in jointing:1/16 in planing:1/16 in end-trim:1/2 in waste:15%",
			"/panel needs size:60 x 24 x 1-1/2 in board:2x4x96 in measure:nominal lay:on-edge rip:2 price-each:4.80",
		},
		Run: h.answerPanelNeeds,
	}
}

// wanted is a panel somebody wants to make, and the board they can get for it.
type wanted struct {
	workshop
	panel measure.Board
	// sold is the board as it is counted, board as it is measured.
	sold, board measure.Board
	needs       lumber.Needs
	toBuy       int
}

func (h house) answerPanelNeeds(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	w := wanted{panel: value(in, "size", func(text string) (measure.Board, error) { return panelSize(text, in.bare) })}
	w.sold = value(in, "board", func(text string) (measure.Board, error) { return oneBoard(text, in) })
	w.workshop = readWorkshop(in)
	if in.err != nil {
		return Reply{}, in.err
	}
	w.board = w.sold
	if w.nominal() {
		if w.board, err = dressedDry(w.sold); err != nil {
			return Reply{}, w.mistaken("board", err)
		}
	}
	if w.needs, err = lumber.BoardsFor(w.panel, w.board, w.cuts); err != nil {
		return Reply{}, w.ofBoard(err)
	}
	return w.answer()
}

func (w *wanted) nominal() bool { return w.in.req.Options["measure"] == byNominal }

// panelSize reads length, width and thickness.
func panelSize(text string, bare measure.Length) (measure.Board, error) {
	size, err := measure.ParseSize(text, bare)
	switch {
	case err != nil:
		return measure.Board{}, err
	case len(size) < 3:
		return measure.Board{}, &measure.InputError{Value: text, Problem: "lacks the thickness"}
	}
	return measure.Board{Length: size[0], Width: size[1], Thickness: size[2]}, nil
}

// oneBoard reads one board without a count.
func oneBoard(text string, in *reading) (measure.Board, error) {
	parse := func(text string) (measure.Lot, error) { return measure.ParseLot(text, in.bare) }
	if in.req.Options["measure"] == byNominal {
		parse = parseNamed
	}
	lot, err := parse(text)
	switch {
	case err != nil:
		return measure.Board{}, err
	case lot.Boards() > 1:
		return measure.Board{}, &measure.InputError{Value: text, Problem: "is several boards; I count how many you need of one", Hint: "1 x 6 x 96 in"}
	}
	return lot[0].Board, nil
}

// dressedDry is what a board named so measures once dressed, dry.
func dressedDry(named measure.Board) (measure.Board, error) {
	lines, err := lumber.Dress(measure.Lot{{Count: 1, Board: named}})
	if err != nil {
		return measure.Board{}, err
	}
	return lines[0].Dry, nil
}

func (w *wanted) mistaken(name string, err error) error {
	option, _ := w.in.req.command.Option(name)
	return mistaken(option, err)
}

// ofBoard puts the option's name to what is wrong with the board or a cut.
func (w *wanted) ofBoard(err error) error {
	e, small := errors.AsType[*lumber.TooSmall](err)
	if !small {
		if _, cut := asCut(err); cut {
			return w.mistake(err, "")
		}
		return w.mistaken("size", err)
	}
	m := &Mistake{Option: "board", Given: measure.Quote(w.in.req.Options["board"])}
	has, wants := shortLength(e.Has, w.in), shortLength(e.Wants, w.in)
	better := w.sold
	switch e.Measure {
	case "length":
		better.Length = e.Wants
		m.Problem = "is " + has + " long, and the panel takes " + wants + " with what its ends lose"
	case "width":
		better.Width = e.Wants
		m.Problem = "is " + has + " wide, and strips on edge take " + wants + " for this thickness"
	default:
		better.Thickness = e.Wants
		m.Problem = "is " + has + " thick, and the panel takes " + wants + " with what saw and plane take"
	}
	m.Try = plainSides(better, w.in)
	if w.nominal() {
		m.Try = w.largerName(e)
	}
	return m
}

// largerName is the next board by name that measures enough once it is dressed.
func (w *wanted) largerName(e *lumber.TooSmall) string {
	const step, most = measure.Inch / 4, 16 * measure.Inch
	for named := w.sold; max(named.Thickness, named.Width) <= most; {
		dry, err := dressedDry(named)
		if err == nil && (e.Measure == "thickness" && dry.Thickness >= e.Wants || e.Measure == "width" && dry.Width >= e.Wants) {
			return section(named) + " x " + tapeNumber(named.Length) + " in"
		}
		switch e.Measure {
		case "thickness":
			named.Thickness += step
		case "width":
			named.Width += step
		default:
			return section(named) + " x " + tapeNumber(upTo(e.Wants, measure.Inch)) + " in"
		}
	}
	return "a thinner panel"
}

// plainSides writes a board as it may be typed, rounded up to the tape's marks or to
// millimetres.
func plainSides(b measure.Board, in *reading) string {
	step, unit := measure.Inch/measure.Length(in.tape), " in"
	if in.bare == measure.Millimetre {
		step, unit = measure.Millimetre, " mm"
	}
	sides := make([]string, 0, 3)
	for _, l := range []measure.Length{b.Thickness, b.Width, b.Length} {
		sides = append(sides, bareLength(upTo(l, step), in))
	}
	return strings.Join(sides, " x ") + unit
}

// upTo rounds a length up to a multiple of step.
func upTo(l, step measure.Length) measure.Length {
	if over := l % step; over > 0 {
		l += step - over
	}
	return l
}

func (w *wanted) answer() (Reply, error) {
	in, n := w.in, w.needs
	reply := Reply{Title: "Boards for a panel " + sizeText(measure.Size{w.panel.Length, w.panel.Width, w.panel.Thickness}, in),
		Private: in.has("price") || in.has("price-each")}
	reply.Notes = append(reply.Notes, w.readAs())
	reply.Figures = append(reply.Figures,
		Figure{Key: "boards", Label: "Boards", Value: fmt.Sprint(n.Boards), Unit: "boards", Text: fmt.Sprint(n.Boards)})
	w.toBuy = n.Boards
	if in.has("waste") {
		option, _ := in.req.command.Option("waste")
		waste, err := measure.ParsePercent(in.req.Options["waste"])
		if err != nil {
			return Reply{}, mistaken(option, err)
		}
		if w.toBuy, err = lumber.BoardsToBuy(n.Boards, waste); err != nil {
			return Reply{}, mistaken(option, err)
		}
		reply.Figures = append(reply.Figures,
			Figure{Key: "boards_to_buy", Label: "Boards to buy with waste", Value: fmt.Sprint(w.toBuy), Unit: "boards", Text: fmt.Sprint(w.toBuy)})
		reply.Notes = append(reply.Notes, "To buy is boards / (1 − waste), rounded up to whole boards.")
	} else {
		reply.Notes = append(reply.Notes, "No waste is counted: say waste:15% for surfaced boards, more for rough or reclaimed ones (common practice, from memory).")
	}
	if err := w.costs(&reply); err != nil {
		return Reply{}, err
	}
	reply.Figures = append(append(reply.Figures, stripFigures(n.Strips)...), lengthFigure("cut_length", "Cut them to", n.Strip.Length, in))
	reply.Notes = append(reply.Notes, w.cutting()...)
	reply.Notes = append(reply.Notes, w.sawNotes(n.Lengths > 1)...)
	reply.Tables = append(reply.Tables, w.stripTable(n.Panel))
	if err := w.weigh(&reply, n.Panel); err != nil {
		return Reply{}, err
	}
	w.glueUp(&reply, n.Panel)
	w.twoCautions(&reply)
	reply.Picture = w.drawPanel(n.Panel).again(in.req.Path, in.req.Options)
	return reply, nil
}

// readAs repeats the board as it was understood.
func (w *wanted) readAs() string {
	b := w.board
	text := sizeText(measure.Size{b.Thickness, b.Width, b.Length}, w.in)
	if w.nominal() {
		return "Read as: boards named " + sizeText(measure.Size{w.sold.Thickness, w.sold.Width, w.sold.Length}, w.in) +
			", which are dressed to at least " + text + " (PS 20, dry)."
	}
	return "Read as: boards of " + text + "."
}

// cutting says how a board is cut and what is over.
func (w *wanted) cutting() []string {
	n := w.needs
	wide := shortLength(n.Strip.Width, w.in)
	notes := []string{"One board gives one strip, " + wide + " wide once jointed."}
	if n.PerBoard > 1 {
		notes[0] = fmt.Sprintf("One board gives %d strips, each %s wide once jointed.", n.PerBoard, wide)
	}
	if n.Last < n.Strip.Width {
		note := "Rip the panel to width: the last strip ends " + shortLength(n.Last, w.in) + " wide."
		if less := n.Strip.Width * measure.Length(n.Strips-1); n.Strips > 1 && 2*n.Last < n.Strip.Width {
			note += fmt.Sprintf(" One strip fewer comes to %s.", shortLength(less, w.in))
		}
		notes = append(notes, note)
	}
	if n.Surplus > 0 {
		notes = append(notes, "The strips are "+shortLength(n.Surplus, w.in)+" thicker than the panel; that is planed off too.")
	}
	if spare := n.Boards*n.PerBoard - n.Strips; spare > 0 {
		word := "strips are"
		if spare == 1 {
			word = "strip is"
		}
		notes = append(notes, fmt.Sprintf("%d %s over: pick the best.", spare, word))
	}
	return notes
}

// costs adds the board feet of what is bought, and what it costs by each count.
func (w *wanted) costs(reply *Reply) error {
	in := w.in
	wood, each := in.woodPrice("price"), in.money("price-each")
	if in.err != nil {
		return in.err
	}
	lot := measure.Lot{{Count: w.toBuy, Board: w.sold}}
	volume, counted := lumber.VolumeOf(lot), lumber.CountedOf(lot)
	counts := []count{{label: "by volume", feet: volume}, {key: "_counted", label: "counted as one inch thick", feet: counted, ofTrade: true}}
	switch {
	case w.nominal():
		counts = []count{{key: "_nominal", label: "on the nominal size", feet: counted}}
	case volume.Rat().Cmp(counted.Rat()) == 0:
		counts = counts[:1]
	}
	for _, c := range counts {
		reply.Figures = append(reply.Figures, feetFigure("board_feet_to_buy"+c.key, "To buy, "+c.label, c.feet))
	}
	if in.has("price") {
		for _, c := range counts {
			if c.ofTrade && wood.cubic() {
				continue
			}
			cost, err := price.CostOf(wood.quantity(c.feet), wood.Money)
			if err != nil {
				return err
			}
			reply.Figures = append(reply.Figures, moneyFigure("cost"+c.key, "Cost "+c.label, cost, in.req))
		}
		reply.Notes = append(reply.Notes, then("At "+wood.text(in)+", rounded to the nearest "+coin(in.currency, in.req.Locale)+".", wood.taken()))
	}
	if in.has("price-each") {
		cost, err := price.CostOf(new(big.Rat).SetInt64(int64(w.toBuy)), each)
		if err != nil {
			return err
		}
		reply.Figures = append(reply.Figures, moneyFigure("cost_boards", "Cost by the board", cost, in.req))
	}
	return nil
}
