package commands

import (
	"context"
	"errors"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// handbook is how the source of the wood figures is named in replies.
const handbook = "Wood Handbook, FPL-GTR-190 (2010)"

var speciesOption = Option{Name: "species", Summary: "the kind of wood, by the handbook's name or the trade's", Kind: Word, Required: true,
	MaxLength: 64, Example: "hard maple", Complete: completeSpecies}

func (h house) species() Command {
	name := speciesOption
	name.Name = "name"
	return Command{
		Path:     "species",
		Summary:  "a wood on one card: weight, hardness, stiffness and how it moves",
		Options:  []Option{name},
		Examples: []string{"/species name:hard maple", "/species name:red oak"},
		Run:      h.answerSpecies,
	}
}

func completeSpecies(_ context.Context, _ Request, typed string) ([]Choice, error) {
	var all []Choice
	for _, name := range append(lumber.TradeNames(), lumber.SpeciesNames()...) {
		all = append(all, Choice{Value: name, Label: name})
	}
	return matching(all, typed), nil
}

// species reads a wood. The notes say what was chosen where its name covers several.
func (in *reading) species(name string) (lumber.Species, []string) {
	var notes []string
	s := value(in, name, func(text string) (lumber.Species, error) {
		found, note, err := lumber.FindSpecies(text)
		if note != "" {
			notes = append(notes, note)
		}
		return found, nearestWood(err)
	})
	return s, notes
}

// nearestWood gives a name that is not known the one it was probably meant for.
func nearestWood(err error) error {
	input, ok := errors.AsType[*measure.InputError](err)
	if !ok || input.Hint != "" {
		return err
	}
	var names []string
	for _, list := range [][]string{lumber.TradeNames(), lumber.GroupNames(), lumber.SpeciesNames()} {
		for _, name := range list {
			names = append(names, strings.ToLower(name))
			// The handbook puts the kind behind: people say black walnut for "walnut, black".
			if wood, kind, ok := strings.Cut(strings.ToLower(name), ", "); ok {
				names = append(names, kind+" "+wood)
			}
		}
	}
	if near, ok := closest(input.Value, names); ok {
		input.Hint = near
	}
	return input
}

func (h house) answerSpecies(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	wood, notes := in.species("name")
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Title: capital(wood.Name), Notes: append([]string{"Read as: " + wood.Name + "."}, notes...)}
	missing := strengthCard(&reply, wood, in)
	missing = append(missing, movementCard(&reply, wood, in)...)
	if len(missing) > 0 {
		reply.Notes = append(reply.Notes, "Not in my tables for this wood: "+strings.Join(missing, ", ")+".")
	}
	reply.Notes = append(append(reply.Notes, movementNotes(wood)...), greenNote(wood)...)
	reply.Notes = append(reply.Notes, provenanceNote(wood, true, true, true)+" Averages of small clear pieces: single boards differ.")
	if names := lumber.NamesOf(wood); len(names) > 0 {
		reply.Notes = append(reply.Notes, "I also know it as "+strings.Join(names, ", ")+".")
	}
	return reply, nil
}

// strengthCard adds what the wood weighs and bears, and names what is missing.
func strengthCard(reply *Reply, wood lumber.Species, in *reading) (missing []string) {
	const dry = 12
	density := wood.Density(dry)
	for _, f := range []struct {
		key, label, name string
		e                lumber.Estimate
		s                scales
		digits           int
	}{
		{"density", "Weight at 12 % moisture", "weight", density, densities, 3},
		{"hardness", "Side hardness (Janka)", "side hardness", wood.Hardness, forces, 3},
		{"stiffness", "Stiffness (modulus of elasticity)", "stiffness", wood.Stiffness, stiffnesses, 3},
		{"rupture", "Breaking stress in bending", "breaking stress", wood.Rupture, stresses, 3},
	} {
		if f.e.IsKnown() {
			reply.Figures = append(reply.Figures, estimateFigure(f.key, f.label, f.e, f.s, f.digits, in))
		} else {
			missing = append(missing, f.name)
		}
	}
	return missing
}

// movementCard adds how the wood shrinks and moves, and names what is missing.
func movementCard(reply *Reply, wood lumber.Species, in *reading) (missing []string) {
	t := Table{Title: "How it moves", Columns: []string{"across", "green to ovendry", "a point of moisture"}}
	radial, tangential, volume := wood.ShrinkageText()
	cr, ct := wood.CoefficientText()
	t.Rows = [][]string{
		{"quarter-sawn (radial)", radial, cr},
		{"flat-sawn (tangential)", tangential, ct},
		{"volume", volume, "–"},
	}
	if wood.Tangential == 0 {
		missing = append(missing, "shrinkage")
	}
	if wood.CT == 0 {
		return append(missing, "movement")
	}
	reply.Tables = append(reply.Tables, t)
	board := measure.Foot
	if in.bare == measure.Millimetre {
		board = 300 * measure.Millimetre
	}
	if change, err := wood.Move(board, 8, 11, lumber.FlatSawn); err == nil {
		reply.Notes = append(reply.Notes, "A flat-sawn board "+shortLength(board, in)+" wide grows about "+moveText(change.By, in)+" from 8 to 11 % moisture.")
	}
	return missing
}

// movementNotes say where the figures of movement are another wood's, or reckoned.
func movementNotes(wood lumber.Species) []string {
	switch {
	case wood.MovementOf != "":
		return []string{"Movement a point is the handbook's for the trade group " + wood.MovementOf + "."}
	case wood.Reckoned:
		return []string{"The handbook prints no movement a point for this wood; it is worked out from its shrinkage, taken to start at 30 %."}
	}
	return nil
}

// greenNote says where a weight was brought from green volume to the moisture asked for.
func greenNote(wood lumber.Species) []string {
	if !wood.OnGreenVolume {
		return nil
	}
	return []string{"The handbook gives this imported wood's specific gravity on green volume; I brought it to the moisture by its shrinkage."}
}

// provenanceNote says which figures were looked up and which are from memory.
func provenanceNote(wood lumber.Species, strength, shrinkage, movement bool) string {
	var looked, memory, mixed []string
	add := func(wanted bool, name string, p lumber.Provenance) {
		switch {
		case !wanted || p == "":
		case p == "looked up":
			looked = append(looked, name)
		case p == "memory":
			memory = append(memory, name)
		default:
			mixed = append(mixed, name)
		}
	}
	add(strength, "weight and strength (Tables 5-3a and 5-5a)", wood.StrengthFrom)
	add(shrinkage, "shrinkage (Tables 4-3 and 4-4)", wood.ShrinkageFrom)
	add(movement && !wood.Reckoned, "movement (Table 13-5)", wood.MovementFrom)
	parts := []string{handbook + "."}
	for _, p := range []struct {
		lead  string
		names []string
	}{{"Looked up", looked}, {"From memory", memory}, {"Partly from memory", mixed}} {
		if len(p.names) > 0 {
			parts = append(parts, p.lead+": "+strings.Join(p.names, ", ")+".")
		}
	}
	return strings.Join(parts, " ")
}
