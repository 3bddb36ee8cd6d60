package commands

import (
	"context"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// nearBreaking is how many times the stress is to go into the breaking stress before the
// reply warns: our own line, for wood with knots and a load that stays.
const nearBreaking = 4

func (h house) deflection() Command {
	return Command{
		Path:    "deflection",
		Summary: "how far a shelf or a top sags under a load",
		Options: []Option{
			{Name: "span", Summary: "between the supports", Kind: Length, Required: true, Example: "36 in"},
			{Name: "width", Summary: "of the shelf, front to back", Kind: Length, Required: true, Example: "11-1/4 in"},
			{Name: "depth", Summary: "its thickness, in the direction of the load", Kind: Length, Required: true, Example: "3/4 in"},
			{Name: "load", Summary: "all that lies on it", Kind: Quantity, Required: true, Example: "60 lb"},
			speciesOption,
			{Name: "ends", Summary: "how it is held; simple unless you say", Kind: Word, Example: "simple", Choices: []Choice{
				{Value: string(lumber.Simple), Label: "resting on both ends"},
				{Value: string(lumber.Fixed), Label: "held rigid at both ends"},
				{Value: string(lumber.Cantilever), Label: "held rigid at one end, the other free"},
			}},
			{Name: "loading", Summary: "how the load lies; spread unless you say", Kind: Word, Example: "spread", Choices: []Choice{
				{Value: string(lumber.Spread), Label: "spread evenly"},
				{Value: string(lumber.Middle), Label: "all in the middle"},
				{Value: string(lumber.QuarterPoints), Label: "half at each quarter of the span"},
				{Value: string(lumber.FreeEnd), Label: "all at the free end"},
			}},
		},
		Examples: []string{
			"/deflection span:36 in width:11-1/4 in depth:3/4 in load:60 lb species:red oak",
			"/deflection span:900mm width:280mm depth:20mm load:30kg species:poplar ends:fixed loading:middle",
		},
		Run: h.answerDeflection,
	}
}

func (h house) answerDeflection(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	beam := lumber.Beam{Span: in.side("span"), Width: in.side("width"), Depth: in.side("depth"), Ends: lumber.Simple}
	load := value(in, "load", func(text string) (lumber.Estimate, error) { return lumber.ParseMass(text, in.bare) })
	wood, notes := in.species("species")
	loading := lumber.Spread
	if in.has("ends") {
		beam.Ends = lumber.Ends(req.Options["ends"])
	}
	if in.has("loading") {
		loading = lumber.Loading(req.Options["loading"])
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	if beam.Stiffness = wood.Stiffness; !beam.Stiffness.IsKnown() {
		return Reply{}, &Mistake{Option: "species", Given: measure.Quote(req.Options["species"]), Problem: "has no published stiffness in my tables", Try: speciesOption.Example}
	}
	places, err := beam.Deflections(load, loading)
	if err != nil {
		return Reply{}, in.told(err, "loading")
	}
	reply := Reply{Title: "Sag of a shelf in " + wood.Name, Cautions: []Caution{loadBearing}}
	sag := places[0].By
	tooWeak := 10*sag > beam.Span
	reply.Figures = append(reply.Figures, moveFigure("deflection", "Sag under the load, "+placeText(places[0].At), sag, in))
	own := beam.Own(wood.Density(12))
	stress := beam.Stress(load, loading)
	breaks := stress >= wood.Rupture
	if !tooWeak && !breaks {
		lasting(&reply, in, beam, places, own)
	}
	if breaks {
		reply.Notes = append(reply.Notes, "It would break: the load alone puts "+estimateText(stress, stresses, 2, in)+" on the wood, and clear wood breaks at about "+
			estimateText(wood.Rupture, stresses, 2, in)+" in a short test. Make it deeper, or the span shorter.")
	}
	reply.Notes = append(reply.Notes, "Read as: a span of "+lengthText(beam.Span, in)+", "+lengthText(beam.Width, in)+" wide, "+lengthText(beam.Depth, in)+
		" deep, "+string(beam.Ends)+" ends, "+massText(load, in)+" "+loadingText(loading)+"; its own weight is "+massText(own, in)+".")
	reply.Notes = append(reply.Notes, notes...)
	if tooWeak {
		reply.Notes = append(reply.Notes, "That is more than a tenth of the span, where the equation no longer holds: read it as far too weak, and make it deeper.")
	}
	if !breaks && nearBreaking*stress > wood.Rupture {
		reply.Notes = append(reply.Notes, "The load alone puts "+estimateText(stress, stresses, 2, in)+" on the wood, about "+strconv.Itoa(int(100*stress/wood.Rupture))+" % of the "+
			estimateText(wood.Rupture, stresses, 2, in)+" at which clear wood breaks in a short test: too near for anything that matters.")
	}
	reply.Notes = append(reply.Notes, deflectionNotes...)
	reply.Notes = append(reply.Notes, provenanceNote(wood, true, false, false)+" Clear straight wood: knots and joints sag more.")
	return reply, nil
}

var deflectionNotes = []string{
	"By the handbook's equation 9-2, bending and shear. The printed stiffness is raised by 10 % for bending alone (from memory of the handbook's note), and the shear modulus taken as a sixteenth of it.",
	"Wood under a lasting load goes on sagging: about double after years is common practice, from memory, and more where it is damp.",
	"Makers often aim for span/360 or less at first (common practice, from memory).",
}

// lasting adds what becomes of the sag elsewhere, with the beam's own weight and in the
// long run.
func lasting(reply *Reply, in *reading, beam lumber.Beam, places []lumber.Deflection, own lumber.Estimate) {
	sag := places[0].By
	for _, p := range places[1:] {
		reply.Figures = append(reply.Figures, moveFigure("deflection_load_point", capital(placeText(p.At)), p.By, in))
	}
	if alone, err := beam.Deflections(own, lumber.Spread); err == nil && own.IsKnown() {
		sag += alone[0].By
		reply.Figures = append(reply.Figures, moveFigure("deflection_with_own_weight", "With its own weight", sag, in))
	}
	reply.Figures = append(reply.Figures, moveFigure("deflection_long_term", "After years, about", 2*sag, in))
	if share := spanShare(beam.Span, sag); share != "" {
		reply.Figures = append(reply.Figures, Figure{Key: "span_share", Label: "Share of the span at first", Value: share, Text: "span/" + share})
	}
}

// side reads a length that a beam can have.
func (in *reading) side(name string) measure.Length {
	return value(in, name, func(text string) (measure.Length, error) {
		l, err := measure.ParseLength(text, in.bare)
		if err == nil && (l < measure.Millimetre || l > 20*measure.Metre) {
			return 0, &measure.InputError{Value: text, Problem: "is not between 1 mm and 20 m (66 ft)"}
		}
		return l, err
	})
}

func placeText(p lumber.Place) string {
	switch p {
	case lumber.AtFreeEnd:
		return "at the free end"
	case lumber.UnderLoad:
		return "under each load"
	}
	return "at midspan"
}

func loadingText(l lumber.Loading) string {
	switch l {
	case lumber.Middle:
		return "in the middle"
	case lumber.QuarterPoints:
		return "half at each quarter of the span"
	case lumber.FreeEnd:
		return "at the free end"
	}
	return "spread evenly"
}

// spanShare is how many times the sag goes into the span, to two digits.
func spanShare(span, sag measure.Length) string {
	if sag <= 0 {
		return ""
	}
	share := int64(span / sag)
	step := int64(1)
	for share/step >= 100 {
		step *= 10
	}
	return strconv.FormatInt(share/step*step, 10)
}
