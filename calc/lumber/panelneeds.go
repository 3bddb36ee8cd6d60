package lumber

import (
	"math/big"

	"tallystick/calc/measure"
)

// Needs are the boards of one size that a panel wants.
type Needs struct {
	// Strip is one strip ready for the glue, cut to StripLength.
	Strip measure.Board
	// Strips is how many lie side by side, and Last the width of the last one once
	// the panel is ripped to size.
	Strips int
	Last   measure.Length
	// Lengths is how many strips' lengths one board holds, and PerBoard how many
	// strips it gives.
	Lengths, PerBoard int
	// Boards is how many boards that takes, with none spoilt.
	Boards int
	// Surplus is how much thicker the planed strips are than the panel.
	Surplus measure.Length
	// Panel is the panel that is glued from them, of the size asked for. Its stock
	// is the boards.
	Panel Panel
}

// TooSmall names the measure of a board that a panel cannot be cut from.
type TooSmall struct {
	// Measure is "thickness", "length", or "width" where strips lie on edge.
	Measure string
	// Has is what the board has, Wants what the panel needs of it before the cuts.
	Has, Wants measure.Length
}

// Error says what is missing.
func (e *TooSmall) Error() string {
	return e.Measure + " of " + e.Has.String() + " where " + e.Wants.String() + " is needed"
}

// Unwrap gives the same as a mistake of the asker's.
func (e *TooSmall) Unwrap() error {
	return &measure.InputError{Value: e.Has.Metric(), Problem: "is less than the " + e.Wants.Metric() + " of " + e.Measure + " the panel needs", Hint: e.Wants.Metric()}
}

// BoardsFor is what a panel of the given size needs of boards of the given size. The
// boards are cut to length, then ripped or resawn, jointed and planed. Boards too
// thin or too short are a TooSmall, cuts that leave nothing a CutError, and more than
// 10,000 strips an InputError.
func BoardsFor(panel, board measure.Board, cuts Cuts) (Needs, error) {
	if min(panel.Thickness, panel.Width, panel.Length) <= 0 {
		return Needs{}, &measure.InputError{Value: panel.Length.Metric(), Problem: "is no panel", Hint: "39 x 23 x 3/4 in"}
	}
	strip, e := cuts.strip(0, board)
	if e != nil {
		return Needs{}, e
	}
	thickness := strip.Thickness - 2*cuts.Planing
	if thickness < panel.Thickness {
		return Needs{}, cuts.tooThin(panel.Thickness, board)
	}
	length, err := panel.Length.Plus(2 * cuts.EndTrim)
	if err != nil {
		return Needs{}, err
	}
	if length > board.Length {
		return Needs{}, &TooSmall{Measure: "length", Has: board.Length, Wants: length}
	}
	strip.Length = length
	n := Needs{Strip: strip, Surplus: thickness - panel.Thickness}
	across := int64(panel.Width / strip.Width)
	n.Last = strip.Width
	if rest := panel.Width % strip.Width; rest > 0 {
		n.Last = rest
		across++
	}
	if across > measure.MaxLotCount {
		return Needs{}, &measure.InputError{Value: panel.Width.Metric(), Problem: "is more than 10,000 strips wide", Hint: "39 x 23 x 3/4 in"}
	}
	n.Strips = int(across)
	// The last length needs no cut behind it.
	lengths := int64(board.Length / length)
	if step, err := length.Plus(cuts.Kerf); err == nil {
		lengths = int64((board.Length-length)/step) + 1
	}
	n.Lengths = int(min(lengths, measure.MaxLotCount))
	n.PerBoard = n.Lengths * cuts.pieces()
	n.Boards = (n.Strips + n.PerBoard - 1) / n.PerBoard
	n.Panel = Panel{Size: panel, Thinnest: -1, Shortest: -1,
		Stock:    measure.VolumeOf(n.Boards, board.Thickness, board.Width, board.Length),
		Finished: measure.VolumeOf(1, panel.Thickness, panel.Width, panel.Length)}
	run := StripRun{Count: n.Strips, Strip: strip}
	n.Panel.glue(run)
	n.Panel.Runs = []StripRun{run}
	return n, nil
}

// tooThin says how much board the panel's thickness takes: the other way round
// through strip.
func (c Cuts) tooThin(panel measure.Length, board measure.Board) error {
	e, ways := &TooSmall{Measure: "thickness", Has: board.Thickness}, int64(c.resaw())
	if c.OnEdge {
		e.Measure, e.Has, ways = "width", board.Width, int64(c.rip())
	}
	each, err := panel.Plus(2 * c.Planing)
	if err != nil {
		return err
	}
	wood, err := each.Times(ways)
	if err != nil {
		return err
	}
	dust, err := c.Kerf.Times(ways - 1)
	if err != nil {
		return err
	}
	if e.Wants, err = wood.Plus(dust); err != nil {
		return err
	}
	return e
}

// BoardsToBuy is how many whole boards to buy so that so many are left when the given
// share is wasted.
//
//	boards = ⌈needed / (1 − waste)⌉
//
// Waste of 100 % or more is an InputError.
func BoardsToBuy(needed int, waste measure.Percent) (int, error) {
	kept, err := kept(waste)
	if err != nil {
		return 0, err
	}
	boards := kept.Quo(new(big.Rat).SetInt64(int64(needed)), kept)
	whole, rest := new(big.Int).QuoRem(boards.Num(), boards.Denom(), new(big.Int))
	if rest.Sign() > 0 {
		whole.Add(whole, big.NewInt(1))
	}
	if !whole.IsInt64() || whole.Int64() > MaxBoards {
		return 0, &measure.InputError{Value: waste.String(), Problem: "leaves so little that I cannot count the boards to buy", Hint: "25%"}
	}
	return int(whole.Int64()), nil
}

// MaxBoards is how many boards are bought for one panel at most.
const MaxBoards = 1_000_000
