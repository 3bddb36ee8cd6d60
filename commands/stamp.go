package commands

import (
	"context"
	"strings"

	"tallystick/calc/lumber"
)

func (h house) stamp() Command {
	return Command{
		Path:    "stamp",
		Summary: "what the mark on a pallet or a crate says, and what it does not",
		Options: []Option{
			{Name: "text", Summary: "the letters and figures as they stand; none for unmarked wood", Kind: Word, Required: true, MaxLength: 80, Example: "XX-1234 HT"},
		},
		Examples: []string{"/stamp text:XX-1234 HT", "/stamp text:none"},
		Run:      h.answerStamp,
	}
}

// codes are what the codes of a mark mean: ISPM 15 (IPPC/FAO, adopted 2018) Annexes 1 and
// 2, in our words. What is from memory says so.
var codes = map[string]string{
	"HT": "heat treated: 56 °C for at least 30 minutes through the whole wood",
	"DH": "dielectric heating (microwave or radio frequency): 60 °C for one minute through the whole wood",
	"MB": "fumigated with methyl bromide, after the bark came off; the schedule of 24 hours and more is from memory",
	"SF": "fumigated with sulphuryl fluoride, in the standard since its 2018 revision; 24 to 48 hours by temperature, from memory",
	"KD": "kiln dried; it counts as treated only beside HT",
	"DB": "debarked; an older mark, since 2009 part of every treatment (that from memory)",
}

func (h house) answerStamp(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	none := saysUnmarked(req.Options["text"])
	var mark lumber.Stamp
	if !none {
		if mark = value(in, "text", lumber.ParseStamp); in.err != nil {
			return Reply{}, in.err
		}
	}
	reply := Reply{Title: "What the mark says"}
	t := Table{Columns: []string{"part", "says"}}
	add := func(part, says string) { t.Rows = append(t.Rows, []string{part, says}) }
	if mark.Symbol {
		add("IPPC", "the wheat-ear symbol of the plant protection convention")
	}
	if mark.Country != "" {
		add(mark.Country, "the country, by its ISO 3166 code")
	}
	if mark.Producer != "" {
		add(mark.Producer, "the producer, by a code the country's plant protection office gives")
	}
	for _, code := range mark.Treatments {
		add(code, codes[code])
	}
	for _, word := range mark.Other {
		add(word, "no part of the mark that I know")
	}
	if len(t.Rows) > 0 {
		reply.Tables = []Table{t}
	}
	reply.Notes = append(reply.Notes, stampNotes(mark, none)...)
	reply.Cautions = stampCautions(mark)
	return reply, nil
}

func saysUnmarked(text string) bool {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "none", "no", "nothing", "unmarked", "no mark", "no stamp", "-":
		return true
	}
	return false
}

func stampNotes(mark lumber.Stamp, none bool) []string {
	if none {
		return []string{
			"Read as: no mark at all.",
			"Unmarked wood is not shown to be treated. It is usually for use inside one country only; it says nothing of what it carried.",
		}
	}
	notes := []string{"Read as: " + markText(mark) + "."}
	var missing []string
	if mark.Country == "" {
		missing = append(missing, "the country")
	}
	if mark.Producer == "" {
		missing = append(missing, "the producer")
	}
	if !mark.Treated() {
		missing = append(missing, "a treatment (HT, DH, MB or SF)")
	}
	if len(missing) > 0 {
		notes = append(notes, "Missing for a whole mark: "+strings.Join(missing, ", ")+". A real mark also has the wheat-ear symbol in a frame, at the left.")
	} else {
		notes = append(notes, "All parts of the mark are there. A real one also has the wheat-ear symbol in a frame, at the left.")
	}
	if mark.Has("MB") {
		notes = append(notes, "The European Union, and the United Kingdom with it, ended the use of the gas on 18 March 2010 (Regulation (EC) 1005/2009, from memory); elsewhere it is still allowed for shipping wood.")
	}
	return append(notes,
		"It does not say what the pallet carried, what was spilled on it, or whether it was painted, went mouldy or stood in the wet: it is a plant-health mark only, and treatment keeps no later insects out.",
		"Coloured pallets with a firm's name often stay that firm's property.",
		"By ISPM 15 (IPPC/FAO, adopted 2018).")
}

// markText repeats a mark as it was understood.
func markText(mark lumber.Stamp) string {
	text := strings.TrimSpace(strings.Trim(mark.Country+"-"+mark.Producer, "-") + " " + strings.Join(mark.Treatments, " "))
	switch {
	case text == "":
		return "words, and no part of a mark"
	case len(mark.Other) > 0:
		return "the mark " + text + ", and other words"
	}
	return "the mark " + text
}

// stampCautions are at most two, the worse first.
func stampCautions(mark lumber.Stamp) []Caution {
	switch {
	case mark.Has("MB"):
		return []Caution{fumigated, hiddenMetal}
	case !mark.Treated():
		return []Caution{unmarked, hiddenMetal}
	}
	return []Caution{hiddenMetal}
}
