package lumber

import (
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"

	"tallystick/calc/measure"
)

// trade are the names makers and yards use, with the handbook's. A note says what was
// chosen where the trade name covers more than one wood.
var trade = map[string]struct{ name, note string }{
	"hard maple":           {"maple, sugar", ""},
	"rock maple":           {"maple, sugar", ""},
	"soft maple":           {"maple, red", "Soft maple is sold as red or silver maple; I took red."},
	"poplar":               {"yellow-poplar", "I took poplar as yellow-poplar, as North American yards sell it."},
	"tulip poplar":         {"yellow-poplar", ""},
	"tulipwood":            {"yellow-poplar", ""},
	"tulip":                {"yellow-poplar", ""},
	"red oak":              {"oak, northern red", "I took red oak as northern red oak."},
	"cherry":               {"cherry, black", ""},
	"walnut":               {"walnut, black", ""},
	"ash":                  {"ash, white", "I took ash as white ash."},
	"beech":                {"beech, American", "I took beech as American beech; European beech is not in my tables."},
	"basswood":             {"basswood, American", ""},
	"alder":                {"alder, red", ""},
	"hickory":              {"hickory, shagbark", "I took hickory as shagbark hickory."},
	"pecan":                {"hickory, pecan", ""},
	"sycamore":             {"sycamore, American", "I took sycamore as American sycamore, which is no maple."},
	"gum":                  {"sweetgum", ""},
	"red gum":              {"sweetgum", ""},
	"black gum":            {"tupelo, black", ""},
	"cottonwood":           {"cottonwood, eastern", ""},
	"aspen":                {"aspen, quaking", ""},
	"popple":               {"aspen, quaking", ""},
	"elm":                  {"elm, American", ""},
	"locust":               {"locust, black", ""},
	"willow":               {"willow, black", ""},
	"chestnut":             {"chestnut, American", ""},
	"persimmon":            {"persimmon, common", ""},
	"buckeye":              {"buckeye, yellow", ""},
	"cypress":              {"baldcypress", ""},
	"bald cypress":         {"baldcypress", ""},
	"western red cedar":    {"cedar, western redcedar", ""},
	"wrc":                  {"cedar, western redcedar", ""},
	"eastern red cedar":    {"cedar, eastern redcedar", ""},
	"aromatic cedar":       {"cedar, eastern redcedar", ""},
	"yellow cedar":         {"cedar, yellow (Alaska)", ""},
	"alaska cedar":         {"cedar, yellow (Alaska)", ""},
	"white cedar":          {"cedar, northern white", "I took white cedar as northern white cedar."},
	"douglas fir":          {"Douglas-fir, coast", "I took Douglas-fir as the coast kind."},
	"doug fir":             {"Douglas-fir, coast", "I took Douglas-fir as the coast kind."},
	"hemlock":              {"hemlock, western", "I took hemlock as western hemlock."},
	"larch":                {"larch, western", ""},
	"redwood":              {"redwood, young-growth", "I took redwood as young growth."},
	"white pine":           {"pine, eastern white", "I took white pine as eastern white pine."},
	"southern yellow pine": {"pine, loblolly", "Southern yellow pine is several woods; I took loblolly."},
	"southern pine":        {"pine, loblolly", "Southern yellow pine is several woods; I took loblolly."},
	"syp":                  {"pine, loblolly", "Southern yellow pine is several woods; I took loblolly."},
	"mahogany":             {"mahogany, true (Swietenia macrophylla)", "I took mahogany as true mahogany."},
	"honduran mahogany":    {"mahogany, true (Swietenia macrophylla)", ""},
	"genuine mahogany":     {"mahogany, true (Swietenia macrophylla)", ""},
	"african mahogany":     {"mahogany, African (Khaya spp.)", ""},
	"khaya":                {"mahogany, African (Khaya spp.)", ""},
	"limba":                {"limba (Terminalia superba)", ""},
	"korina":               {"limba (Terminalia superba)", ""},
	"white lauan":          {"lauan, white (Pentacme contorta)", ""},
	"spanish cedar":        {"Spanish-cedar", ""},
	"sitka":                {"spruce, Sitka", ""},
	"honey locust":         {"honeylocust", ""},
	"sweet gum":            {"sweetgum", ""},
	"commercial red oak":   {"red oak, commercial", ""},
	"commercial white oak": {"white oak, commercial", ""},
}

// several are names that cover woods too far apart to choose between, with two to try.
var several = map[string]string{
	"oak":       "red oak or white oak",
	"maple":     "hard maple or soft maple",
	"birch":     "yellow birch or paper birch",
	"pine":      "white pine or ponderosa pine",
	"cedar":     "western red cedar or eastern red cedar",
	"red cedar": "western red cedar or eastern red cedar",
	"spruce":    "sitka spruce or white spruce",
	"fir":       "douglas fir or white fir",
	"spf":       "white spruce or lodgepole pine",
	"hem fir":   "western hemlock or white fir",
	"lauan":     "light red lauan or white lauan",
	"tupelo":    "black tupelo or water tupelo",
}

// speciesHint is what can be typed where a wood is wanted.
const speciesHint = "hard maple or red oak"

// speciesIndex finds a name under its key.
var speciesIndex = sync.OnceValue(func() map[string]string {
	index := map[string]string{}
	for _, name := range SpeciesNames() {
		index[speciesKey(name)] = name
		plain, _, _ := strings.Cut(name, "(")
		index[speciesKey(plain)] = name
	}
	for alias, known := range trade {
		index[speciesKey(alias)] = known.name
	}
	return index
})

// maxSpeciesText is how much of a name is looked at, in bytes.
const maxSpeciesText = 64

// FindSpecies finds a wood by the handbook's name or by the trade's, in any order of
// words and either case. The note is a sentence where the name covers more than the wood
// that was taken. Names that cover woods too far apart are asked about; a name that is
// not known is an InputError without a hint.
//
//	species = word { [ "," | "-" ] word } .
func FindSpecies(text string) (s Species, note string, err error) {
	if len(text) > maxSpeciesText {
		return Species{}, "", &measure.InputError{Value: text, Problem: "is too long for the name of a wood", Hint: speciesHint}
	}
	key := speciesKey(text)
	if key == "" {
		return Species{}, "", &measure.InputError{Value: text, Problem: "names no wood", Hint: speciesHint}
	}
	if name, known := speciesIndex()[key]; known {
		for alias, t := range trade {
			if speciesKey(alias) == key {
				note = t.note
			}
		}
		return allSpecies()[name], note, nil
	}
	for name, hint := range several {
		if speciesKey(name) == key {
			return Species{}, "", &measure.InputError{Value: text, Problem: "covers several woods that differ", Hint: hint}
		}
	}
	return Species{}, "", &measure.InputError{Value: text, Problem: "is not a wood in my tables"}
}

// TradeNames lists the names besides the handbook's under which a wood is found.
func TradeNames() []string { return slices.Sorted(maps.Keys(trade)) }

// GroupNames lists the names that FindSpecies asks about, because they cover several
// woods.
func GroupNames() []string { return slices.Sorted(maps.Keys(several)) }

// NamesOf lists the trade names of one wood.
func NamesOf(s Species) []string {
	var names []string
	for _, alias := range TradeNames() {
		if trade[alias].name == s.Name {
			names = append(names, alias)
		}
	}
	return names
}

// speciesKey brings the ways to write a name to one: lower case, without marks, the
// words in order of the alphabet.
func speciesKey(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
	slices.Sort(words)
	return strings.Join(words, " ")
}
