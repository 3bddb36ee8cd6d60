package lumber

import (
	"strconv"
	"strings"

	"tallystick/calc/measure"
)

// Ratio is how many parts of resin go to how many of hardener.
type Ratio struct{ Resin, Hardener float64 }

const (
	ratioHint    = "2:1 or 100:38"
	maxRatioText = 32
)

// ParseRatio reads a mixing ratio, resin first.
//
//	ratio = number ( ":" | "to" | "/" ) number .
func ParseRatio(text string) (Ratio, error) {
	wrong := &measure.InputError{Value: text, Problem: "is not a ratio of resin to hardener", Hint: ratioHint}
	if len(text) > maxRatioText {
		return Ratio{}, wrong
	}
	for _, mark := range []string{":", "to", "/"} {
		first, second, found := strings.Cut(strings.ToLower(text), mark)
		if !found {
			continue
		}
		resin, err := measure.ParseNumber(first)
		if err != nil {
			return Ratio{}, wrong
		}
		hardener, err := measure.ParseNumber(second)
		if err != nil {
			return Ratio{}, wrong
		}
		if resin.IsZero() || hardener.IsZero() {
			return Ratio{}, &measure.InputError{Value: text, Problem: "leaves one part out", Hint: ratioHint}
		}
		r, _ := resin.Rat().Float64()
		h, _ := hardener.Rat().Float64()
		return Ratio{Resin: r, Hardener: h}, nil
	}
	return Ratio{}, wrong
}

// UsualResin is the density of a mixed resin by one maker's sheet: 9.23 lb a US gallon.
const UsualResin Estimate = 1106

// Mix is what to measure out of each part.
type Mix struct {
	// Volumes in cubic metres, masses in kilograms.
	ResinVolume, HardenerVolume Estimate
	ResinMass, HardenerMass     Estimate
}

// MixByVolume fills a volume with parts that are measured by volume.
//
//	Vr = V·R/(R+H), Vh = V·H/(R+H)
//
// The volume of the mix is taken as the sum of its parts. Masses follow from the
// densities.
func MixByVolume(volume Estimate, ratio Ratio, resin, hardener Estimate) Mix {
	part := volume / Estimate(ratio.Resin+ratio.Hardener)
	return mixOf(part*Estimate(ratio.Resin), part*Estimate(ratio.Hardener), resin, hardener)
}

// MixByWeight fills a volume with parts that are weighed.
//
//	k = V / (R/ρr + H/ρh), mr = k·R, mh = k·H
func MixByWeight(volume Estimate, ratio Ratio, resin, hardener Estimate) Mix {
	r, h := Estimate(ratio.Resin)/resin, Estimate(ratio.Hardener)/hardener
	part := volume / (r + h)
	return mixOf(part*r, part*h, resin, hardener)
}

func mixOf(resinVolume, hardenerVolume, resin, hardener Estimate) Mix {
	return Mix{ResinVolume: resinVolume, HardenerVolume: hardenerVolume,
		ResinMass: resinVolume * resin, HardenerMass: hardenerVolume * hardener}
}

// VolumeRatio writes the mix as parts of resin to one of hardener.
func (m Mix) VolumeRatio() string { return ratioText(m.ResinVolume, m.HardenerVolume) }

// WeightRatio is VolumeRatio by mass.
func (m Mix) WeightRatio() string { return ratioText(m.ResinMass, m.HardenerMass) }

func ratioText(resin, hardener Estimate) string {
	return strconv.FormatFloat(float64(resin/hardener), 'f', 2, 64) + ":1"
}

// WithWaste is what to mix for a volume when the given share of the mix is lost.
//
//	mix = volume / (1 − waste)
//
// Waste of 100 % or more is an InputError.
func WithWaste(volume Estimate, waste measure.Percent) (Estimate, error) {
	left, err := kept(waste)
	if err != nil {
		return 0, &measure.InputError{Value: waste.String(), Problem: "wastes all of the mix", Hint: "10%"}
	}
	share, _ := left.Float64()
	return volume / Estimate(share), nil
}

// Void is the volume of a hollow of the given face and mean depth.
func Void(length, width, depth measure.Length) Estimate {
	return cubicMetres(measure.VolumeOf(1, length, width, depth))
}

// Pours is how many layers of at most the given depth fill a depth.
func Pours(depth, layer measure.Length) int { return int((depth + layer - 1) / layer) }

// DeepPour is the depth of resin from which a single pour may overheat: makers' sheets
// name 10 to 20 mm (practice, FROM MEMORY).
const DeepPour = 10 * measure.Millimetre
