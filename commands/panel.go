package commands

import (
	"errors"
	"fmt"
	"math/big"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// usualKerf is what a cut takes unless a maker says otherwise: a full-kerf blade of
// a table saw (common practice; testdata/published/shop-quantities.csv).
const usualKerf = measure.Inch / 8

// How the strips lie in a panel.
const (
	layFlat = "flat"
	onEdge  = "on-edge"
)

// cutOptions are the options both panel commands share.
func cutOptions() []Option {
	return []Option{
		{Name: "rip", Summary: "into how many strips each board is ripped across its width", Kind: Number, Example: "2"},
		{Name: "resaw", Summary: "into how many each board is resawn through its thickness", Kind: Number, Example: "2"},
		{Name: "kerf", Summary: "what one cut of the saw takes; 1/8 in unless you say", Kind: Length, Example: "1/8 in"},
		{Name: "jointing", Summary: "what straightening takes off each glued side of a strip", Kind: Length, Example: "1/16 in"},
		{Name: "planing", Summary: "what flattening takes off each face", Kind: Length, Example: "1/32 in"},
		{Name: "end-trim", Summary: "what squaring takes off each end", Kind: Length, Example: "1/2 in"},
		{Name: "lay", Summary: "how the strips lie: flat, or on edge for a thick top", Kind: Word, Example: layFlat,
			Choices: []Choice{{Value: layFlat, Label: "flat"}, {Value: onEdge, Label: "on edge"}}},
		{Name: "clamp", Summary: "the force of one of your clamps, to count them by pressure", Kind: Quantity, Example: "1000 lbf"},
		{Name: "species", Summary: "the kind of wood, for the panel's weight", Kind: Word, MaxLength: speciesOption.MaxLength,
			Example: speciesOption.Example, Complete: completeSpecies},
	}
}

// workshop is what a panel command is told beside the boards.
type workshop struct {
	in    *reading
	cuts  lumber.Cuts
	clamp *big.Rat // the force of one clamp in lbf, or nil
	// wood is what the panel is made of, where that was said.
	wood      lumber.Species
	woodNotes []string
}

func readWorkshop(in *reading) workshop {
	w := workshop{in: in, cuts: lumber.Cuts{
		Rip: in.whole("rip", 1, lumber.MaxWays), Resaw: in.whole("resaw", 1, lumber.MaxWays),
		Kerf: usualKerf, Jointing: in.length("jointing"), Planing: in.length("planing"), EndTrim: in.length("end-trim"),
		OnEdge: in.req.Options["lay"] == onEdge,
	}}
	if in.has("kerf") {
		w.cuts.Kerf = in.length("kerf")
	}
	w.wood, w.woodNotes = in.species("species")
	if in.err == nil && in.has("species") && !w.wood.Density(panelMoisture).IsKnown() {
		in.fail(&Mistake{Option: "species", Given: measure.Quote(in.req.Options["species"]), Problem: "has no published weight in my tables", Try: speciesOption.Example})
	}
	w.clamp = value(in, "clamp", func(text string) (*big.Rat, error) { return poundsForce(text, in.bare) })
	return w
}

// panelMoisture is what a panel is weighed at, as the handbook gives weights.
const panelMoisture lumber.Moisture = 12

// weigh adds what the finished panel weighs, where its wood was said, and the caution
// for lifting it.
func (w workshop) weigh(reply *Reply, p lumber.Panel) error {
	if !w.in.has("species") {
		reply.Notes = append(reply.Notes, "Say species:"+speciesOption.Example+" or your wood for its weight.")
		return nil
	}
	_, weight, err := w.wood.Weight(measure.Lot{{Count: 1, Board: p.Size}}, panelMoisture)
	if err != nil {
		return w.in.told(err, "species")
	}
	reply.Figures = append(reply.Figures, massFigure("weight", "Weight", weight, w.in))
	reply.Notes = append(append(reply.Notes, w.woodNotes...),
		"Weight at 12 % moisture, from the average of "+w.wood.Name+"; single boards differ by about a tenth (that from memory). "+provenanceNote(w.wood, true, false, false))
	if weight > lumber.LiftingLimit {
		reply.Cautions = append(reply.Cautions, oneLift)
	}
	return nil
}

// twoCautions keeps the most serious: the saw, then the load, then the dust.
func (w workshop) twoCautions(reply *Reply) {
	if w.sawn() {
		reply.Cautions = append([]Caution{kickback}, append(reply.Cautions, sawDust)...)
	}
	reply.Cautions = reply.Cautions[:min(2, len(reply.Cautions))]
}

// poundsForce reads a force above zero.
func poundsForce(text string, bare measure.Length) (*big.Rat, error) {
	q, err := measure.ParseQuantity(text, bare)
	if err != nil {
		return nil, err
	}
	inPounds, err := q.To("lbf", bare)
	if err != nil || q.Price || q.Value.Sign() <= 0 {
		return nil, &measure.InputError{Value: text, Problem: "is not a force", Hint: "1000 lbf or 4.5 kN"}
	}
	force, ok := new(big.Rat).SetString(inPounds.Value)
	if !ok {
		return nil, fmt.Errorf("reading the force %q of the conversion", inPounds.Value)
	}
	return force, nil
}

// sawn is true where a blade parts the boards lengthways.
func (w workshop) sawn() bool { return w.cuts.Rip > 1 || w.cuts.Resaw > 1 }

// mistake puts the option's name to a cut that leaves nothing of a board. line names
// the board where there are several.
func (w workshop) mistake(err error, line string) error {
	e, ok := asCut(err)
	if !ok {
		return err
	}
	across := shortLength(e.Across, w.in) + line
	option := string(e.Cut)
	m := &Mistake{Option: option, Given: measure.Quote(w.in.req.Options[option])}
	switch e.Cut {
	case lumber.Kerf:
		m.Problem, m.Try = "is as wide as the "+across+" it would cut, or wider", "1/8 in"
		if m.Given == "" { // the usual kerf is too wide
			m.Given, m.Problem = shortLength(usualKerf, w.in), "is the usual kerf, and as wide as the "+across+" it would cut"
			m.Try = "kerf:1/32 in, or no rip: and no resaw:"
		}
	case lumber.Ripping, lumber.Resawing:
		m.Problem = "is more strips than " + across + " gives with a kerf of " + shortLength(w.cuts.Kerf, w.in)
		m.Try = fmt.Sprint(w.mostWays(e.Across))
	default:
		m.Problem = "from both sides takes all of the " + across + " that is left there"
		m.Try = "1/32 in or 1 mm"
		if e.Cut == lumber.EndTrim {
			m.Try = "1/2 in or 12 mm"
		}
	}
	return m
}

func asCut(err error) (*lumber.CutError, bool) { return errors.AsType[*lumber.CutError](err) }

// mostWays is into how many strips of half an inch or more a width divides, at least
// one.
func (w workshop) mostWays(across measure.Length) int64 {
	const narrow = measure.Inch / 2
	return max(1, int64((across+w.cuts.Kerf)/(narrow+w.cuts.Kerf)))
}

// figures of the glue-up, the same for every panel.
func (w workshop) glueUp(reply *Reply, p lumber.Panel) {
	in := w.in
	yield := p.Yield()
	stock := lumber.FromVolume(p.Stock).Round(2) + " board feet"
	if in.bare == measure.Millimetre {
		stock = measure.Decimal(p.Stock.Rat(measure.Metre), 4) + " m³"
	}
	percent := measure.Decimal(yield.Mul(yield, big.NewRat(100, 1)), 1)
	reply.Figures = append(reply.Figures,
		Figure{Key: "yield", Label: "Yield", Value: percent, Unit: "%",
			Text: percent + " % of " + stock})
	if p.Joints() == 0 {
		return
	}
	feet, metres := p.Glue.Rat(measure.Foot), p.Glue.Rat(measure.Metre)
	area := Figure{Key: "glue_area", Label: "Glue lines", Value: measure.Decimal(feet, 2), Unit: "ft2",
		Text: measure.Decimal(feet, 2) + " ft² (" + measure.Decimal(metres, 3) + " m²)"}
	if in.bare == measure.Millimetre {
		area.Value, area.Unit = measure.Decimal(metres, 3), "m2"
		area.Text = measure.Decimal(metres, 3) + " m² (" + measure.Decimal(feet, 2) + " ft²)"
	}
	least, most := grams(metres, lumber.LeastPVASpread), grams(metres, lumber.MostPVASpread)
	film := new(big.Rat).Mul(metres, lumber.PVAFilm.Rat(measure.Millimetre)) // litres
	millilitres := measure.Decimal(film.Mul(film, big.NewRat(1000, 1)), 0)
	length := p.GlueLength()
	spacing := lumber.ClampSpacing(p.OuterStrip())
	clamps := lumber.ClampsBySpacing(length, spacing)
	reply.Figures = append(reply.Figures, area,
		Figure{Key: "glue", Label: "PVA glue, up to", Value: most, Unit: "g", Text: least + " to " + most + " g, about " + millilitres + " mL"},
		Figure{Key: "clamps", Label: "Clamps by spacing", Value: fmt.Sprint(clamps), Unit: "clamps",
			Text: fmt.Sprintf("%d, at most %s apart", clamps, shortLength(spacing, in))})
	reply.Tables = append(reply.Tables, w.pressure(p))
	reply.Notes = append(reply.Notes,
		"Glue is 150 to 200 g to the square metre of glue line (common practice, from memory; the label rules). Clamps stand twice the outer strip's width apart, as pressure spreads at 45° (common practice, from memory); a caul lets them stand wider.",
		"Pressure is what glue makers advise, on the largest joint; few hobby clamps reach it, and a tight joint matters more.")
}

// grams is an area in square metres times a spread, rounded up.
func grams(metres *big.Rat, spread int64) string {
	return ceiling(new(big.Rat).Mul(metres, new(big.Rat).SetInt64(spread)))
}

// ceiling is a number that is not negative, rounded up to the whole.
func ceiling(r *big.Rat) string {
	whole, rest := new(big.Int).QuoRem(r.Num(), r.Denom(), new(big.Int))
	if rest.Sign() > 0 {
		whole.Add(whole, big.NewInt(1))
	}
	return whole.String()
}

// pressure is the table of what clamping the largest joint takes.
func (w workshop) pressure(p lumber.Panel) Table {
	t := Table{Title: "Clamping by pressure", Columns: []string{"", "Softwood", "Hardwood"}}
	row := func(name string, cell func(psi int64) string) {
		cells := []string{name}
		for _, wood := range []lumber.Pressure{lumber.SoftwoodPressure, lumber.HardwoodPressure} {
			low, high := cell(wood.Low), cell(wood.High)
			if low != high {
				low += "–" + high
			}
			cells = append(cells, low)
		}
		t.Rows = append(t.Rows, cells)
	}
	row("psi", func(psi int64) string { return fmt.Sprint(psi) })
	row("MPa", func(psi int64) string {
		return converted(new(big.Rat).SetInt64(psi), "psi", "MPa", 2)
	})
	row("lbf", func(psi int64) string {
		tens := measure.Decimal(new(big.Rat).Quo(lumber.ClampForce(psi, p.Joint), big.NewRat(10, 1)), 0)
		return strings.TrimLeft(tens+"0", "0")
	})
	row("kN", func(psi int64) string { return converted(lumber.ClampForce(psi, p.Joint), "lbf", "kN", 1) })
	if w.clamp != nil {
		row("clamps", func(psi int64) string {
			return ceiling(new(big.Rat).Quo(lumber.ClampForce(psi, p.Joint), w.clamp))
		})
	}
	return t
}

// NewtonsPerPound is one pound-force, and a pound-force to the square inch one of
// them on a square inch, both exact (NIST SP 811, appendix B.8).
var newtonsPerPound = big.NewRat(44_482_216_152_605, 10_000_000_000_000)

// converted is a force or a pressure in SI units with the given decimals.
func converted(r *big.Rat, from, to string, places int) string {
	si := new(big.Rat).Mul(r, newtonsPerPound)
	if from == "psi" {
		inch := measure.Inch.Rat(measure.Metre)
		si.Quo(si, inch).Quo(si, inch)
	}
	scale := big.NewRat(1, 1_000)
	if to == "MPa" {
		scale = big.NewRat(1, 1_000_000)
	}
	return measure.Decimal(si.Mul(si, scale), places)
}

// stripTable lists the strips as they are glued, like strips together.
func (w workshop) stripTable(p lumber.Panel) Table {
	const shown = 12
	t := Table{Title: "The strips, as glued", Columns: []string{"No.", "Wide", "Thick", "Long"}}
	next := 1
	for k, run := range p.Runs {
		if k == shown {
			rest := p.Strips() - next + 1
			t.Rows = append(t.Rows, []string{fmt.Sprintf("%d more", rest), "", "", ""})
			break
		}
		s := run.Strip
		t.Rows = append(t.Rows, []string{numbers(next, run.Count), bareLength(s.Width, w.in), bareLength(s.Thickness, w.in), bareLength(s.Length, w.in)})
		next += run.Count
	}
	unit := "in"
	if w.in.bare == measure.Millimetre {
		unit = "mm"
	}
	t.Title += ", " + unit
	return t
}

// bareLength is shortLength without its unit.
func bareLength(l measure.Length, in *reading) string {
	text := strings.Replace(shortLength(l, in), "about ", "≈", 1)
	return strings.TrimSuffix(strings.TrimSuffix(text, " in"), " mm")
}

func numbers(first, count int) string {
	if count == 1 {
		return fmt.Sprint(first)
	}
	return fmt.Sprintf("%d–%d", first, first+count-1)
}

// sawNotes say what was taken off and what was not; crosscut is true where the blade
// also parts boards into lengths.
func (w workshop) sawNotes(crosscut bool) []string {
	var notes []string
	c := w.cuts
	if (crosscut || w.sawn()) && !w.in.has("kerf") {
		notes = append(notes, "Kerf: "+lengthText(c.Kerf, w.in)+" a cut, common for a full-kerf table-saw blade; say kerf: for yours.")
	}
	var missing []string
	say := ""
	for _, m := range []struct {
		name, inches, metric string
		off                  measure.Length
	}{{"jointing", "1/16 in", "1.5 mm", c.Jointing}, {"planing", "1/32 in", "1 mm", c.Planing}, {"end-trim", "1/2 in", "12 mm", c.EndTrim}} {
		switch {
		case m.off > 0:
			continue
		case say != "":
		case w.in.bare == measure.Millimetre:
			say = m.metric
		default:
			say = m.inches
		}
		missing = append(missing, m.name)
	}
	if len(missing) > 0 {
		note := "Nothing is taken off for " + missing[0] + " yet: say " + missing[0] + ":" + say
		if len(missing) > 1 {
			note += ", and likewise " + strings.Join(missing[1:], " and ")
		}
		notes = append(notes, note+", as boards are seldom straight, flat and square.")
	}
	return notes
}

// The cautions for ripping and resawing.
var (
	kickback = Caution{
		Text:   "Rip and resaw with the riving knife on, a flat face down and a straight edge to the fence; stand aside and use a push stick, or the saw throws the strip back.",
		Issuer: "OSHA, 29 CFR 1910.213(c) and its table-saw guidance",
	}
	sawDust = Caution{
		Text:   "Wood dust causes cancer of the nose: extraction and a mask, FFP2 or N95 at least.",
		Issuer: "IARC Monographs 62 and 100C",
	}
)
