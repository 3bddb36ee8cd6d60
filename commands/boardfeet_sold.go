package commands

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// sizesShown is how many sizes a table of a reply lists.
const sizesShown = 12

// nominal counts softwood on its nominal size and says what it is dressed to.
func (t *tally) nominal() error {
	lines, err := lumber.Dress(t.lot)
	if err != nil {
		return t.ofBoards(err)
	}
	t.counts = []count{
		{key: "_nominal", label: "on the nominal size, as it is sold", feet: lumber.CountedOf(t.lot)},
		{label: "by volume once dressed, dry", feet: lumber.VolumeOf(lumber.DryLot(lines)), unsold: true},
	}
	table := Table{Title: "Least dressed size, in", Columns: []string{"Named", "Dry", "Green"}}
	metric := Table{Title: "Least dressed size, mm", Columns: table.Columns}
	for _, line := range lines {
		row := []string{section(line.Nominal), section(line.Dry), section(line.Green)}
		if listed(table, row[0]) {
			continue
		}
		if len(table.Rows) == sizesShown {
			break
		}
		table.Rows = append(table.Rows, row)
		metric.Rows = append(metric.Rows, []string{row[0], sectionMetric(line.Dry), sectionMetric(line.Green)})
	}
	t.reply.Tables = append(t.reply.Tables, table, metric)
	t.reply.Notes = append(t.reply.Notes,
		"Softwood is counted and paid on its nominal size, under an inch as one inch (trade practice). Dressed sizes are the least of PS 20, dry at 19 % moisture or less; a board may be larger, so measure it.")
	return nil
}

// surface counts hardwood by surface measure, board by board.
func (t *tally) surface(volume lumber.BoardFeet) error {
	sm, err := lumber.SurfaceMeasureOf(t.lot)
	if err != nil {
		return t.ofBoards(err)
	}
	t.counts = []count{{key: "_surface", label: "by surface measure", feet: sm.BoardFeet}, {label: "by volume", feet: volume}}
	t.thin(volume)
	feet := strconv.FormatInt(sm.SquareFeet, 10)
	t.reply.Figures = append(t.reply.Figures, Figure{Key: "surface_measure", Label: "Surface measure", Value: feet, Unit: "ft2",
		Text: feet + " ft²"})
	note := "Surface measure is width in inches times length in feet over 12, rounded to a whole square foot for every board (NHLA), a half to the even foot; board feet are that times the thickness, at least one inch."
	tallied, err := lumber.ExportTally(t.lot)
	if err != nil {
		t.reply.Notes = append(t.reply.Notes, note)
		return nil // a board under an inch or a foot has no tally in whole ones
	}
	export, err := lumber.SurfaceMeasureOf(tallied)
	if err != nil {
		return t.ofBoards(err)
	}
	if export.BoardFeet.Rat().Cmp(sm.BoardFeet.Rat()) != 0 {
		t.counts = append(t.counts, count{key: "_export", label: "tallied in whole inches and feet", feet: export.BoardFeet})
		note += " An export tally first takes widths to the nearest inch and lengths down to the foot (AHEC)."
	}
	t.reply.Notes = append(t.reply.Notes, note)
	t.reply.Tables = append(t.reply.Tables, t.surfaceTable())
	return nil
}

func (t *tally) surfaceTable() Table {
	table := Table{Title: "Surface measure of one board, ft²", Columns: []string{"Boards", "Exact", "Counted"}}
	for k, line := range t.lot {
		if k == sizesShown {
			table.Rows = append(table.Rows, []string{fmt.Sprintf("%d more", len(t.lot)-sizesShown), "", ""})
			break
		}
		one, err := lumber.SurfaceMeasureOf(measure.Lot{{Count: 1, Board: line.Board}})
		if err != nil {
			break
		}
		exact := measure.AreaOf(line.Board.Width, line.Board.Length).Rat(measure.Foot)
		table.Rows = append(table.Rows, []string{strconv.Itoa(line.Count) + " @ " + section(line.Board), measure.Decimal(exact, 2), strconv.FormatInt(one.SquareFeet, 10)})
	}
	return table
}

// quarters counts rough hardwood and says what is left once it is surfaced.
func (t *tally) quarters() error {
	surfaced, err := lumber.SurfacedLot(t.lot)
	if err != nil {
		return t.ofBoards(err)
	}
	t.counts = []count{{key: "_quarters", label: "on the rough thickness, as it is sold", feet: lumber.CountedOf(t.lot)}}
	sm, err := lumber.SurfaceMeasureOf(t.lot)
	if err != nil {
		return t.ofBoards(err)
	}
	if sm.BoardFeet.Rat().Cmp(t.counts[0].feet.Rat()) != 0 {
		t.counts = append(t.counts, count{key: "_surface", label: "by surface measure", feet: sm.BoardFeet})
	}
	t.counts = append(t.counts, count{label: "by volume once surfaced on two sides", feet: lumber.VolumeOf(surfaced), unsold: true})
	table := Table{Title: "Thickness once surfaced, in", Columns: []string{"Rough", "One side", "Two sides"}}
	metric := Table{Title: "Thickness once surfaced, mm", Columns: table.Columns}
	var fromMemory []string
	for _, line := range t.lot {
		q, err := lumber.QuarterOf(line.Board.Thickness)
		if err != nil {
			return t.ofBoards(err)
		}
		name := q.Name
		if name == "" {
			name = tapeNumber(q.Rough)
		}
		if listed(table, name) {
			continue
		}
		oneSide, oneSideMetric := "–", "–"
		if q.S1S > 0 {
			oneSide, oneSideMetric = tapeNumber(q.S1S), millimetres(q.S1S)
		}
		table.Rows = append(table.Rows, []string{name, oneSide, tapeNumber(q.S2S)})
		metric.Rows = append(metric.Rows, []string{name, oneSideMetric, millimetres(q.S2S)})
		if q.FromMemory {
			fromMemory = append(fromMemory, name)
		}
	}
	t.reply.Tables = append(t.reply.Tables, table, metric)
	t.reply.Notes = append(t.reply.Notes,
		"Hardwood is counted and paid on its rough thickness, under an inch as one inch. Two sides is the NHLA's standard surfaced thickness; one side is trade custom.")
	if len(fromMemory) > 0 {
		t.reply.Notes = append(t.reply.Notes, "The row for "+strings.Join(fromMemory, " and ")+" is from memory, not looked up.")
	}
	return nil
}

// of puts an option's name to what was refused, and ofBoards the lot's.
func (t *tally) of(name string, err error) error {
	option, _ := t.in.req.command.Option(name)
	return mistaken(option, err)
}

func (t *tally) ofBoards(err error) error { return t.of("boards", err) }

// sheets counts plywood by area and by the sheet.
func (t *tally) sheets() error {
	for _, line := range t.lot {
		b := line.Board
		if b.Width < 6*measure.Inch && b.Length >= 4*measure.Foot && b.Width%measure.Inch == 0 {
			feet := b.Width.In(measure.Inch, 0)
			return &Mistake{Option: "boards", Given: measure.Quote(t.in.req.Options["boards"]),
				Problem: "has a sheet only " + feet + " in wide as I read it; mark both feet, or give inches",
				Try:     tapeNumber(b.Thickness) + " x " + feet + " ft x 8 ft"}
		}
	}
	sheets := t.lot.Boards()
	t.reply.Title = "Area of " + strconv.Itoa(sheets) + " sheets"
	if sheets == 1 {
		t.reply.Title = "Area of one sheet"
	}
	area := lumber.SheetArea(t.lot)
	feet, metres := area.Rat(measure.Foot), area.Rat(measure.Metre)
	t.reply.Figures = append(t.reply.Figures,
		Figure{Key: "sheets", Label: "Sheets", Value: strconv.Itoa(sheets), Unit: "sheets", Text: strconv.Itoa(sheets)},
		areaFigure("area_ft2", "Area of one side", feet, "ft2", "ft²"), areaFigure("area_m2", "The same", metres, "m2", "m²"))
	t.sheetTable()
	quantity := new(big.Rat).SetInt64(int64(sheets))
	switch t.each.unit {
	case "square foot":
		quantity = feet
	case "square metre":
		quantity = metres
	}
	if t.in.has("price") {
		if err := t.costOf("cost", "Cost", quantity); err != nil {
			return err
		}
	}
	if t.in.has("waste") {
		if err := t.sheetWaste(sheets, feet, metres); err != nil {
			return err
		}
	}
	if t.in.has("price") {
		t.priceNote()
	}
	return nil
}

// sheetWaste says how many whole sheets to buy, and what that costs.
func (t *tally) sheetWaste(sheets int, feet, metres *big.Rat) error {
	waste, err := measure.ParsePercent(t.in.req.Options["waste"])
	if err != nil {
		return err
	}
	toBuy, err := lumber.BoardsToBuy(sheets, waste)
	if err != nil {
		return t.of("waste", err)
	}
	kept := new(big.Rat).Sub(big.NewRat(1, 1), waste.Rat())
	t.reply.Figures = append(t.reply.Figures,
		Figure{Key: "sheets_to_buy", Label: "To buy, if these are the finished parts", Value: strconv.Itoa(toBuy), Unit: "sheets", Text: strconv.Itoa(toBuy) + " sheets"},
		areaFigure("area_usable_ft2", "Usable, if these are the sheets you have", new(big.Rat).Mul(feet, kept), "ft2", "ft²"),
		areaFigure("area_usable_m2", "The same", new(big.Rat).Mul(metres, kept), "m2", "m²"))
	t.reply.Notes = append(t.reply.Notes, "To buy is sheets / (1 − waste) at "+t.waste.Percent()+" % waste, rounded up to whole sheets.")
	if !t.in.has("price") {
		return nil
	}
	quantity := new(big.Rat).SetInt64(int64(toBuy))
	for unit, area := range map[string]*big.Rat{"square foot": feet, "square metre": metres} {
		if t.each.unit == unit {
			quantity.Mul(quantity, area).Quo(quantity, new(big.Rat).SetInt64(int64(sheets)))
		}
	}
	if err := t.costOf("cost_to_buy", "Cost of what to buy", quantity); err != nil {
		return err
	}
	return t.perUsable()
}

// sheetTable lists how thick a sheet of each name really is.
func (t *tally) sheetTable() {
	table := Table{Title: "Real thickness, in", Columns: []string{"Named", "From", "To", "Label"}}
	metric := Table{Title: "Real thickness, mm", Columns: table.Columns}
	var unknown []string
	for _, line := range t.lot {
		p, known := lumber.PlywoodOf(line.Board.Thickness)
		if !known {
			unknown = append(unknown, lengthText(line.Board.Thickness, t.in))
			continue
		}
		if listed(table, p.Category) || len(table.Rows) == sizesShown {
			continue
		}
		table.Rows = append(table.Rows, []string{p.Category, thousandths(p.Min), thousandths(p.Max), thousandths(p.Label)})
		metric.Rows = append(metric.Rows, []string{p.Category, millimetres(p.Min), millimetres(p.Max), millimetres(p.Label)})
	}
	if len(table.Rows) > 0 {
		t.reply.Tables = append(t.reply.Tables, table, metric)
		t.reply.Notes = append(t.reply.Notes,
			"Thicknesses are what PS 1 allows structural plywood, unsanded, touch-sanded or overlaid, and recommends for its label. Imported and hardwood plywood follow other standards: measure before you cut a groove.")
	}
	if len(unknown) > 0 {
		t.reply.Notes = append(t.reply.Notes, capital(unknown[0])+" is not a thickness of PS 1; imported and hardwood plywood follow other standards, so measure the sheet.")
	}
}

func areaFigure(key, label string, area *big.Rat, unit, symbol string) Figure {
	v := measure.Decimal(area, 2)
	return Figure{Key: key, Label: label, Value: v, Unit: unit, Text: v + " " + symbol}
}

// listed is true where a table has a row that begins so.
func listed(t Table, first string) bool {
	for _, row := range t.Rows {
		if row[0] == first {
			return true
		}
	}
	return false
}

// section writes thickness by width as lumber is named: 1-1/2 x 3-1/2.
func section(b measure.Board) string { return tapeNumber(b.Thickness) + " x " + tapeNumber(b.Width) }

func sectionMetric(b measure.Board) string {
	return millimetres(b.Thickness) + " x " + millimetres(b.Width)
}

// tapeNumber is a length in inches as on the finest tape, without the unit.
func tapeNumber(l measure.Length) string {
	text, _ := l.Tape(measure.FinestTape)
	return strings.TrimSuffix(text, " in")
}

// thousandths is a length in inches with three decimals, as the standard prints it.
func thousandths(l measure.Length) string { return measure.Decimal(l.Rat(measure.Inch), 3) }

// millimetres is a length in millimetres to a tenth, without the unit.
func millimetres(l measure.Length) string { return l.In(measure.Millimetre, 1) }
