package commands

import (
	"context"
	"fmt"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// maxLotText is the longest text the platform carries in one option.
const maxLotText = 6000

func (h house) boardfeet() Command {
	return Command{
		Path:    "boardfeet",
		Summary: "the board feet in a lot of boards, and what they cost",
		Options: []Option{
			{Name: "boards", Summary: "how many, thickness x width x length; lots joined by a semicolon", Kind: Boards, Required: true,
				MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
			{Name: "price", Summary: "the price of a board foot", Kind: PerFoot, Example: "7.50"},
			{Name: "waste", Summary: "the part that ends as offcuts and shavings", Kind: Percent, Example: "20%"},
		},
		Examples: []string{
			"/boardfeet boards:6 @ 5/8 x 3-1/2 x 40 in",
			"/boardfeet boards:3 @ 1x6x8'; 2 @ 2x4x96\" price:4.20 waste:20%",
		},
		Run: h.answerBoardfeet,
	}
}

func (h house) answerBoardfeet(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	t := tally{in: in, lot: in.lot("boards"), perFoot: in.money("price"), waste: in.fraction("waste")}
	if in.err != nil {
		return Reply{}, in.err
	}
	t.volume, t.counted = lumber.VolumeOf(t.lot), lumber.CountedOf(t.lot)
	t.thin = t.volume.Rat().Cmp(t.counted.Rat()) != 0
	reply := Reply{Title: "Board feet in " + boardsText(t.lot), Private: in.has("price"), Notes: []string{"Read as: " + lotText(t.lot, in)}}
	t.feet(&reply)
	if in.has("waste") {
		if err := t.allowance(&reply); err != nil {
			return Reply{}, err
		}
	}
	if in.has("price") {
		if err := t.costs(&reply); err != nil {
			return Reply{}, err
		}
	}
	return reply, nil
}

// tally is one lot on its way through the counts.
type tally struct {
	in      *reading
	lot     measure.Lot
	perFoot price.Money
	waste   price.Fraction
	// volume and counted are the lot by each count; thin is true where they differ.
	volume, counted lumber.BoardFeet
	thin            bool
	// toBuy is what the volume comes to before waste.
	toBuy lumber.BoardFeet
}

func (t *tally) feet(reply *Reply) {
	reply.Figures = append(reply.Figures, feetFigure("board_feet", "By volume", t.volume))
	if t.thin {
		reply.Figures = append(reply.Figures, feetFigure("board_feet_counted", "Counted as one inch thick", t.counted))
		reply.Notes = append(reply.Notes,
			"Stock under an inch is counted as a full inch when lumber is sold by the board foot (trade practice); by volume is the wood you hold.")
	}
}

func (t *tally) allowance(reply *Reply) error {
	waste, err := measure.ParsePercent(t.in.req.Options["waste"])
	if err != nil {
		return err
	}
	if t.toBuy, err = t.volume.ToBuy(waste); err != nil {
		return err
	}
	usable, err := t.volume.Usable(waste)
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures,
		feetFigure("board_feet_to_buy", "To buy, if these are the finished parts", t.toBuy),
		feetFigure("board_feet_usable", "Usable, if these are the boards you have", usable))
	reply.Notes = append(reply.Notes, "To buy is net / (1 − waste) at "+t.waste.Percent()+" % waste: more than the percentage added on top.")
	return nil
}

// costs adds what the lot costs by each count, and with waste what a board foot
// that ends in the piece costs.
func (t *tally) costs(reply *Reply) error {
	var failed error
	add := func(key, label string, feet lumber.BoardFeet) {
		cost, err := price.CostOf(feet.Rat(), t.perFoot)
		if err != nil {
			failed = err
			return
		}
		reply.Figures = append(reply.Figures, moneyFigure(key, label, cost, t.in.req))
	}
	add("cost", "Cost by volume", t.volume)
	if t.thin {
		add("cost_counted", "Cost counted as one inch thick", t.counted)
	}
	if t.in.has("waste") {
		add("cost_to_buy", "Cost of what to buy", t.toBuy)
		usable, err := price.PerUsable(t.perFoot, t.waste)
		if err != nil {
			return err
		}
		reply.Figures = append(reply.Figures, moneyFigure("cost_per_usable", "Cost of a board foot that ends in the piece", usable, t.in.req))
	}
	reply.Notes = append(reply.Notes, "At "+moneyText(t.perFoot, t.in.req.Locale)+" a board foot. Costs are rounded to the nearest "+coin(t.in.currency, t.in.req.Locale)+".")
	return failed
}

func feetFigure(key, label string, bf lumber.BoardFeet) Figure {
	v := bf.Round(2)
	return Figure{Key: key, Label: label, Value: v, Unit: "bf", Text: v + " board feet"}
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
			return text + fmt.Sprintf("; and %d more lines.", len(lot)-shown)
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
