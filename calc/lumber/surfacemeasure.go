package lumber

import (
	"math"
	"math/bits"

	"tallystick/calc/measure"
)

// SurfaceMeasure is a lot as hardwood is tallied.
type SurfaceMeasure struct {
	// SquareFeet is the sum of the boards' surface measures.
	SquareFeet int64
	// BoardFeet is the sum of each surface measure times the thickness in inches,
	// counted as at least one.
	BoardFeet BoardFeet
}

// SurfaceMeasureOf is the lot by surface measure, board by board.
//
//	SM = W·L/12 rounded to a whole square foot, with W in inches and L in feet
//	bf = Σ n·SM·max(T, 1 in)
//
// The rule is the National Hardwood Lumber Association's, as the American Hardwood
// Export Council prints it (americanhardwood.org, "Measurement"). An exact half is
// rounded to the even foot, where a tallyman goes up and down in turn. Width and
// length are taken as given; whoever tallies whole inches and feet gives those. A
// board or a sum too large to count is an InputError.
func SurfaceMeasureOf(lot measure.Lot) (SurfaceMeasure, error) {
	var sum SurfaceMeasure
	var volume measure.Volume
	for _, line := range lot {
		b := line.Board
		feet, fits := squareFeet(b.Width, b.Length)
		hi, boards := bits.Mul64(feet, uint64(max(line.Count, 0)))
		if !fits || hi > 0 || boards > uint64(math.MaxInt64-sum.SquareFeet) {
			return SurfaceMeasure{}, tooLarge(b)
		}
		sum.SquareFeet += int64(boards)
		// So many square feet are a strip one foot wide and so many feet long.
		strip, err := measure.Foot.Times(int64(feet))
		if err != nil {
			return SurfaceMeasure{}, tooLarge(b)
		}
		volume = volume.Plus(measure.VolumeOf(line.Count, countedThickness(b), strip, measure.Foot))
	}
	sum.BoardFeet = FromVolume(volume)
	return sum, nil
}

// squareFeet is width times length in whole square feet, half to even.
func squareFeet(width, length measure.Length) (feet uint64, fits bool) {
	const squareFoot = uint64(measure.Foot * measure.Foot)
	hi, lo := bits.Mul64(uint64(width.Abs()), uint64(length.Abs()))
	if hi >= squareFoot {
		return 0, false
	}
	feet, rest := bits.Div64(hi, lo, squareFoot)
	if 2*rest > squareFoot || 2*rest == squareFoot && feet&1 == 1 {
		feet++
	}
	return feet, feet <= math.MaxInt64
}

func tooLarge(b measure.Board) *measure.InputError {
	return &measure.InputError{
		Value:   b.Width.Metric() + " x " + b.Length.Metric(),
		Problem: "is more surface than I can count",
		Hint:    "6 @ 1x4x8'",
	}
}

// ExportTally is the lot as hardwood is tallied for export: every width to the
// nearest whole inch, exact halves up and down in turn beginning with up, and every
// length down to the whole foot (americanhardwood.org, "Measurement"). Boards of one
// line whose width is at the half are parted into two lines. A board that is nothing
// by that count is an InputError.
func ExportTally(lot measure.Lot) (measure.Lot, error) {
	tally := make(measure.Lot, 0, len(lot))
	up := 1 // how many of the next two halves go up first
	for _, line := range lot {
		b := line.Board
		narrow := b.Width - b.Width%measure.Inch
		wider := 0 // boards of the line that go up
		switch rest := 2 * (b.Width - narrow); {
		case rest > measure.Inch:
			wider = line.Count
		case rest == measure.Inch:
			wider = (line.Count + up) / 2
			up = (up + line.Count) % 2
		}
		b.Length -= b.Length % measure.Foot
		for _, part := range []measure.LotLine{
			{Count: wider, Board: measure.Board{Thickness: b.Thickness, Width: narrow + measure.Inch, Length: b.Length}},
			{Count: line.Count - wider, Board: measure.Board{Thickness: b.Thickness, Width: narrow, Length: b.Length}},
		} {
			if part.Count == 0 {
				continue
			}
			if part.Board.Width == 0 || part.Board.Length == 0 {
				return nil, &measure.InputError{Value: line.Board.Width.Metric() + " x " + line.Board.Length.Metric(),
					Problem: "is nothing in whole inches and feet", Hint: "6 @ 1x4x8'"}
			}
			tally = append(tally, part)
		}
	}
	return tally, nil
}
