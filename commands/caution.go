package commands

// The cautions that several commands share. Where the issuer's own figure or number is
// from memory, the issuer's line says so.
var (
	oneLift = Caution{
		Text:   "One piece is over 23 kg (51 lb), the most the lifting equation allows one person under ideal conditions: two people or a trolley.",
		Issuer: "NIOSH Publication 94-110; 23 kg from memory",
	}
	manyLifts = Caution{
		Text:   "Together it is over 23 kg (51 lb), the most the lifting equation allows one person under ideal conditions: carry it in parts.",
		Issuer: "NIOSH Publication 94-110; 23 kg from memory",
	}
	loadBearing = Caution{
		Text:   "An estimate for sizing, not engineering. What holds people or hangs over them is for your local code and a licensed engineer; test with twice the expected load and say what was tested.",
		Issuer: "local building codes; EN 12520, EN 1728 and ASTM F1427, named from memory",
	}
	resinSkin = Caution{
		Text:   "Uncured epoxy sensitises the skin, often for life: nitrile gloves, long sleeves, fresh air, no solvent on skin, no sanding before full cure.",
		Issuer: "HSE Research Report RR079; EU-OSHA, Occupational exposure to epoxy resins",
	}
	deepPour = Caution{
		Text:   "A layer over 10 to 20 mm can overheat, smoke or burn: pour no deeper than the data sheet's maximum layer.",
		Issuer: "makers' data sheets and practice, from memory",
	}
	oilyRags = Caution{
		Text:   "Rags with drying oil can ignite by themselves: dry them flat outdoors in one layer, or keep them under water in a closed metal can; never in a pile.",
		Issuer: "NFPA safety tip sheet, Oily rags (as quoted by secondary pages)",
	}
	isocyanates = Caution{
		Text:   "Two-pack finishes with isocyanates cause asthma: no spraying without an air-fed breathing set.",
		Issuer: "HSE, from memory",
	}
	fumigated = Caution{
		Text:   "MB is methyl bromide, a toxic gas. Keep this wood out of indoor, food and children's pieces.",
		Issuer: "ISPM 15 (IPPC/FAO) for the mark; keeping it out is practice",
	}
	unmarked = Caution{
		Text:   "Nothing here shows a treatment. Keep unmarked wood out of indoor, food and children's pieces.",
		Issuer: "ISPM 15 (IPPC/FAO) for the mark; keeping it out is practice",
	}
	hiddenMetal = Caution{
		Text:   "Search for metal twice, with a magnet or a detector, before any blade; wear eye protection.",
		Issuer: "OSHA woodworking eTool for eye protection; the search is practice",
	}
)
