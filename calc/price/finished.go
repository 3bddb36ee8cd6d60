package price

import "tallystick/calc/measure"

// Finished is what is known of a piece that was sold: the facts that a maker may
// choose to share of it. It holds no name, no words and no buyer.
type Finished struct {
	Category string
	// Sold is the price, Asked the first asking price; nothing where none was asked.
	Sold, Asked Money
	// Job is the cost, the fee and the maker's own hours.
	Job Job
	// Day is the day of the sale. Days is how many lie between the first offering
	// and the sale, -1 where it was never offered.
	Day, Days int
	// Millionths of a board foot in it, 0 where not told.
	Millionths int64
	// Size as planned, nil where not told.
	Size measure.Size
}

// Finished gives the facts of a sold piece, and false for any other.
func (s Sheet) Finished() (Finished, bool) {
	if s.Sale == nil {
		return Finished{}, false
	}
	f := Finished{
		Category: s.Facts[FactCategory], Sold: s.Money(s.Sale.Amount), Asked: s.Money(s.FirstAsk),
		Job: s.Job(), Day: s.Sale.Day, Days: -1, Millionths: s.Millionths, Size: s.Facts.Size(),
	}
	if days, known := s.DaysToSell(); known {
		f.Days = days
	}
	return f, true
}
