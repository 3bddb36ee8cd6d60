package commands

import (
	"regexp"
	"strings"
)

// woodCaution is a caution with the words that call for it. The texts follow the
// published cautions that were looked up; see their issuers.
type woodCaution struct {
	words   *regexp.Regexp
	caution Caution
}

// stockCautions are for what goes into a piece, the most serious first.
var stockCautions = []woodCaution{
	{caution: Caution{"Wood treated for outdoors may hold arsenic, creosote or penta: never burn it, no sanding without a mask, never for food, bees or cutting boards. Local rules on treated wood come first.",
		"US EPA consumer information sheets for treated wood; USDA FPL Wood Handbook ch. 15"},
		words: wordsOf("deck", "decking", "fence", "sleeper", "sleepers", "railway tie", "pole", "dock", "playground", "treated", "pressure-treated")},
	{caution: Caution{"Assume lead in old paint: test first; no dry sanding, burning or power scraping; wet methods; keep children away.",
		"US EPA 747-K-97-001; 40 CFR 745 subpart E"},
		words: wordsOf("painted", "paint", "old door", "old window")},
	{caution: Caution{"Check the stamp of a pallet or crate: HT is heat, DH dielectric heat, MB methyl bromide. Keep MB and unmarked wood out of indoor, food and children's things (practice).",
		"ISPM 15, IPPC/FAO, for the marks"},
		words: wordsOf("pallet", "pallets", "crate", "crates", "dunnage")},
	{caution: oilyRags,
		words: wordsOf("linseed", "tung", "danish oil", "teak oil", "oil stain", "hardwax oil", "drying oil")},
	{caution: resinSkin,
		words: wordsOf("epoxy", "resin", "river table")},
	{caution: hiddenMetal,
		words: wordsOf("reclaimed", "barn", "salvaged", "beam", "beams", "demolition", "skip")},
}

// pieceCautions are for what a piece is.
var pieceCautions = []woodCaution{
	{caution: Caution{"Paint and finish on furniture and toys for children may hold at most 90 ppm of lead in the US; other places have rules of their own for children's things.",
		"16 CFR 1303 (CPSC)"},
		words: wordsOf("toy", "toys", "cot", "crib", "cradle", "high chair", "high-chair", "bunk", "toddler", "child", "children", "nursery")},
	{caution: Caution{"Tall pieces for clothes tip over: fit wall anchors. In the US, one of 27 in and 30 lb or more has to meet ASTM F2057-23.",
		"CPSC; 16 CFR 1261"},
		words: wordsOf("drawers", "dresser", "wardrobe", "armoire", "chest of drawers")},
}

func wordsOf(words ...string) *regexp.Regexp {
	for i, w := range words {
		words[i] = regexp.QuoteMeta(w)
	}
	return regexp.MustCompile(`(?i)(?:^|[^\p{L}])(?:` + strings.Join(words, "|") + `)(?:$|[^\p{L}])`)
}

// maxCautions is how many cautions a reply has at most.
const maxCautions = 2

// cautionsFor gives the cautions that some words call for.
func cautionsFor(known []woodCaution, words ...string) []Caution {
	text := strings.Join(words, "\n")
	var list []Caution
	for _, c := range known {
		if len(list) < maxCautions && c.words.MatchString(text) {
			list = append(list, c.caution)
		}
	}
	return list
}
