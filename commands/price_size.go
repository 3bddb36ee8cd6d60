package commands

import (
	"math/big"
	"slices"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// sizes is as much of a piece's size as was told: square feet of top, board feet
// of wood, each exact or nil.
type sizes struct {
	size       measure.Size
	lot        measure.Lot
	area, feet *big.Rat
	volume     lumber.BoardFeet
	// note says what was assumed.
	note string
}

// sizes reads size: and boards:. A size of three sides is solid wood unless the
// boards say what is in the piece.
func (in *reading) sizes() sizes {
	s := sizes{size: in.size("size"), lot: in.lot("boards")}
	if in.err != nil {
		return s
	}
	if len(s.size) >= 2 {
		s.area = measure.AreaOf(s.size[0], s.size[1]).Rat(measure.Foot)
	}
	switch {
	case s.lot != nil:
		s.volume = lumber.VolumeOf(s.lot)
	case len(s.size) == 3:
		s.volume = lumber.FromVolume(measure.VolumeOf(1, s.size[0], s.size[1], s.size[2]))
		s.note = "With three sides I counted solid wood of that size; add boards: where the piece is framed or hollow."
	default:
		return s
	}
	s.note = then(s.note, in.smallNote(in.req.Options["size"], s.size))
	if s.feet = s.volume.Rat(); s.feet.Sign() <= 0 {
		s.feet = nil
	}
	return s
}

// smallPiece is the longest side below which a whole piece in bare millimetres may
// well have been meant in centimetres, as furniture is measured: a bench is 120 x 35
// x 45 of them (common practice, from memory).
const smallPiece = 250 * measure.Millimetre

// smallNote is a remark on the unit of a piece typed without one.
func (in *reading) smallNote(typed string, size measure.Size) string {
	if in.bare != measure.Millimetre || len(size) != 3 || slices.Max(size) >= smallPiece {
		return ""
	}
	inches, err := measure.ParseSize(typed, measure.Inch)
	sides := make([]string, len(size))
	for k, l := range size {
		if err != nil || inches[k] == l {
			return "" // it has a unit
		}
		sides[k] = l.In(measure.Millimetre, 6)
	}
	return "Read as millimetres; if it was centimetres, write " + strings.Join(sides, " x ") + " cm."
}

// text repeats the sizes as they were read.
func (s sizes) text(in *reading) string {
	text := ""
	if s.size != nil {
		tape, exact := s.size.Tape(in.tape)
		if !exact {
			tape = "about " + tape
		}
		if in.bare == measure.Millimetre {
			tape = s.size.Metric()
		}
		text = "a size of " + tape
	}
	if s.lot != nil {
		if text != "" {
			text += ", "
		}
		text += boardsText(s.lot) + " of " + s.volume.Round(2) + " board feet"
	}
	return text
}

// figures adds what the price comes to by size; members who measure in metres get
// it for those too.
func (s sizes) figures(reply *Reply, at price.Money, short string, d deal) error {
	for _, per := range []struct {
		key, label, unit string
		quantity         *big.Rat
		metric           bool
	}{
		{"price_per_board_foot", "a board foot", "/bf", s.feet, false},
		{"price_per_square_foot", "a square foot of top", "/ft2", s.area, false},
		{"price_per_square_metre", "a square metre of top", "/m2", squareMetres(s), true},
		{"price_per_cubic_metre", "a cubic metre of wood", "/m3", cubicMetres(s), true},
	} {
		if per.quantity == nil || per.quantity.Sign() <= 0 || per.metric && d.in.bare != measure.Millimetre {
			continue
		}
		each, err := price.Per(at, per.quantity)
		if err != nil {
			return err
		}
		f := moneyFigure(per.key, capital(short)+" "+per.label, each, d.in.req)
		f.Unit += per.unit
		reply.Figures = append(reply.Figures, f)
	}
	return nil
}

func squareMetres(s sizes) *big.Rat {
	if s.area == nil {
		return nil
	}
	return measure.AreaOf(s.size[0], s.size[1]).Rat(measure.Metre)
}

func cubicMetres(s sizes) *big.Rat {
	if s.feet == nil {
		return nil
	}
	return s.volume.CubicMetres()
}
