// Package lumber works out what a wood shop asks of its stock: board feet, what to
// buy and what is left of it, panels, what a log saws out to; and what the wood is
// like: its weight, how it moves and sags, the finish and resin it takes, the mark on
// a pallet.
//
// Board feet are exact until they are written. What is physical is an Estimate, in
// floating point, from published tables that keep their sources and say which figures
// are from memory. The package sets no prices, grades no boards, and engineers no
// structure.
package lumber

import (
	"math/big"

	"tallystick/calc/measure"
)

// BoardFeet is an exact quantity of timber in board feet. One board foot is 144
// cubic inches, which by 1 in = 25.4 mm is 0.002359737216 m³ exactly. Nothing is
// rounded before Round. The zero value is none.
type BoardFeet struct{ exact *big.Rat }

// cubicInches in one board foot.
const cubicInches = 144

// VolumeOf is the lot by its true volume.
//
//	bf = Σ n·T·W·L / 144, with T, W and L in inches
func VolumeOf(lot measure.Lot) BoardFeet {
	return FromVolume(lot.Volume())
}

// CountedOf is the lot as lumber is commonly tallied: by volume, but every board
// counted at least one inch thick. That stock under an inch counts as one inch is
// in the US Navy's builder training manual (tpub.com/engbas/6-3.htm) and is trade
// practice.
func CountedOf(lot measure.Lot) BoardFeet {
	var sum measure.Volume
	for _, line := range lot {
		b := line.Board
		sum = sum.Plus(measure.VolumeOf(line.Count, countedThickness(b), b.Width, b.Length))
	}
	return FromVolume(sum)
}

// countedThickness is the thickness a board is tallied and paid by.
func countedThickness(b measure.Board) measure.Length { return max(b.Thickness, measure.Inch) }

// FromVolume is a volume in board feet.
func FromVolume(v measure.Volume) BoardFeet { return BoardFeet{exact: v.In(boardFoot)} }

// FromFeet is a quantity that was told in board feet.
func FromFeet(feet *big.Rat) BoardFeet { return BoardFeet{exact: new(big.Rat).Set(feet)} }

// boardFoot is the volume of one.
var boardFoot = measure.VolumeOf(cubicInches, measure.Inch, measure.Inch, measure.Inch)

// inCubicMetres is one board foot in cubic metres.
var inCubicMetres = boardFoot.Rat(measure.Metre)

// ToBuy is the stock to start from when the given share of it is wasted.
//
//	gross = net / (1 − waste)
//
// Waste of 100 % or more is an InputError.
func (b BoardFeet) ToBuy(waste measure.Percent) (BoardFeet, error) {
	kept, err := kept(waste)
	if err != nil {
		return BoardFeet{}, err
	}
	return BoardFeet{exact: kept.Quo(b.Rat(), kept)}, nil
}

// Usable is what is left of the stock when the given share of it is wasted.
//
//	net = gross · (1 − waste)
//
// Waste of 100 % or more is an InputError.
func (b BoardFeet) Usable(waste measure.Percent) (BoardFeet, error) {
	kept, err := kept(waste)
	if err != nil {
		return BoardFeet{}, err
	}
	return BoardFeet{exact: kept.Mul(b.Rat(), kept)}, nil
}

// kept is the share that is not wasted, above zero.
func kept(waste measure.Percent) (*big.Rat, error) {
	share := big.NewRat(1, 1)
	share.Sub(share, waste.Rat())
	if share.Sign() <= 0 {
		return nil, &measure.InputError{
			Value:   waste.String(),
			Problem: "wastes all of the stock",
			Hint:    "25%",
		}
	}
	return share, nil
}

// Plus is the sum of two quantities.
func (b BoardFeet) Plus(c BoardFeet) BoardFeet {
	return BoardFeet{exact: new(big.Rat).Add(b.Rat(), c.Rat())}
}

// Equal tells whether two quantities are the same.
func (b BoardFeet) Equal(c BoardFeet) bool { return b.Rat().Cmp(c.Rat()) == 0 }

// Rat is the quantity in board feet, exactly, as a new big.Rat.
func (b BoardFeet) Rat() *big.Rat {
	if b.exact == nil {
		return new(big.Rat)
	}
	return new(big.Rat).Set(b.exact)
}

// CubicMetres is the quantity in cubic metres, exactly.
func (b BoardFeet) CubicMetres() *big.Rat {
	if b.exact == nil {
		return new(big.Rat)
	}
	return new(big.Rat).Mul(b.exact, inCubicMetres)
}

// Round is the quantity in board feet as a plain decimal with the given places,
// rounded half to even.
func (b BoardFeet) Round(places int) string {
	if b.exact == nil {
		return measure.Decimal(new(big.Rat), places)
	}
	return measure.Decimal(b.exact, places)
}

// String is the quantity rounded to two places with its unit.
func (b BoardFeet) String() string { return b.Round(2) + " bf" }
