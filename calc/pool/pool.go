// Package pool decides what the shared log of finished sales may say aloud, and
// says it: medians of a few listed cuts, rounded, old, and never of few makers.
//
// It knows record ids, contributor tags, dates and numbers, and no people. It
// refuses to answer questions: it makes one release from all the records, and
// whoever wants to know a price reads the release. It gives no mean, no total,
// no extreme and no interval, because each of them moves with one sale.
//
// Which figures are shown is settled from ids and dates alone, before any value
// is looked at, so that neither showing a figure nor withholding it says
// anything about the values in it.
package pool

// A Figure is one quantity of a sale that a release may speak of.
type Figure int

// The figures, in the order in which a release lists them.
const (
	// PricePerBoardFoot is the price divided by the board feet in the piece.
	PricePerBoardFoot Figure = iota
	// PricePerSquareFoot is the price divided by the area of the top.
	PricePerSquareFoot
	// Price is the price of the piece.
	Price
	// RealisedHourly is what was left for each hour of the maker's own work. It
	// may be negative.
	RealisedHourly
	// SoldToAsked is the price paid as a fraction of the price first asked.
	SoldToAsked
	// DaysToSell is the number of days from asking to selling.
	DaysToSell

	figureCount
)

// A reach is where a figure is published.
type reach int

const (
	// nowhere: it is kept for its maker, and told to nobody else.
	nowhere reach = iota
	everythingOnly
	everyCut
)

// figures says of each figure how it is called, where it is published, whether
// only of many makers, and whether its middle half may be given. Each yes is one
// more look at the same sales, and the attack test decides. With the price per
// square foot or a middle half of a price published as well, an insider comes so
// near the bars that it is no longer sure that they hold; with the ratio of sold to
// asked of few makers, whose steps are as wide as a good guess, they do not.
var figures = [figureCount]struct {
	key               string
	reach             reach
	ofMany, hasMiddle bool
}{
	PricePerBoardFoot:  {"price_per_board_foot", everyCut, false, false},
	PricePerSquareFoot: {"price_per_square_foot", nowhere, false, false},
	Price:              {"price", everyCut, false, false},
	RealisedHourly:     {"realised_hourly", everythingOnly, false, true},
	SoldToAsked:        {"sold_to_asked", everythingOnly, true, true},
	DaysToSell:         {"days_to_sell", everythingOnly, false, false},
}

// String gives the figure's key, such as "price_per_board_foot".
func (f Figure) String() string {
	if f < 0 || f >= figureCount {
		return "no_figure"
	}
	return figures[f].key
}

// ParseFigure gives the figure with the key, and false when there is none.
func ParseFigure(key string) (Figure, bool) {
	for f := range figureCount {
		if figures[f].key == key {
			return f, true
		}
	}
	return 0, false
}

// Figures gives the figures that the cut may show, in order.
func Figures(cut Cut) []Figure {
	list := make([]Figure, 0, figureCount)
	for f := range figureCount {
		if r := figures[f].reach; r == everyCut || r == everythingOnly && cut == Everything {
			list = append(list, f)
		}
	}
	return list
}

// AllFigures gives the figures that a record may have, published or not, in order.
func AllFigures() []Figure {
	list := make([]Figure, figureCount)
	for f := range figureCount {
		list[f] = f
	}
	return list
}

// A Record is one sale as it was shared. It carries no name, no account and no
// day.
type Record struct {
	// ID is unique among all records that ever were, and says nothing.
	ID int64
	// Maker is the contributor tag: makers are told apart by it and not known.
	Maker string
	// Shop is the same for makers who said that they share a shop, and who then
	// count as one; empty for a maker alone.
	Shop string
	// Sold is the month of the sale.
	Sold Month
	// Category and Region are words of lists that the host keeps; an empty one
	// belongs to no cut.
	Category, Region string
	// Values are the quantities the sale has.
	Values Values
}

// presence is the set of figures a record has a value for: a fact as fixed as
// the record's id, and all that the selection may know of its values.
type presence uint8

func (p presence) has(f Figure) bool { return p&(1<<f) != 0 }

// Values are the quantities of one sale; the zero value has none of them.
type Values struct {
	has presence
	at  [figureCount]Micros
}

// With gives the values with f set to v. Days to sell are whole days times
// 1,000,000, as Whole gives them.
func (v Values) With(f Figure, value Micros) Values {
	if f >= 0 && f < figureCount {
		v.has |= 1 << f
		v.at[f] = value
	}
	return v
}

// Of gives the value of f, and false when the sale has none.
func (v Values) Of(f Figure) (Micros, bool) {
	if f < 0 || f >= figureCount || !v.has.has(f) {
		return 0, false
	}
	return v.at[f], true
}
