package commands

import (
	"context"
	"fmt"
	"math/big"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// maxLotText is the longest text the platform carries in one option.
const maxLotText = 6000

// The ways a lot is measured.
const (
	byVolume   = "volume"
	byNominal  = "nominal"
	bySurface  = "surface"
	byQuarters = "quarters"
	bySheet    = "sheet"
)

func (h house) boardfeet() Command {
	return Command{
		Path:    "boardfeet",
		Summary: "the board feet in a lot of boards, and what they cost",
		Public:  true,
		Options: []Option{
			{Name: "boards", Summary: "how many, thickness x width x length; lots joined by a semicolon", Kind: Boards, Required: true,
				MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
			{Name: "measure", Summary: "what the sizes are and how they are counted; by volume unless you say", Kind: Word, Example: byVolume,
				Choices: []Choice{
					{Value: byVolume, Label: "volume: boards as they measure"},
					{Value: byNominal, Label: "nominal: softwood by name, 2x4x8'"},
					{Value: bySurface, Label: "surface: hardwood by surface measure, rounded board by board"},
					{Value: byQuarters, Label: "quarters: rough hardwood by name, 5/4 x 6 x 8'"},
					{Value: bySheet, Label: "sheet: plywood, 3/4 x 48 x 96"},
				}},
			{Name: "price", Summary: "the price of a board foot or a cubic metre; of sheets, one sheet, ft2 or m2", Kind: PerFoot, Example: "7.50/bf"},
			{Name: "waste", Summary: "the part that ends as offcuts and shavings", Kind: Percent, Example: "20%"},
		},
		Examples: []string{
			"/boardfeet boards:6 @ 5/8 x 3-1/2 x 40 in",
			"/boardfeet boards:3 @ 1x6x8'; 2 @ 2x4x96\" price:4.20/bf waste:20%",
			"/boardfeet boards:12 @ 2x4x8' measure:nominal",
			"/boardfeet boards:4 @ 5/4 x 6-1/4 x 8' measure:quarters price:9.80/bf",
			"/boardfeet boards:2 @ 3/4 x 48 x 96 in measure:sheet price:62/sheet",
		},
		Run: h.answerBoardfeet,
	}
}

func (h house) answerBoardfeet(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	t := tally{in: in, by: byVolume, waste: in.fraction("waste")}
	if in.has("measure") {
		t.by = req.Options["measure"]
	}
	t.lot = value(in, "boards", t.parseLot)
	t.each = in.unitPrice("price", t.pricedBy())
	if in.err != nil {
		return Reply{}, in.err
	}
	t.reply = Reply{Title: "Board feet in " + boardsText(t.lot), Private: in.has("price"), Notes: []string{"Read as: " + lotText(t.lot, in)}}
	if t.by == bySheet {
		err = t.sheets()
	} else {
		err = t.boards()
	}
	return t.reply, err
}

// tally is one lot on its way through the counts.
type tally struct {
	in    *reading
	lot   measure.Lot
	by    string
	each  unitPrice
	waste price.Fraction
	// counts are the lot by each count that differs. The first is what waste is
	// reckoned on.
	counts []count
	reply  Reply
}

// count is a lot by one way of counting.
type count struct {
	// key ends the figure's key: "_nominal".
	key, label string
	feet       lumber.BoardFeet
	// unsold is set on a count that nobody pays by, ofTrade on one that a price of a
	// cubic metre does not go by.
	unsold, ofTrade bool
}

// usualSheet is what sheets are paid by unless the price says otherwise.
const usualSheet = "sheet"

// pricedBy are the units the lot may be paid by, first the one of a bare price.
func (t *tally) pricedBy() []priceUnit {
	if t.by == bySheet {
		return []priceUnit{perSheet, perSquareFoot, perSquareMetre}
	}
	return t.in.solidWood()
}

// parseLot reads the boards.
func (t *tally) parseLot(text string) (measure.Lot, error) {
	if t.by == byNominal || t.by == byQuarters {
		return parseNamed(text)
	}
	return measure.ParseLot(text, t.in.bare)
}

// Beyond these a board is not what a yard sells, and most likely millimetres that
// were read as inches.
const (
	longNamed = 60 * measure.Foot
	wideNamed = 40 * measure.Inch
)

// parseNamed reads boards by their names: a 2x4 and 5/4 are in inches for everybody.
func parseNamed(text string) (measure.Lot, error) {
	lot, err := measure.ParseNamedLot(text)
	if err != nil {
		return nil, err
	}
	for _, line := range lot {
		b := line.Board
		if b.Length > longNamed || max(b.Thickness, b.Width) > wideNamed {
			size, _ := measure.Size{b.Thickness, b.Width, b.Length}.Tape(measure.FinestTape)
			return nil, &measure.InputError{Value: text, Hint: "2x4x8' or 2 in x 4 in x 2400 mm",
				Problem: "is " + size + " as I read it; lumber is named in inches, so mark what is not"}
		}
	}
	return lot, nil
}

// boards counts the lot in every way that matters for how it is measured.
func (t *tally) boards() error {
	volume := lumber.VolumeOf(t.lot)
	switch t.by {
	case byNominal:
		if err := t.nominal(); err != nil {
			return err
		}
	case bySurface:
		if err := t.surface(volume); err != nil {
			return err
		}
	case byQuarters:
		if err := t.quarters(); err != nil {
			return err
		}
	default:
		t.counts = []count{{label: "by volume", feet: volume}}
		t.thin(volume)
	}
	for _, c := range t.counts {
		t.reply.Figures = append(t.reply.Figures, feetFigure("board_feet"+c.key, capital(c.label), c.feet))
	}
	if t.in.has("waste") {
		if err := t.allowance(); err != nil {
			return err
		}
	}
	if t.in.has("price") {
		return t.costs()
	}
	return nil
}

// thin adds the count that takes stock under an inch as an inch, where it differs.
func (t *tally) thin(volume lumber.BoardFeet) {
	counted := lumber.CountedOf(t.lot)
	if counted.Equal(volume) {
		return
	}
	t.counts = append(t.counts, count{key: "_counted", label: "counted as one inch thick", feet: counted, ofTrade: true})
	t.reply.Notes = append(t.reply.Notes,
		"Stock under an inch is counted as a full inch when lumber is sold by the board foot (trade practice); by volume is the wood you hold.")
}

func (t *tally) allowance() error {
	waste, err := measure.ParsePercent(t.in.req.Options["waste"])
	if err != nil {
		return err
	}
	first := t.counts[0]
	toBuy, err := first.feet.ToBuy(waste)
	if err != nil {
		return err
	}
	usable, err := first.feet.Usable(waste)
	if err != nil {
		return err
	}
	t.reply.Figures = append(t.reply.Figures,
		feetFigure("board_feet_to_buy", "To buy, if these are the finished parts", toBuy),
		feetFigure("board_feet_usable", "Usable, if these are the boards you have", usable))
	note := "To buy is net / (1 − waste) at " + t.waste.Percent() + " % waste: more than the percentage added on top."
	if first.key != "" {
		note += " It is counted " + first.label + "."
	}
	t.reply.Notes = append(t.reply.Notes, note)
	return nil
}

// costs adds what the lot costs by each count, and with waste what a unit that ends
// in the piece costs.
func (t *tally) costs() error {
	for _, c := range t.counts {
		if c.unsold || c.ofTrade && t.each.cubic() {
			continue
		}
		if err := t.cost("cost"+c.key, "Cost "+c.label, c.feet); err != nil {
			return err
		}
	}
	if t.in.has("waste") {
		waste, err := measure.ParsePercent(t.in.req.Options["waste"])
		if err != nil {
			return err
		}
		toBuy, err := t.counts[0].feet.ToBuy(waste)
		if err != nil {
			return err
		}
		if err := t.cost("cost_to_buy", "Cost of what to buy", toBuy); err != nil {
			return err
		}
		if err := t.perUsable(); err != nil {
			return err
		}
	}
	t.priceNote()
	return nil
}

func (t *tally) perUsable() error {
	usable, err := price.PerUsable(t.each.Money, t.waste)
	if err != nil {
		return err
	}
	what := t.each.unit
	if what == usualSheet {
		what = "sheet's worth"
	}
	t.reply.Figures = append(t.reply.Figures,
		moneyFigure("cost_per_usable", "Cost of a "+what+" that ends in the piece", usable, t.in.req))
	return nil
}

func (t *tally) priceNote() {
	t.reply.Notes = append(t.reply.Notes, then("At "+t.each.text(t.in)+".", t.each.taken())+" Costs are rounded to the nearest "+coin(t.in.currency, t.in.req.Locale)+".")
}

func (t *tally) cost(key, label string, feet lumber.BoardFeet) error {
	return t.costOf(key, label, t.each.quantity(feet))
}

func (t *tally) costOf(key, label string, quantity *big.Rat) error {
	cost, err := price.CostOf(quantity, t.each.Money)
	if err != nil {
		return t.of("price", err)
	}
	t.reply.Figures = append(t.reply.Figures, moneyFigure(key, label, cost, t.in.req))
	return nil
}

// feetFigure is a quantity of timber in board feet and cubic metres.
func feetFigure(key, label string, bf lumber.BoardFeet) Figure {
	v := bf.Round(2)
	return Figure{Key: key, Label: label, Value: v, Unit: "bf", Text: v + " board feet (" + measure.Decimal(bf.CubicMetres(), 4) + " m³)"}
}

func boardsText(lot measure.Lot) string {
	if n := lot.Boards(); n != 1 {
		return strconv.Itoa(n) + " boards"
	}
	return "one board"
}

// lotText repeats the first lines of a lot as they were understood, in both
// systems, the one the member uses first.
func lotText(lot measure.Lot, in *reading) string {
	const shown = 3
	var text string
	for i, line := range lot {
		if i == shown {
			more := len(lot) - shown
			if more == 1 {
				return text + "; and one more line."
			}
			return text + fmt.Sprintf("; and %d more lines.", more)
		}
		if i > 0 {
			text += "; "
		}
		b := line.Board
		size := measure.Size{b.Thickness, b.Width, b.Length}
		tape, exact := size.Tape(in.tape)
		if !exact {
			tape = "about " + tape
		}
		first, second := tape, size.Metric()
		if in.bare == measure.Millimetre {
			first, second = second, first
		}
		text += fmt.Sprintf("%d @ %s (%s)", line.Count, first, second)
	}
	return text + "."
}
