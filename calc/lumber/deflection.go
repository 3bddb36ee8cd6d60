package lumber

import "tallystick/calc/measure"

// Ends is how a shelf or a beam is held.
type Ends string

// Loading is how the load lies on it.
type Loading string

// The ways of holding and of loading that the handbook tabulates.
const (
	Simple     Ends = "simple"
	Fixed      Ends = "fixed"
	Cantilever Ends = "cantilever"

	Spread        Loading = "spread"
	Middle        Loading = "middle"
	QuarterPoints Loading = "quarters"
	FreeEnd       Loading = "end"
)

// Place is where a beam is looked at.
type Place string

// The places of the table.
const (
	Midspan    Place = "midspan"
	UnderLoad  Place = "load point"
	AtFreeEnd  Place = "free end"
	gravity          = 9.80665   // m/s², exact by convention (NIST SP 811, appendix B.8)
	shearShare       = 1.0 / 16  // shear modulus by modulus of elasticity (Wood Handbook FPL-GTR-282, ch. 9, with eq. 9-9)
	pureBend         = 1.1       // modulus of elasticity without shear by the printed one (FROM MEMORY of the handbook's note)
	shearArea        = 5.0 / 6.0 // of a rectangle (eq. 9-4)
)

// beamCase is a row of Wood Handbook FPL-GTR-190 (2010) Table 9-1, p. 9-2.
type beamCase struct {
	loading Loading
	ends    Ends
	at      Place
	// bending and shear are kb and ks of eq. 9-2.
	bending, shear float64
	// moment is the largest bending moment by the load and the span, from statics.
	moment float64
}

var beamCases = []beamCase{
	{Spread, Simple, Midspan, 5.0 / 384, 1.0 / 8, 1.0 / 8},
	{Spread, Fixed, Midspan, 1.0 / 384, 1.0 / 8, 1.0 / 12},
	{Middle, Simple, Midspan, 1.0 / 48, 1.0 / 4, 1.0 / 4},
	{Middle, Fixed, Midspan, 1.0 / 192, 1.0 / 4, 1.0 / 8},
	{QuarterPoints, Simple, Midspan, 11.0 / 768, 1.0 / 8, 1.0 / 8},
	{QuarterPoints, Simple, UnderLoad, 1.0 / 96, 1.0 / 8, 1.0 / 8},
	{Spread, Cantilever, AtFreeEnd, 1.0 / 8, 1.0 / 2, 1.0 / 2},
	{FreeEnd, Cantilever, AtFreeEnd, 1.0 / 3, 1, 1},
}

// Beam is a board on edge or flat that carries a load across its depth.
type Beam struct {
	Span, Width, Depth measure.Length
	// Stiffness is the modulus of elasticity as tabulated, in pascals.
	Stiffness Estimate
	Ends      Ends
}

// Deflection is how far a beam gives way at one place.
type Deflection struct {
	At Place
	By measure.Length
}

// Deflections is what the load, in kilograms, does at each place that the table has for
// it.
//
//	δ = kb·W·L³/(E·I) + ks·W·L/(G·A')      (eq. 9-2)
//	I = b·h³/12, A' = 5/6·b·h              (eq. 9-3 and 9-4)
//
// W is the whole load in newtons, L the span, b the width, h the depth in metres. The
// printed modulus of elasticity was measured on spans of 14 depths and holds some shear;
// E is 1.1 times it and the shear modulus G is E/16. A way of holding and loading that the
// table lacks is an InputError about the loading.
func (b Beam) Deflections(load Estimate, loading Loading) ([]Deflection, error) {
	var found []Deflection
	for _, c := range beamCases {
		if c.loading == loading && c.ends == b.Ends {
			found = append(found, Deflection{At: c.at, By: lengthOf(b.deflection(c, load))})
		}
	}
	if found == nil {
		hint := string(Spread) + " or " + string(Middle)
		if b.Ends == Cantilever {
			hint = string(Spread) + " or " + string(FreeEnd)
		}
		return nil, &measure.InputError{Value: string(loading), Problem: "is a load that the table of beams does not have for " + string(b.Ends) + " ends", Hint: hint}
	}
	return found, nil
}

func (b Beam) deflection(c beamCase, load Estimate) float64 {
	span, width, depth := metres(b.Span), metres(b.Width), metres(b.Depth)
	w := float64(load) * gravity
	e := pureBend * float64(b.Stiffness)
	inertia := width * depth * depth * depth / 12
	area := shearArea * width * depth
	return c.bending*w*span*span*span/(e*inertia) + c.shear*w*span/(shearShare*e*area)
}

// Stress is the largest bending stress of a load, in pascals, or 0 for a way of loading
// that the table lacks.
//
//	f = M/S, S = b·h²/6                    (Wood Handbook FPL-GTR-282, eq. 9-13)
//
// M is the largest moment, by statics. At the ultimate moment f is the modulus of
// rupture.
func (b Beam) Stress(load Estimate, loading Loading) Estimate {
	for _, c := range beamCases {
		if c.loading == loading && c.ends == b.Ends {
			section := metres(b.Width) * metres(b.Depth) * metres(b.Depth) / 6
			return Estimate(c.moment * float64(load) * gravity * metres(b.Span) / section)
		}
	}
	return 0
}

// Own is the beam's own weight between its ends, in kilograms.
func (b Beam) Own(density Estimate) Estimate {
	return density * cubicMetres(measure.VolumeOf(1, b.Span, b.Width, b.Depth))
}
