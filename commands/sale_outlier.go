package commands

import (
	"math/big"

	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

// farOff asks about values that lie far outside what is published: a slip of the
// decimal point, boards counted twice. It asks and drops nothing, and compares with
// published figures alone, so that the question tells nothing of others' sales.
func farOff(lines []pool.Line, sale store.Sale, currency price.Currency, locale string) []string {
	var notes []string
	for _, f := range pool.Figures(pool.Everything) {
		v, has := sale.Values.Of(f)
		p, ok := nearestShown(lines, sale, f)
		if !has || !ok || !far(v, p) {
			continue
		}
		side := "above"
		if v < p.Value {
			side = "below"
		}
		notes = append(notes, capital(figureLabel(f))+" "+figureText(f, v, currency, locale)+" is far "+side+" what is published ("+
			figureText(f, p.Value, currency, locale)+"). Is a figure mistyped? If it is right, confirm it: it counts like any other.")
	}
	return notes
}

// nearestShown gives the published figure that a sale's own is held against: of its
// category, or else of its region, or of everything.
func nearestShown(lines []pool.Line, sale store.Sale, f pool.Figure) (pool.Published, bool) {
	for _, cut := range []pool.Cut{pool.CategoryCut(sale.Category), pool.RegionCut(sale.Region), pool.Everything} {
		line, _ := market{lines: lines}.line(cut)
		if p, shown := line.Figure(f); shown {
			return p, true
		}
	}
	return pool.Published{}, false
}

// far says whether a value is so far from a published median that it wants asking
// about. Where a middle half [l, h] is published it is the modified z-score of
// Iglewicz and Hoaglin (1993), more than 3.5, on the scale of the logarithm, with
// the middle half for the spread: |ln v − ln m| > 3.5·ln(h/l)/1.349, and the factor
// 2.594 taken as 13/5 so that it is decided in whole numbers. It is never less than
// a factor of 2, for a middle half may be a single step. Elsewhere it is more than
// a factor of 4. The score is FROM MEMORY, see testdata/published.
func far(v pool.Micros, p pool.Published) bool {
	if p.Figure == pool.DaysToSell || p.Figure == pool.SoldToAsked || p.Value <= 0 {
		return false // a band, and a ratio that has its own bounds
	}
	if v <= 0 {
		return p.Figure != pool.RealisedHourly // one may have worked for nothing
	}
	ratio := new(big.Rat).SetFrac64(int64(v), int64(p.Value))
	if ratio.Cmp(big.NewRat(1, 1)) < 0 {
		ratio.Inv(ratio)
	}
	if p.Middle == nil || p.Middle.Low <= 0 {
		return ratio.Cmp(big.NewRat(4, 1)) > 0
	}
	spread := new(big.Rat).SetFrac64(int64(p.Middle.High), int64(p.Middle.Low))
	return ratio.Cmp(big.NewRat(2, 1)) > 0 && raised(ratio, 5).Cmp(raised(spread, 13)) > 0
}

func raised(v *big.Rat, times int) *big.Rat {
	out := big.NewRat(1, 1)
	for range times {
		out.Mul(out, v)
	}
	return out
}
