package commands

import (
	"context"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// The kinds of finish that are told apart, because their cautions are.
const (
	oilFinish     = "oil"
	varnishFinish = "varnish"
	twoPackFinish = "two-pack"
)

func (h house) finish() Command {
	return Command{
		Path:    "finish",
		Summary: "how much finish to buy for an area and a number of coats",
		Options: []Option{
			{Name: "area", Summary: "an area, the two sides of a face, or three sides for all six faces", Kind: Quantity, Required: true, MaxLength: 160, Example: "39 x 23 in"},
			{Name: "coats", Summary: "how many; 3 unless you say", Kind: Number, Example: "3"},
			{Name: "coverage", Summary: "how far it goes, from the can", Kind: Quantity, Example: "400 ft2/US gal"},
			{Name: "film", Summary: "instead of coverage: how thick one coat is, wet, or dry with solids", Kind: Length, Example: "4 mil"},
			{Name: "solids", Summary: "the part of the finish by volume that stays; film is then the dry one", Kind: Percent, Example: "45%"},
			{Name: "kind", Summary: "what it is, for the caution", Kind: Word, Example: oilFinish, Choices: []Choice{
				{Value: varnishFinish, Label: "varnish or polyurethane"}, {Value: "water", Label: "water-based"},
				{Value: oilFinish, Label: "drying oil or oil stain"}, {Value: twoPackFinish, Label: "two-pack lacquer"},
			}},
		},
		Examples: []string{
			"/finish area:39 x 23 in coats:3",
			"/finish area:2.4 m2 coats:2 coverage:12 m2/L kind:oil",
		},
		Run: h.answerFinish,
	}
}

func (h house) answerFinish(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	faces := 0
	area := value(in, "area", func(text string) (lumber.Estimate, error) {
		a, n, err := lumber.ParseArea(text, in.bare)
		faces = n
		return a, err
	})
	coats := 3
	if in.has("coats") {
		coats = in.whole("coats", 1, 30)
	}
	coverage, how := in.coverage()
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Title: "Finish for " + coatsText(coats)}
	if coverage.IsKnown() {
		all := lumber.FinishFor(area, coats, coverage)
		reply.Figures = append(reply.Figures, liquidFigure("volume", "Needed, nothing spilled", all, in))
		if coats > 1 {
			reply.Figures = append(reply.Figures, liquidFigure("volume_coat", "Each coat", lumber.FinishFor(area, 1, coverage), in))
		}
	} else {
		most := lumber.FinishFor(area, coats, lumber.UsualCoverageLow)
		least := lumber.FinishFor(area, coats, lumber.UsualCoverageHigh)
		reply.Figures = append(reply.Figures,
			liquidFigure("volume_high", "At the thirstiest", most, in),
			liquidFigure("volume_low", "At the thriftiest", least, in))
		how = "No coverage yet: I took what is customary for wiped or brushed varnish on smooth wood, " +
			estimateText(lumber.UsualCoverageLow, coverages, 3, in) + " to " + estimateText(lumber.UsualCoverageHigh, coverages, 3, in) +
			" a coat. It is common practice, not a published figure; the can knows better. Add coverage:" + in.ownWay("400 ft2/US gal", "10 m2/L") + "."
	}
	reply.Notes = append(reply.Notes, "Read as: "+areaText(area, faces, in)+", "+coatsText(coats)+".", how,
		"Bare or rough wood drinks up to twice as much in the first coat (common practice). Volumes are rounded to three digits; buy the next can up.")
	switch req.Options["kind"] {
	case oilFinish:
		reply.Cautions = append(reply.Cautions, oilyRags)
	case varnishFinish:
		reply.Cautions = append(reply.Cautions, oilyRags)
		reply.Notes = append(reply.Notes, "Varnish that is thinned with spirit, wiping varnish above all, has drying oil in it; for one thinned with water say kind:water.")
	case twoPackFinish:
		reply.Cautions = append(reply.Cautions, isocyanates)
	case "":
		reply.Notes = append(reply.Notes, "Say the kind (kind:oil, kind:varnish, kind:two-pack) and I add its caution: rags with drying oil, or with varnish that has it, can take fire by themselves.")
	}
	return reply, nil
}

// coverage reads how far the finish goes, by either of two ways, and says how.
func (in *reading) coverage() (lumber.Estimate, string) {
	if in.err == nil && in.has("coverage") && in.has("film") {
		in.fail(&Mistake{Option: "film", Given: measure.Quote(in.req.Options["film"]), Problem: "stands beside coverage, and I go by one of the two", Try: "film or coverage alone"})
	}
	if in.err == nil && in.has("solids") && !in.has("film") {
		in.fail(&Mistake{Option: "solids", Given: measure.Quote(in.req.Options["solids"]), Problem: "needs the dry film beside it", Try: "film:1.5 mil"})
	}
	if in.has("coverage") {
		c := value(in, "coverage", func(text string) (lumber.Estimate, error) { return lumber.ParseCoverage(text, in.bare) })
		return c, "At a coverage of " + estimateText(c, coverages, 3, in) + " a coat."
	}
	if !in.has("film") {
		return 0, ""
	}
	film := in.film()
	solids := value(in, "solids", measure.ParsePercent)
	if in.err != nil {
		return 0, ""
	}
	microns := film.In(measure.Micrometre, 0) + " µm (" + film.In(measure.Inch/1000, 1) + " mil)"
	if !in.has("solids") {
		c := lumber.FilmCoverage(film)
		return c, "A wet film of " + microns + " a coat covers " + estimateText(c, coverages, 3, in) + ", by geometry."
	}
	if one, _ := measure.ParsePercent("100%"); solids.Rat().Sign() == 0 || solids.Rat().Cmp(one.Rat()) > 0 {
		in.fail(&Mistake{Option: "solids", Given: measure.Quote(in.req.Options["solids"]), Problem: "is not between nothing and all of it", Try: "45%"})
		return 0, ""
	}
	c := lumber.DryCoverage(film, solids)
	return c, "A dry film of " + microns + " a coat from " + solids.String() + " solids covers " + estimateText(c, coverages, 3, in) + ", if all of it lands on the work."
}

// film reads the thickness of a coat.
func (in *reading) film() measure.Length {
	return value(in, "film", func(text string) (measure.Length, error) {
		wrong := &measure.InputError{Value: text, Problem: "is not the thickness of a coat, 1 µm to 5 mm"}
		q, err := measure.ParseQuantity(text, measure.Inch/1000)
		if err != nil {
			return 0, wrong
		}
		c, err := q.To("µm", in.bare)
		if err != nil {
			return 0, wrong
		}
		l, ok := c.Length()
		if !ok || l < measure.Micrometre || l > 5*measure.Millimetre {
			return 0, wrong
		}
		return l, nil
	})
}

func areaText(area lumber.Estimate, faces int, in *reading) string {
	text := estimateText(area, areas, 3, in)
	switch faces {
	case 1:
		return "one face of " + text
	case 6:
		return "all six faces, " + text
	}
	return text
}

// ownWay is the one of two examples that is in the member's own system.
func (in *reading) ownWay(inch, metric string) string {
	if in.bare == measure.Millimetre {
		return metric
	}
	return inch
}

func coatsText(n int) string {
	if n == 1 {
		return "one coat"
	}
	return strconv.Itoa(n) + " coats"
}
