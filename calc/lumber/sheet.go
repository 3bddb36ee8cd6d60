package lumber

import (
	_ "embed"
	"sync"

	"tallystick/calc/measure"
)

// The thicknesses are those of PS 1, structural plywood; where they were read
// stands at the head of the table.
//
//go:embed plywood-thickness.csv
var plywoodThickness string

// Plywood is a performance category of structural plywood and how thick a sheet of
// it may be (PS 1, unsanded, touch-sanded and overlaid grades).
type Plywood struct {
	// Category is the thickness by name, "23/32", and Nominal the same as a length.
	Category string
	Nominal  measure.Length
	// Min and Max bound the thickness, and Label is what the standard recommends
	// to print on the sheet.
	Min, Max, Label measure.Length
}

// Plywoods are the categories of PS 1, in the standard's order.
var Plywoods = sync.OnceValue(func() []Plywood {
	var all []Plywood
	for _, row := range publishedRows(plywoodThickness) {
		all = append(all, Plywood{Category: row["category"], Nominal: inches(row["category"]),
			Min: inches(row["min_in"]), Max: inches(row["max_in"]), Label: inches(row["recommended_label_in"])})
	}
	return all
})

// PlywoodOf finds the category of a nominal thickness. Imported and hardwood
// plywood follow other standards and are not found.
func PlywoodOf(nominal measure.Length) (Plywood, bool) {
	for _, p := range Plywoods() {
		if p.Nominal == nominal {
			return p, true
		}
	}
	return Plywood{}, false
}

// SheetArea is the area of one side of every sheet of a lot.
func SheetArea(lot measure.Lot) measure.Area {
	var sum measure.Area
	for _, line := range lot {
		sum = sum.Plus(areaOf(int64(line.Count), line.Board.Width, line.Board.Length))
	}
	return sum
}

// areaOf is n rectangles. measure.AreaOf holds any two lengths, so the count goes
// to the shorter one while that fits, and is added up otherwise.
func areaOf(n int64, a, b measure.Length) measure.Area {
	short, long := min(a, b), max(a, b)
	if many, err := short.Times(n); err == nil {
		return measure.AreaOf(many, long)
	}
	half := areaOf(n/2, a, b)
	sum := half.Plus(half)
	if n%2 == 1 {
		sum = sum.Plus(measure.AreaOf(a, b))
	}
	return sum
}
