package commands

import (
	"context"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

const (
	mixedByVolume = "volume"
	mixedByWeight = "weight"
)

func (h house) resin() Command {
	return Command{
		Path:    "resin",
		Summary: "how much resin and hardener a void takes, by volume or by weight",
		Options: []Option{
			{Name: "size", Summary: "the void: two sides with depth, or all three", Kind: Size, Required: true, MaxLength: 160, Example: "30 x 4 in"},
			{Name: "depth", Summary: "its mean depth, where size has two sides", Kind: Length, Example: "3/4 in"},
			{Name: "ratio", Summary: "resin to hardener, from the data sheet", Kind: Word, Example: "2:1"},
			{Name: "by", Summary: "what the ratio counts; volume unless you say", Kind: Word, Example: mixedByVolume, Choices: []Choice{
				{Value: mixedByVolume, Label: "parts by volume"}, {Value: mixedByWeight, Label: "parts by weight"},
			}},
			{Name: "density-resin", Summary: "from the data sheet", Kind: Quantity, Example: "1.15 g/cm3"},
			{Name: "density-hardener", Summary: "from the data sheet", Kind: Quantity, Example: "0.98 g/cm3"},
			{Name: "waste", Summary: "the part that stays in cups and soaks away", Kind: Percent, Example: "10%"},
			{Name: "layer", Summary: "the deepest single pour on the data sheet", Kind: Length, Example: "1/2 in"},
		},
		Examples: []string{
			"/resin size:30 x 4 in depth:3/4 in ratio:2:1",
			"/resin size:900 x 120 x 40 mm ratio:100:38 by:weight density-resin:1.15 density-hardener:0.98 waste:10% layer:15mm",
		},
		Run: h.answerResin,
	}
}

// pour is one void on its way to a mix.
type pour struct {
	in              *reading
	size            measure.Size // three sides
	volume          lumber.Estimate
	ratio           lumber.Ratio
	resin, hardener lumber.Estimate
	weighed         bool
}

func (h house) answerResin(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	p := pour{in: in, size: in.void(), weighed: req.Options["by"] == mixedByWeight,
		ratio:    value(in, "ratio", lumber.ParseRatio),
		resin:    in.density("density-resin"),
		hardener: in.density("density-hardener"),
	}
	waste, layer := value(in, "waste", measure.ParsePercent), value(in, "layer", func(text string) (measure.Length, error) {
		l, err := measure.ParseLength(text, in.bare)
		if err == nil && l < measure.Millimetre {
			return 0, &measure.InputError{Value: text, Problem: "is thinner than a pour"}
		}
		return l, err
	})
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Title: "Resin for a void", Notes: []string{"Read as: " + sizeText(p.size, in) + "."}}
	void := lumber.Void(p.size[0], p.size[1], p.size[2])
	reply.Figures = append(reply.Figures, liquidFigure("volume_void", "The void", void, in))
	p.volume = void
	if in.has("waste") {
		if p.volume, err = lumber.WithWaste(void, waste); err != nil {
			return Reply{}, in.told(err, "waste")
		}
		reply.Figures = append(reply.Figures, liquidFigure("volume_mix", "To mix, with waste", p.volume, in))
		reply.Notes = append(reply.Notes, "To mix is void / (1 − waste) at "+waste.String()+" waste.")
	}
	p.mix(&reply)
	p.layers(&reply, layer)
	reply.Notes = append(reply.Notes, "An odd void: fill it with dry sand or rice and measure that. Mix what the data sheet says; I only do the sum.")
	if p.size[2] > lumber.DeepPour {
		reply.Cautions = append(reply.Cautions, deepPour)
	}
	reply.Cautions = append(reply.Cautions, resinSkin)
	return reply, nil
}

// void reads the three sides of the void, the depth last.
func (in *reading) void() measure.Size {
	size, depth := in.size("size"), in.length("depth")
	switch {
	case in.err != nil:
		return nil
	case len(size) == 3 && in.has("depth"):
		in.fail(&Mistake{Option: "depth", Given: measure.Quote(in.req.Options["depth"]), Problem: "stands beside a size that has its third side already", Try: "size:30 x 4 in depth:3/4 in"})
		return nil
	case len(size) == 3:
		return size
	case depth <= 0:
		in.fail(&Mistake{Option: "depth", Given: measure.Quote(in.req.Options["depth"]), Problem: "is needed where the size has two sides", Try: "depth:3/4 in"})
		return nil
	}
	return measure.Size{size[0], size[1], depth}
}

func (in *reading) density(name string) lumber.Estimate {
	return value(in, name, func(text string) (lumber.Estimate, error) {
		e, err := lumber.ParseDensity(text, in.bare)
		if err == nil && (e < 500 || e > 3000) {
			return 0, &measure.InputError{Value: text, Problem: "is not the density of a resin, 0.5 to 3 g/cm³"}
		}
		return e, err
	})
}

// mix adds how much of each part, as far as what is known allows.
func (p *pour) mix(reply *Reply) {
	in, known := p.in, p.resin > 0 && p.hardener > 0
	if !in.has("ratio") {
		reply.Figures = append(reply.Figures, massFigure("mass_about", "That weighs about", p.volume*lumber.UsualResin, in))
		reply.Notes = append(reply.Notes, "No ratio yet: I cannot part it into resin and hardener. Add ratio:2:1 from the data sheet.", usualResinNote)
		return
	}
	resin, hardener := p.resin, p.hardener
	if !known {
		resin, hardener = lumber.UsualResin, lumber.UsualResin
	}
	by, mix := "volume", lumber.MixByVolume(p.volume, p.ratio, resin, hardener)
	if p.weighed {
		by, mix = "weight", lumber.MixByWeight(p.volume, p.ratio, resin, hardener)
	}
	volumes := []Figure{
		liquidFigure("volume_resin", "Resin by volume", mix.ResinVolume, in), liquidFigure("volume_hardener", "Hardener by volume", mix.HardenerVolume, in)}
	masses := []Figure{
		massFigure("mass_resin", "Resin by weight", mix.ResinMass, in), massFigure("mass_hardener", "Hardener by weight", mix.HardenerMass, in)}
	reply.Notes = append(reply.Notes, "Ratio "+in.req.Options["ratio"]+" read as resin to hardener, by "+by+".")
	switch {
	case known && p.weighed:
		reply.Figures = append(append(reply.Figures, masses...), volumes...)
	case known:
		reply.Figures = append(append(reply.Figures, volumes...), masses...)
	case p.weighed:
		reply.Figures = append(reply.Figures, masses...)
		reply.Notes = append(reply.Notes, "No densities yet: the split by weight is right, the total a guess. Add density-resin: and density-hardener: from the data sheet.", usualResinNote)
	default:
		reply.Figures = append(reply.Figures, volumes...)
		reply.Notes = append(reply.Notes, "No densities yet, so no weights: a ratio by volume is not the ratio by weight. Add density-resin: and density-hardener: to weigh it out.")
	}
	if known {
		reply.Notes = append(reply.Notes, "The same mix is "+mix.VolumeRatio()+" by volume and "+mix.WeightRatio()+" by weight. Its volume is taken as the sum of the parts.")
	}
}

const usualResinNote = "One maker's mixed resin weighs 9.23 lb a US gallon (1.106 kg/L); I took that."

func (p *pour) layers(reply *Reply, layer measure.Length) {
	depth := p.size[2]
	switch {
	case p.in.has("layer"):
		n := lumber.Pours(depth, layer)
		reply.Figures = append(reply.Figures, Figure{Key: "pours", Label: "Pours", Value: strconv.Itoa(n), Unit: "",
			Text: strconv.Itoa(n) + " of at most " + shortLength(layer, p.in)})
	case depth > lumber.DeepPour:
		reply.Notes = append(reply.Notes, "The void is "+lengthText(depth, p.in)+" deep. Add layer: with the data sheet's deepest pour and I count the pours.")
	}
}
