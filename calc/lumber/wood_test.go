package lumber

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
)

func inputError(t *testing.T, err error) *measure.InputError {
	t.Helper()
	var input *measure.InputError
	require.ErrorAs(t, err, &input)
	return input
}

func TestAWoodIsFoundByTheNamesMakersUse(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{
		"maple, sugar": "maple, sugar", "sugar maple": "maple, sugar", "Hard Maple": "maple, sugar", "hard-maple": "maple, sugar",
		"poplar": "yellow-poplar", "yellow poplar": "yellow-poplar", "RED OAK": "oak, northern red", "white oak": "oak, white",
		"black walnut": "walnut, black", "doug fir": "Douglas-fir, coast", "western red cedar": "cedar, western redcedar",
		"khaya": "mahogany, African (Khaya spp.)", "teak": "teak (Tectona grandis)", "california red oak": "oak, California red",
	} {
		s, _, err := FindSpecies(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, want, s.Name, typed)
	}
}

func TestEveryNameThatIsOfferedIsFound(t *testing.T) {
	t.Parallel()
	for _, name := range SpeciesNames() {
		s, _, err := FindSpecies(name)
		require.NoError(t, err, name)
		assert.Equal(t, name, s.Name)
		assert.NotContains(t, name, ":", "a name with a colon does not fit into a line")
	}
	for _, name := range TradeNames() {
		s, _, err := FindSpecies(name)
		require.NoError(t, err, name)
		assert.Contains(t, NamesOf(s), name)
	}
	for _, name := range GroupNames() {
		_, _, err := FindSpecies(name)
		hint := inputError(t, err).Hint
		for one := range strings.SplitSeq(hint, " or ") {
			_, _, err := FindSpecies(one)
			assert.NoError(t, err, "the hint for %s", name)
		}
	}
	assert.Greater(t, len(SpeciesNames()), 120)
}

func TestAWoodTakesItsTradeGroupsMovementOrItsShrinkage(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "red oak, commercial", wood(t, "oak, northern red").MovementOf)
	assert.InDelta(t, 0.00369, wood(t, "oak, northern red").CT, 1e-9)
	grand := wood(t, "fir, grand")
	assert.True(t, grand.Reckoned)
	assert.InDelta(t, changeCoefficient(7.5, 30), grand.CT, 1e-12)
	assert.False(t, wood(t, "cherry, black").Reckoned)
	assert.True(t, wood(t, "yellow-poplar").MovementFrom.FromMemory())
	assert.True(t, wood(t, "teak").StrengthFrom.FromMemory())
	assert.False(t, wood(t, "maple, sugar").StrengthFrom.FromMemory())
}

func TestAConditionIsAMoistureOrAClimate(t *testing.T) {
	t.Parallel()
	for _, same := range []string{"45% 70F", "45% RH 70F", "70F 45%", "45%70F", "45% at 70 °F", "RH 45%, 70 F", "45 70F", "45% 70", "70°F and 45 %"} {
		c, err := ParseCondition(same, measure.Inch)
		require.NoError(t, err, same)
		require.NotNil(t, c.Air, same)
		assert.InDelta(t, 45, float64(c.Air.Humidity), 1e-9, same)
		assert.InDelta(t, 70, c.Air.Fahrenheit(), 1e-6, same)
		assert.Equal(t, "8.5 %", c.Moisture.String(), "Table 4-2: %s", same)
	}
	metric, err := ParseCondition("45% 21", measure.Millimetre)
	require.NoError(t, err)
	assert.InDelta(t, 21, float64(metric.Air.Celsius), 1e-6)
	cold, err := ParseCondition("80% -5C", measure.Inch)
	require.NoError(t, err)
	assert.InDelta(t, -5, float64(cold.Air.Celsius), 1e-6)
	for _, same := range []string{"8%", "8", "8 % MC", "8.0%", "mc 8%"} {
		c, err := ParseCondition(same, measure.Inch)
		require.NoError(t, err, same)
		assert.Nil(t, c.Air)
		assert.Equal(t, "8 %", c.Moisture.String(), same)
	}
	wet, err := ParseCondition("45% MC", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, "45 %", wet.Moisture.String())
}

func TestADoubtfulConditionIsAskedAbout(t *testing.T) {
	t.Parallel()
	for typed, problem := range map[string]string{
		"45%":         "may be wood that is still wet, or a humidity without its temperature",
		"45% RH":      "is a humidity without a temperature",
		"70F":         "is a temperature without a humidity",
		"45 70":       "does not say which is the humidity",
		"70F 21C":     "does not say which is the humidity",
		"45% 70F 8%":  "is neither a moisture content nor a humidity with a temperature",
		"dry":         "is neither a moisture content nor a humidity with a temperature",
		"":            "is neither a moisture content nor a humidity with a temperature",
		"100% 70F":    "is air that can hold no more water, where the sum ends",
		"45% 400F":    "is outside 0 to 180 °F (-17.8 to 82.2 °C), where the equation holds",
		"400%":        "is neither a moisture content nor a humidity with a temperature",
		"45% 70F 21C": "is neither a moisture content nor a humidity with a temperature",
	} {
		_, err := ParseCondition(typed, measure.Inch)
		e := inputError(t, err)
		assert.Equal(t, problem, e.Problem, typed)
		assert.NotEmpty(t, e.Hint, typed)
	}
}

func TestMovementKeepsToTheLinesOfShrinkageBeyondTheCoefficients(t *testing.T) {
	t.Parallel()
	cedar, maple := wood(t, "cedar, western redcedar"), wood(t, "maple, sugar")
	// Tables 4-3: 5.0 % and 9.9 % of the green width, all of it from green to ovendry.
	for _, c := range []struct {
		s     Species
		share float64
	}{{cedar, 0.050}, {maple, 0.099}} {
		change, err := c.s.Move(measure.Metre, 60, 0, FlatSawn)
		require.NoError(t, err)
		assert.True(t, change.Beyond)
		assert.InDelta(t, -c.share, metres(change.By), 0.0002, c.s.Name)
	}
	for _, from := range []Moisture{22, 25, 80} {
		change, err := cedar.Move(measure.Metre, from, 300, FlatSawn)
		require.NoError(t, err)
		assert.Zero(t, change.By, "redcedar keeps its size above 22 %%")
	}
	inside, err := maple.Move(measure.Metre, 6, 14, FlatSawn)
	require.NoError(t, err)
	assert.False(t, inside.Beyond)
	outside, err := maple.Move(measure.Metre, 5.999, 14, FlatSawn)
	require.NoError(t, err)
	assert.InDelta(t, metres(inside.By), metres(outside.By), 0.0005, "the two sums meet at the border")
}

func TestAWoodWithoutMovementIsRefused(t *testing.T) {
	t.Parallel()
	_, err := Species{Name: "bog wood"}.Move(measure.Metre, 6, 9, FlatSawn)
	assert.Equal(t, "has no published movement in my tables", inputError(t, err).Problem)
}

func TestMovementGoesThereAndBackAndInParts(t *testing.T) {
	t.Parallel()
	names := SpeciesNames()
	rapid.Check(t, func(t *rapid.T) {
		s := allSpecies()[rapid.SampledFrom(names).Draw(t, "species")]
		if s.CT == 0 {
			t.Skip("no figures")
		}
		grain := rapid.SampledFrom([]Grain{FlatSawn, QuarterSawn, RiftSawn}).Draw(t, "grain")
		width := measure.Length(rapid.Int64Range(10, 2000).Draw(t, "mm")) * measure.Millimetre
		draw := func(name string) Moisture {
			return Moisture(rapid.Float64Range(0, 5.9).Draw(t, name)) // beyond the coefficients: one line for all
		}
		a, b, c := draw("a"), draw("b"), draw("c")
		move := func(w measure.Length, from, to Moisture) measure.Length {
			change, err := s.Move(w, from, to, grain)
			require.NoError(t, err)
			return change.After
		}
		direct, parts := move(width, a, c), move(move(width, a, b), b, c)
		assert.InDelta(t, metres(direct), metres(parts), 3e-6, "by way of another moisture content")
		assert.InDelta(t, metres(width), metres(move(move(width, a, b), b, a)), 3e-6, "there and back")
		if b > a {
			assert.GreaterOrEqual(t, move(width, a, b), width, "wetter is wider")
		}
		rift, err := s.Move(width, 7, 12, RiftSawn)
		require.NoError(t, err)
		flat, err := s.Move(width, 7, 12, FlatSawn)
		require.NoError(t, err)
		quarter, err := s.Move(width, 7, 12, QuarterSawn)
		require.NoError(t, err)
		assert.InDelta(t, metres(flat.By+quarter.By)/2, metres(rift.By), 1.1e-6, "rift is the mean")
	})
}

func TestASlotIsNeverShorterThanTheMovement(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		move := measure.Length(rapid.Int64Range(-50_000_000, 50_000_000).Draw(t, "nm"))
		slot := SlotFor(move)
		for _, c := range []struct{ got, step measure.Length }{{slot.Inch, measure.Inch / 16}, {slot.Metric, measure.Millimetre}} {
			assert.GreaterOrEqual(t, c.got, move.Abs())
			assert.Less(t, c.got-move.Abs(), c.step)
			assert.Zero(t, c.got%c.step)
		}
	})
}

func TestDamperAirMakesWetterWood(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := Celsius(rapid.Float64Range(float64(coldest), float64(hottest)).Draw(t, "celsius"))
		h := Humidity(rapid.Float64Range(1, 97).Draw(t, "humidity"))
		dry, damp := Air{c, h}.Equilibrium(), Air{c, h + 1}.Equilibrium()
		assert.Greater(t, damp, dry)
		assert.Positive(t, dry)
		assert.Less(t, damp, Moisture(40))
	})
}

func TestWetterWoodWeighsMore(t *testing.T) {
	t.Parallel()
	for _, name := range SpeciesNames() {
		s := allSpecies()[name]
		if s.SpecificGravity == 0 {
			continue
		}
		last := Estimate(0)
		for m := Moisture(0); m <= s.Wettest(); m += 5 {
			density := s.Density(m)
			assert.Greater(t, density, last, "%s at %v", name, m)
			last = density
		}
		assert.Less(t, s.Basic(), s.SpecificGravity+1e-12, "%s weighs less by its green volume", name)
	}
}

func TestALotWeighsTheSumOfItsBoards(t *testing.T) {
	t.Parallel()
	lot, err := measure.ParseLot("2 @ 1x12x12; 3 @ 2x6x24", measure.Inch)
	require.NoError(t, err)
	total, heaviest, err := wood(t, "cherry").Weight(lot, 12)
	require.NoError(t, err)
	assert.InDelta(t, 35.0*(2+6)/12, float64(total)/Pound.size, 0.03, "eight board feet of cherry at 35.0 lb a cubic foot")
	assert.InDelta(t, 35.0*2/12, float64(heaviest)/Pound.size, 0.01)
	_, _, err = wood(t, "cherry").Weight(lot, 200)
	assert.Contains(t, inputError(t, err).Problem, "is more water than this wood can hold")
	_, _, err = wood(t, "apple").Weight(lot, 12)
	assert.Contains(t, inputError(t, err).Problem, "has no published weight")
}

// The printed modulus of elasticity comes from a load in the middle of a span of 14
// depths, read without shear (Wood Handbook, ch. 5): the two moduli taken apart must give
// that test's own answer back.
func TestOnTheTestSpanTheBeamGivesThePrintedStiffnessBack(t *testing.T) {
	t.Parallel()
	for _, s := range []string{"maple, sugar", "pine, eastern white", "oak, white"} {
		b := Beam{Span: 700 * measure.Millimetre, Width: 50 * measure.Millimetre, Depth: 50 * measure.Millimetre, Stiffness: wood(t, s).Stiffness, Ends: Simple}
		got, err := b.Deflections(100, Middle)
		require.NoError(t, err)
		want := 100 * 9.80665 * math.Pow(0.7, 3) / (48 * float64(b.Stiffness) * math.Pow(0.05, 4) / 12)
		assert.InEpsilon(t, want, metres(got[0].By), 0.005, s)
	}
}

func TestABeamIsScaledAsBeamsAre(t *testing.T) {
	t.Parallel()
	b := Beam{Span: 900 * measure.Millimetre, Width: 280 * measure.Millimetre, Depth: 19 * measure.Millimetre, Stiffness: 12e9, Ends: Simple}
	sag := func(b Beam, load Estimate, l Loading) float64 {
		all, err := b.Deflections(load, l)
		require.NoError(t, err)
		return metres(all[0].By)
	}
	one := sag(b, 30, Spread)
	assert.InEpsilon(t, 2*one, sag(b, 60, Spread), 0.001, "twice the load")
	wide := b
	wide.Width *= 2
	assert.InEpsilon(t, one/2, sag(wide, 30, Spread), 0.001, "twice the width")
	thick := b
	thick.Depth *= 2
	assert.InEpsilon(t, one/8, sag(thick, 30, Spread), 0.03, "twice the depth, bar the shear")
	fixed := b
	fixed.Ends = Fixed
	assert.InEpsilon(t, one/5, sag(fixed, 30, Spread), 0.05, "held ends, bar the shear")
	assert.Greater(t, sag(b, 30, Middle), one)
	_, err := fixed.Deflections(30, QuarterPoints)
	assert.Contains(t, inputError(t, err).Problem, "does not have for fixed ends")
	fixed.Ends = Cantilever
	_, err = fixed.Deflections(30, Middle)
	assert.Equal(t, "spread or end", inputError(t, err).Hint)
}

// Statics: the moment W·L times 1/8, 1/12, 1/4, 1/8, 1/8, 1/2 and 1.
func TestTheStressIsTheMomentByTheSection(t *testing.T) {
	t.Parallel()
	// 600 mm³ of section and 1 kN·mm of load by span: a moment of 1 is 1/0.6 MPa.
	b := Beam{Span: 100 * measure.Millimetre, Width: 36 * measure.Millimetre, Depth: 10 * measure.Millimetre}
	const load = Estimate(10 / 9.80665)
	for _, c := range []struct {
		ends    Ends
		loading Loading
		moment  float64
	}{{Simple, Spread, 1.0 / 8}, {Fixed, Spread, 1.0 / 12}, {Simple, Middle, 1.0 / 4}, {Fixed, Middle, 1.0 / 8},
		{Simple, QuarterPoints, 1.0 / 8}, {Cantilever, Spread, 1.0 / 2}, {Cantilever, FreeEnd, 1}} {
		b.Ends = c.ends
		assert.InEpsilon(t, c.moment/0.6*1e6, float64(b.Stress(load, c.loading)), 1e-9, "%s, %s", c.ends, c.loading)
	}
	assert.Zero(t, b.Stress(load, Middle))
}

func TestAMixKeepsItsRatioAndItsVolume(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ratio := Ratio{rapid.Float64Range(0.1, 100).Draw(t, "resin"), rapid.Float64Range(0.1, 100).Draw(t, "hardener")}
		dr, dh := Estimate(rapid.Float64Range(800, 2000).Draw(t, "dr")), Estimate(rapid.Float64Range(800, 2000).Draw(t, "dh"))
		const volume = Estimate(0.004)
		for name, m := range map[string]Mix{"volume": MixByVolume(volume, ratio, dr, dh), "weight": MixByWeight(volume, ratio, dr, dh)} {
			assert.InEpsilon(t, float64(volume), float64(m.ResinVolume+m.HardenerVolume), 1e-9, name)
			assert.InEpsilon(t, float64(dr), float64(m.ResinMass/m.ResinVolume), 1e-9, name)
			// Weight ratio is volume ratio times density ratio.
			assert.InEpsilon(t, float64(m.ResinVolume/m.HardenerVolume*dr/dh), float64(m.ResinMass/m.HardenerMass), 1e-9, name)
		}
		assert.InEpsilon(t, ratio.Resin/ratio.Hardener, float64(MixByVolume(volume, ratio, dr, dh).ResinVolume/MixByVolume(volume, ratio, dr, dh).HardenerVolume), 1e-9)
		assert.InEpsilon(t, ratio.Resin/ratio.Hardener, float64(MixByWeight(volume, ratio, dr, dh).ResinMass/MixByWeight(volume, ratio, dr, dh).HardenerMass), 1e-9)
	})
}

func TestARatioIsReadResinFirst(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]Ratio{"2:1": {2, 1}, "100 : 38": {100, 38}, "3 to 1": {3, 1}, "100/45": {100, 45}, "2,5:1": {2.5, 1}} {
		got, err := ParseRatio(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, want, got, typed)
	}
	for _, typed := range []string{"2", "", "2:", ":1", "two:one", "2:0", "2:1:1", "-2:1", strings.Repeat("1", 40) + ":1"} {
		_, err := ParseRatio(typed)
		assert.NotEmpty(t, inputError(t, err).Hint, typed)
	}
}

func TestAMarkIsReadInItsParts(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]Stamp{
		"XX-1234 HT":          {Country: "XX", Producer: "1234", Treatments: []string{"HT"}},
		"IPPC xx - 000\nHT":   {Symbol: true, Country: "XX", Producer: "000", Treatments: []string{"HT"}},
		"XX-000-MB":           {Country: "XX", Producer: "000", Treatments: []string{"MB"}},
		"DE-BW 490123 KD-HT":  {Country: "DE", Producer: "BW-490123", Treatments: []string{"KD", "HT"}},
		"XX1234 HTDB":         {Country: "XX", Producer: "1234", Treatments: []string{"HT", "DB"}},
		"HT-001 HT":           {Country: "HT", Producer: "001", Treatments: []string{"HT"}},
		"HT":                  {Treatments: []string{"HT"}},
		"MB HT":               {Treatments: []string{"MB", "HT"}},
		"XX-77 DH 2019 yard":  {Country: "XX", Producer: "77", Treatments: []string{"DH"}, Other: []string{"2019", "YARD"}},
		"painted green crate": {Other: []string{"PAINTED", "GREEN", "CRATE"}},
	} {
		got, err := ParseStamp(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, want, got, typed)
	}
	assert.True(t, Stamp{Treatments: []string{"SF"}}.Treated())
	assert.False(t, Stamp{Treatments: []string{"KD", "DB"}}.Treated(), "kiln drying alone is no treatment")
	_, err := ParseStamp(" -- ")
	assert.Equal(t, "holds no letters of a mark", inputError(t, err).Problem)
}

func TestLogsTheRulesWereNotMadeForAreRefused(t *testing.T) {
	t.Parallel()
	_, err := Doyle.Saw(3*measure.Inch, 8*measure.Foot)
	assert.Contains(t, inputError(t, err).Problem, "4 to 72 in")
	_, err = Doyle.Saw(12*measure.Inch, 2*measure.Foot)
	assert.Contains(t, inputError(t, err).Problem, "4 to 40 ft")
	none, err := Scribner.Saw(4*measure.Inch, 8*measure.Foot)
	require.NoError(t, err)
	assert.Equal(t, "0", none.Round(0), "never below nothing")
}

func TestAnAreaIsASizeOrAnArea(t *testing.T) {
	t.Parallel()
	face, faces, err := ParseArea("4 x 3 ft", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, 1, faces)
	assert.Equal(t, "12.0", face.Write(SquareFoot, 3))
	box, faces, err := ParseArea("3 x 2 x 1 ft", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, 6, faces)
	assert.Equal(t, "22.0", box.Write(SquareFoot, 3), "2·(6 + 2 + 3)")
	for typed, want := range map[string]string{"24 sq ft": "24.0", "24": "24.0", "2.2296 m2": "24.0"} {
		got, _, err := ParseArea(typed, measure.Inch)
		require.NoError(t, err, typed)
		assert.Equal(t, want, got.Write(SquareFoot, 3), typed)
	}
	for _, typed := range []string{"4 lb", "big", "0", "12 in"} {
		_, _, err := ParseArea(typed, measure.Inch)
		assert.NotEmpty(t, inputError(t, err).Problem, typed)
	}
}

func TestWeightsDensitiesAndTemperaturesTakeTheMembersUnit(t *testing.T) {
	t.Parallel()
	pounds, err := ParseMass("60", measure.Inch)
	require.NoError(t, err)
	assert.Equal(t, "27.2", pounds.Write(Kilogram, 3))
	kilos, err := ParseMass("60", measure.Millimetre)
	require.NoError(t, err)
	assert.Equal(t, "60.0", kilos.Write(Kilogram, 3))
	for _, same := range []string{"1.106", "1.106 g/cm3", "1106 kg/m3", "9.23 lb/US gal"} {
		d, err := ParseDensity(same, measure.Inch)
		require.NoError(t, err, same)
		assert.Equal(t, "1110", d.Write(KilogramPerCubic, 3), same)
	}
	for _, same := range []string{"70", "70F", "70 °F", "21.11 C"} {
		c, err := ParseTemperature(same, measure.Inch)
		require.NoError(t, err, same)
		assert.InDelta(t, 70, c.Fahrenheit(), 0.01, same)
	}
	for _, typed := range []string{"60 in", "$4/lb", "-3", "", "0 kg", "a ton of bricks"} {
		_, err := ParseMass(typed, measure.Inch)
		e := inputError(t, err)
		assert.Equal(t, typed, e.Value)
		assert.NotEmpty(t, e.Hint)
	}
}

func TestAnEstimateIsWrittenWithTheDigitsItDeserves(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		e    Estimate
		want string
	}{{706.04, "706 kg"}, {12_649, "12,600 kg"}, {1.8243, "1.82 kg"}, {0.099951, "0.100 kg"}, {9.996, "10.0 kg"}, {0, "0 kg"}} {
		assert.Equal(t, c.want, c.e.Text(Kilogram, 3))
	}
	rapid.Check(t, func(t *rapid.T) {
		x := Estimate(rapid.Float64Range(1e-6, 1e9).Draw(t, "x"))
		back, err := strconv.ParseFloat(x.Write(Kilogram, 3), 64)
		require.NoError(t, err)
		assert.InEpsilon(t, float64(x), back, 0.005001)
	})
}
