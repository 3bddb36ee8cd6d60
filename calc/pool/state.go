package pool

import "slices"

// A Reason says why something is not shown; it is empty when it is shown.
type Reason string

// The reasons.
const (
	// TooFewMakers: fewer makers stand behind it than the rules ask for.
	TooFewMakers Reason = "too_few_makers"
	// TooFewActive: so few makers share at all that only Everything is given.
	TooFewActive Reason = "too_few_active"
	// TooFewChanged: there are enough makers by now, but its cut has not changed
	// enough since it was last shown to be shown anew.
	TooFewChanged Reason = "too_few_changed"
	// SmallRemainder: taking the shown cuts inside it away would leave the
	// records of a few makers.
	SmallRemainder Reason = "small_remainder"
)

// A Line is what a release says aloud about one cut.
type Line struct {
	Cut Cut
	// Shown is true when at least one figure is shown.
	Shown bool
	// Reason is why the cut is not shown.
	Reason Reason
	// AsOf is the release from which the cut's newest figure comes; 0 when the
	// cut is not shown.
	AsOf Day
	// Makers is how many makers the cut had on that day.
	Makers Band
	// Figures has every figure of a shown cut, shown or not, in order; it is
	// empty when the cut is not shown.
	Figures []Published
}

// Figure gives the published state of f, and false when it is not shown.
func (l Line) Figure(f Figure) (Published, bool) {
	for _, p := range l.Figures {
		if p.Figure == f && p.Shown {
			return p, true
		}
	}
	return Published{}, false
}

// Published is what a release says aloud about one figure of one cut.
type Published struct {
	Figure Figure
	Shown  bool
	// Reason is why the figure is not shown; all below is then zero.
	Reason Reason
	// AsOf is the release from which the figure comes; it may be older than
	// its cut.
	AsOf Day
	// Makers is how many makers had a value on that day.
	Makers Band
	// Value is the rounded median; for DaysToSell it is the least day of its
	// band, see Days.
	Value Micros
	// Middle is the middle half, nil where it is not given.
	Middle *Middle
}

// Days gives the band of a DaysToSell figure.
func (p Published) Days() DaysBand { return DaysBandOf(p.Value) }

// Middle is the middle half of the makers' values, rounded outwards.
type Middle struct {
	Low, High Micros
	// AsOf is the release from which it comes; it may be older than its figure.
	AsOf Day
}

// A State is a line and what has to be remembered, and never told, to make the
// next one.
type State struct {
	Line
	// Shows has what was last shown of each series, also when it is not shown
	// at present, in order of Series.
	Shows []Show
}

// A Series is one number that follows itself from release to release: the
// median of a figure, its middle half, or (never told) the cut as a whole.
type Series string

// whole is the series of a cut as a whole.
const whole Series = "whole"

func medianOf(f Figure) Series { return Series(f.String()) }
func middleOf(f Figure) Series { return medianOf(f) + ":middle" }

// A Show is what a series last showed and whose records were in it.
type Show struct {
	Series Series
	AsOf   Day
	Makers Band
	// Low and High are the rounded ends of a middle half; a median has the same
	// in both, the whole of a cut has zero.
	Low, High Micros
	// Ledger has an entry for each maker in it, in order of Maker.
	Ledger []Entry
}

// An Entry stands for one maker's records in a show.
type Entry struct {
	Maker string
	// Records is the SHA-256 of the sorted record ids.
	Records [32]byte
}

// show gives what the series last showed, or nil.
func (s State) show(series Series) *Show {
	i := slices.IndexFunc(s.Shows, func(show Show) bool { return show.Series == series })
	if i < 0 {
		return nil
	}
	return &s.Shows[i]
}
