package lumber

import (
	_ "embed"
	"sync"

	"tallystick/calc/measure"
)

// The thicknesses are those of the NHLA's rules; where they were read, and which
// row is from memory, stands in the table.
//
//go:embed hardwood-thickness.csv
var hardwoodThickness string

// Quarter is a thickness by which hardwood is sold, and what is left of it once it
// is surfaced.
type Quarter struct {
	// Name is the thickness in quarter inches, "5/4", or empty under an inch.
	Name string
	// Rough is the thickness as sawn.
	Rough measure.Length
	// S1S is the thickness with one side surfaced, by trade custom and not a
	// standard; zero where none is known.
	S1S measure.Length
	// S2S is the standard thickness with two sides surfaced (NHLA rules).
	S2S measure.Length
	// FromMemory is true where the row was not looked up.
	FromMemory bool
}

// Quarters are the thicknesses the table knows, in its order.
var Quarters = sync.OnceValue(func() []Quarter {
	var all []Quarter
	for _, row := range publishedRows(hardwoodThickness) {
		q := Quarter{Name: row["quarters"], Rough: inches(row["rough_in"]), S2S: inches(row["s2s_in"]), FromMemory: row["status"] == "memory"}
		if s1s := row["s1s_in"]; s1s != "" {
			q.S1S = inches(s1s)
		}
		all = append(all, q)
	}
	return all
})

// QuarterOf finds a rough thickness. One the table does not have is an InputError,
// which names the thickness it is surfaced from where it is one of those.
func QuarterOf(rough measure.Length) (Quarter, error) {
	text, _ := rough.Tape(measure.FinestTape)
	e := &measure.InputError{Value: text, Problem: "is not a rough thickness of hardwood", Hint: "5/4 x 6 x 8'"}
	for _, q := range Quarters() {
		if q.Rough == rough {
			return q, nil
		}
		if q.S2S == rough && q.Name != "" {
			e.Problem, e.Hint = "is what "+q.Name+" is surfaced to on two sides, and lumber is counted rough", q.Name+" x 6 x 8'"
		}
	}
	return Quarter{}, e
}

// SurfacedLot is the same boards with two sides surfaced. Widths and lengths stay.
func SurfacedLot(lot measure.Lot) (measure.Lot, error) {
	surfaced := make(measure.Lot, len(lot))
	for k, line := range lot {
		q, err := QuarterOf(line.Board.Thickness)
		if err != nil {
			return nil, err
		}
		line.Board.Thickness = q.S2S
		surfaced[k] = line
	}
	return surfaced, nil
}
