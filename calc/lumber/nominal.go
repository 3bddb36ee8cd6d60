package lumber

import (
	_ "embed"
	"strings"
	"sync"

	"tallystick/calc/measure"
)

// The sizes are those of the American Softwood Lumber Standard, PS 20; where they
// were read and what is known of the edition stands at the head of the table.
//
//go:embed ps20-sizes.csv
var ps20 string

// DressedLine is boards sold by their nominal size, and what they measure once
// they are dressed.
type DressedLine struct {
	Count int
	// Nominal is the size by name: a 2x4 is 2 in by 4 in.
	Nominal measure.Board
	// Dry is the least dressed size at a moisture content of 19 % or less, Green
	// the one above that (PS 20). The length is the nominal one.
	Dry, Green measure.Board
}

// Dress looks up every line of a lot whose sizes are nominal. The board feet it is
// sold by are CountedOf the same lot: softwood is counted on its nominal size, and
// under an inch as one inch. A size the standard does not name is an InputError.
func Dress(lot measure.Lot) ([]DressedLine, error) {
	lines := make([]DressedLine, len(lot))
	for k, line := range lot {
		dry, green, known := dressed(line.Board)
		if !known {
			return nil, notNominal(line.Board)
		}
		lines[k] = DressedLine{Count: line.Count, Nominal: line.Board, Dry: dry, Green: green}
	}
	return lines, nil
}

// DryLot is the same boards by their dressed size, dry.
func DryLot(lines []DressedLine) measure.Lot {
	lot := make(measure.Lot, len(lines))
	for k, line := range lines {
		lot[k] = measure.LotLine{Count: line.Count, Board: line.Dry}
	}
	return lot
}

// dressed looks up one board, whichever of its two sides is named first.
func dressed(b measure.Board) (dry, green measure.Board, known bool) {
	sizes := softwood()
	thin, wide := min(b.Thickness, b.Width), max(b.Thickness, b.Width)
	t, knownThickness := sizes.thickness[thin]
	w, knownWidth := sizes.width[wide]
	if thin >= leastTimber {
		t, knownThickness = sizes.timberSide(thin)
		w, knownWidth = sizes.timberSide(wide)
	}
	if !knownThickness || !knownWidth {
		return b, b, false
	}
	dry, green = measure.Board{Thickness: t.dry, Width: w.dry, Length: b.Length}, measure.Board{Thickness: t.green, Width: w.green, Length: b.Length}
	if b.Thickness > b.Width {
		dry.Thickness, dry.Width = dry.Width, dry.Thickness
		green.Thickness, green.Width = green.Width, green.Thickness
	}
	return dry, green, true
}

func notNominal(b measure.Board) *measure.InputError {
	text, _ := measure.Size{b.Thickness, b.Width}.Tape(measure.FinestTape)
	length, _ := b.Length.Tape(measure.FinestTape)
	e := &measure.InputError{Value: text, Problem: "is not a nominal size of softwood", Hint: "2x4x8'"}
	if name, is := softwood().namedFor(b); is {
		e.Problem = "is a dressed size, which is named " + name
		e.Hint = name + "x" + strings.ReplaceAll(length, " in", `"`)
	}
	return e
}

// leastTimber is the nominal side from which both sides of a board follow the rows
// for timbers.
const leastTimber = 5 * measure.Inch

type dressedSide struct{ dry, green measure.Length }

// timberRow is a row of whole inches from one nominal side to another, and what
// dressing takes off them. A row without an end has to at zero.
type timberRow struct {
	from, to measure.Length
	off      dressedSide
}

// softwoodSizes are the rows of the table by their nominal size.
type softwoodSizes struct {
	thickness, width map[measure.Length]dressedSide
	timbers          []timberRow
}

var softwood = sync.OnceValue(func() softwoodSizes {
	sizes := softwoodSizes{thickness: map[measure.Length]dressedSide{}, width: map[measure.Length]dressedSide{}}
	for _, row := range publishedRows(ps20) {
		name, dry, green := row["nominal_in"], row["min_dressed_dry_in"], row["min_dressed_green_in"]
		switch row["dimension"] {
		case "thickness":
			sizes.thickness[inches(name)] = dressedSide{inches(dry), inches(green)}
		case "width":
			sizes.width[inches(name)] = dressedSide{inches(dry), inches(green)}
		default:
			sizes.timbers = append(sizes.timbers, timbersNamed(name,
				dressedSide{inches(strings.TrimSuffix(dry, " off")), inches(strings.TrimSuffix(green, " off"))}))
		}
	}
	return sizes
})

// timbersNamed reads "5 and 6", "7-15" and "16 and over".
func timbersNamed(name string, off dressedSide) timberRow {
	low, high, _ := strings.Cut(strings.ReplaceAll(name, " and ", "-"), "-")
	row := timberRow{from: inches(low), off: off}
	if high != "over" {
		row.to = inches(high)
	}
	return row
}

func (s softwoodSizes) timberSide(nominal measure.Length) (dressedSide, bool) {
	for _, row := range s.timbers {
		if nominal%measure.Inch == 0 && nominal >= row.from && (row.to == 0 || nominal <= row.to) {
			return dressedSide{nominal - row.off.dry, nominal - row.off.green}, true
		}
	}
	return dressedSide{}, false
}

// namedFor is the nominal name of a board of dressed size, dry: 3/4 by 3-1/2 is a
// 1x4.
func (s softwoodSizes) namedFor(b measure.Board) (name string, is bool) {
	thin, wide := min(b.Thickness, b.Width), max(b.Thickness, b.Width)
	for t, side := range s.thickness {
		for w, across := range s.width {
			if side.dry == thin && across.dry == wide {
				return tapeNumber(t) + "x" + tapeNumber(w), true
			}
		}
	}
	return "", false
}

func tapeNumber(l measure.Length) string {
	text, _ := l.Tape(measure.FinestTape)
	return strings.TrimSuffix(text, " in")
}
