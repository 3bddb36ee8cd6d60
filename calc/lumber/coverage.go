package lumber

import "tallystick/calc/measure"

// FilmCoverage is how far a finish goes in a wet film: one cubic metre covers 1/t square
// metres at t metres, so that one US gallon covers 1604/t square feet at t thousandths
// of an inch and one litre 1000/t square metres at t micrometres. It follows from the
// gallon of 231 cubic inches.
func FilmCoverage(wet measure.Length) Estimate { return Estimate(1 / metres(wet)) }

// DryCoverage is how far a finish goes for a film that is t thick when dry and all of
// which lands on the work.
//
//	coverage = solids / t
//
// solids is the share of the finish by volume that stays.
func DryCoverage(dry measure.Length, solids measure.Percent) Estimate {
	return Estimate(percentage(solids) / 100 / metres(dry))
}

// The usual coverage of clear finish that is wiped or brushed on smooth wood, a coat: 300
// to 600 square feet per US gallon. It is common practice; no authority was found.
var (
	UsualCoverageLow  = 300 * Estimate(SquareFootPerGal.size)
	UsualCoverageHigh = 600 * Estimate(SquareFootPerGal.size)
)

// FinishFor is the volume of finish that covers an area so many times.
func FinishFor(area Estimate, coats int, coverage Estimate) Estimate {
	return area * Estimate(coats) / coverage
}
