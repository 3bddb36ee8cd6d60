package lumber

import (
	_ "embed" // the published tables
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Provenance says whether a row of figures was looked up in its source or written down
// from memory: "looked up", "memory", or "looked up / memory" where a row has both.
// Empty means that there are no figures.
type Provenance string

// FromMemory reports whether any figure of the row is from memory.
func (p Provenance) FromMemory() bool { return strings.Contains(string(p), "memory") }

// Species is what is published of one kind of wood. Figures that were not found are
// zero.
type Species struct {
	// Name is the handbook's: "maple, sugar".
	Name string
	Strength
	Shrinkage
	Movement
}

// Strength is a row of Wood Handbook (FPL-GTR-190, 2010) Table 5-3a: averages of small
// clear pieces at 12 % moisture content.
type Strength struct {
	// SpecificGravity is ovendry mass by volume at 12 % moisture content, over the
	// density of water.
	SpecificGravity float64
	// OnGreenVolume is true where it is by green volume instead, as for imported woods.
	OnGreenVolume bool
	Rupture       Estimate // modulus of rupture, Pa
	Stiffness     Estimate // modulus of elasticity in bending, Pa
	Hardness      Estimate // side hardness, N
	StrengthFrom  Provenance
}

// Shrinkage is a row of Wood Handbook Table 4-3 or 4-4: green to ovendry, in percent of
// the green dimension.
type Shrinkage struct {
	Radial, Tangential, Volumetric float64
	ShrinkageFrom                  Provenance
}

// Movement is a row of Wood Handbook Table 13-5: change a point of moisture content, as a
// share of the dimension at 10 %.
type Movement struct {
	CR, CT float64
	// Start is the moisture content, in percent, below which the wood shrinks.
	Start        float64
	MovementFrom Provenance
	// MovementOf names the trade group whose row it is, where the wood has none of its
	// own. Reckoned is true where there is no row at all and the figures follow from
	// the shrinkage.
	MovementOf string
	Reckoned   bool
}

//go:embed mechanical.csv
var mechanicalCSV string

//go:embed shrinkage.csv
var shrinkageCSV string

//go:embed dimensional-change.csv
var dimensionalChangeCSV string

// usualStart is the moisture content at which shrinkage starts where the handbook gives
// no other (p. 13-16), in percent.
const usualStart = 30

// oneWood joins rows of the movement table to the name the other tables give the wood.
var oneWood = map[string]string{
	"khaya (African mahogany)":     "mahogany, African (Khaya spp.)",
	"red oak: water/laurel/willow": "oak, water, laurel and willow",
	"red oak, California":          "oak, California red",
	"white oak, live":              "oak, live",
	"white oak, overcup":           "oak, overcup",
	"white oak, Oregon white":      "oak, Oregon white",
}

// pooled names the row of the movement table that holds for a wood of a trade group.
var pooled = map[string]string{
	"oak, northern red":  "red oak, commercial",
	"oak, southern red":  "red oak, commercial",
	"oak, white":         "white oak, commercial",
	"oak, bur":           "white oak, commercial",
	"oak, swamp white":   "white oak, commercial",
	"hickory, mockernut": "hickory, true",
	"hickory, pignut":    "hickory, true",
	"hickory, shagbark":  "hickory, true",
}

// allSpecies is read from the tables when it is first asked for, by name.
var allSpecies = sync.OnceValue(func() map[string]Species {
	all := map[string]Species{}
	named := func(name string) Species {
		if joined, ok := oneWood[name]; ok {
			name = joined
		}
		s := all[name]
		s.Name = name
		return s
	}
	for _, r := range publishedRows(mechanicalCSV) {
		s := named(r["species"])
		s.Strength = Strength{SpecificGravity: figure(r["sg_12"]), Rupture: Estimate(1e3 * figure(r["mor_kPa"])),
			Stiffness: Estimate(1e6 * figure(r["moe_MPa"])), Hardness: Estimate(figure(r["side_hardness_N"])),
			StrengthFrom: provenance(r["status"]), OnGreenVolume: strings.Contains(r["status"], "GREEN volume")}
		all[s.Name] = s
	}
	for _, r := range publishedRows(shrinkageCSV) {
		s := named(r["species"])
		s.Shrinkage = Shrinkage{Radial: figure(r["radial_pct"]), Tangential: figure(r["tangential_pct"]),
			Volumetric: figure(r["volumetric_pct"]), ShrinkageFrom: provenance(r["status"])}
		all[s.Name] = s
	}
	for _, r := range publishedRows(dimensionalChangeCSV) {
		s := named(r["species"])
		s.Movement = Movement{CR: figure(r["CR"]), CT: figure(r["CT"]), Start: figure(r["mc_shrinkage_starts_pct"]),
			MovementFrom: provenance(r["status"])}
		all[s.Name] = s
	}
	for name, s := range all {
		all[name] = s.withMovement(all)
	}
	return all
})

// withMovement finds figures of movement for a wood that the table has no row for.
func (s Species) withMovement(all map[string]Species) Species {
	if s.CT > 0 {
		return s
	}
	if group, ok := all[pooled[s.Name]]; ok {
		s.Movement = group.Movement
		s.MovementOf = group.Name
		return s
	}
	s.Start = usualStart
	if s.Tangential > 0 {
		s.CR, s.CT = changeCoefficient(s.Radial, usualStart), changeCoefficient(s.Tangential, usualStart)
		s.MovementFrom, s.Reckoned = s.ShrinkageFrom, true
	}
	return s
}

// SpeciesNames lists every wood by name.
func SpeciesNames() []string {
	names := make([]string, 0, len(allSpecies()))
	for name := range allSpecies() {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// figure is a cell of an embedded table, or 0 where it is empty.
func figure(cell string) float64 {
	if cell == "" {
		return 0
	}
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic(fmt.Errorf("embedded table: %w", err))
	}
	return x
}

// provenance reads a status cell, whose words may be followed by a remark.
func provenance(cell string) Provenance {
	status, _, _ := strings.Cut(cell, ":")
	return Provenance(status)
}

// ShrinkageText writes the shrinkages as percentages, and a dash for what is missing.
func (s Shrinkage) ShrinkageText() (radial, tangential, volumetric string) {
	return percentText(s.Radial, 1), percentText(s.Tangential, 1), percentText(s.Volumetric, 1)
}

// CoefficientText writes the change a point of moisture content as percentages, and a
// dash for what is missing.
func (m Movement) CoefficientText() (radial, tangential string) {
	return percentText(100*m.CR, 3), percentText(100*m.CT, 3)
}

// StartText is the moisture content below which the wood shrinks: "30 %".
func (m Movement) StartText() string { return percentText(m.Start, 0) }

func percentText(x float64, places int) string {
	if x == 0 {
		return "–"
	}
	return strconv.FormatFloat(x, 'f', places, 64) + " %"
}
