package commands

import (
	"context"
	"strconv"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

var moistureOption = Option{Name: "moisture", Summary: "the wood's moisture content; 12 % unless you say", Kind: Percent, Example: "8%"}

func (h house) weight() Command {
	return Command{
		Path:    "weight",
		Summary: "what a piece or a pile of boards weighs",
		Options: []Option{
			speciesOption,
			{Name: "size", Summary: "the three sides of one piece", Kind: Size, MaxLength: 160, Example: "39 x 23 x 1-3/4 in"},
			{Name: "boards", Summary: "instead of size: boards, thickness x width x length", Kind: Boards, MaxLength: maxLotText, Example: "6 @ 1x4x8'"},
			moistureOption,
			{Name: "count", Summary: "how many pieces of that size", Kind: Number, Example: "4"},
		},
		Examples: []string{
			"/weight species:hard maple size:39 x 23 x 1-3/4 in",
			"/weight species:white oak boards:3 @ 2x8x96\"; 2 @ 4x4x30\" moisture:20%",
		},
		Run: h.answerWeight,
	}
}

func (h house) answerWeight(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	wood, notes := in.species("species")
	lot, read := in.pieces()
	moisture := lumber.Moisture(12)
	if in.has("moisture") {
		moisture = value(in, "moisture", lumber.ParseMoisture)
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	if !wood.Density(moisture).IsKnown() {
		return Reply{}, &Mistake{Option: "species", Given: measure.Quote(req.Options["species"]), Problem: "has no published weight in my tables", Try: speciesOption.Example}
	}
	total, heaviest, err := wood.Weight(lot, moisture)
	if err != nil {
		return Reply{}, in.told(err, "moisture")
	}
	n := lot.Boards()
	reply := Reply{Title: "Weight of " + strconv.Itoa(n) + " pieces of " + wood.Name}
	if n == 1 {
		reply.Title = "Weight of one piece of " + wood.Name
	}
	reply.Figures = append(reply.Figures, massFigure("weight", "Weight", total, in))
	if n > 1 {
		label := "Each"
		if len(lot) > 1 {
			label = "The heaviest piece"
		}
		reply.Figures = append(reply.Figures, massFigure("weight_heaviest", label, heaviest, in))
	}
	reply.Figures = append(reply.Figures, estimateFigure("density", "At "+moisture.String()+" moisture", wood.Density(moisture), densities, 3, in))
	reply.Notes = append(append(append(reply.Notes, read), notes...), greenNote(wood)...)
	if !in.has("moisture") {
		reply.Notes = append(reply.Notes, "I took 12 % moisture, at which the handbook gives weights. Indoors most wood settles near 8 %; freshly sawn it holds 30 to well over 100 %. Add moisture:"+moistureOption.Example+".")
	}
	reply.Notes = append(reply.Notes, "From the average specific gravity of the wood, from which single boards differ by about a tenth (that from memory). "+provenanceNote(wood, true, false, false))
	switch {
	case heaviest > lumber.LiftingLimit:
		reply.Cautions = append(reply.Cautions, oneLift)
	case total > lumber.LiftingLimit:
		reply.Cautions = append(reply.Cautions, manyLifts)
	}
	return reply, nil
}

// pieces reads what is weighed and says how.
func (in *reading) pieces() (measure.Lot, string) {
	const mostPieces = 10_000
	switch {
	case in.err != nil:
		return nil, ""
	case in.has("size") && in.has("boards"):
		in.fail(&Mistake{Option: "boards", Given: measure.Quote(in.req.Options["boards"]), Problem: "stands beside size, and I weigh one of the two", Try: "size or boards alone"})
		return nil, ""
	case in.has("boards"):
		if in.has("count") {
			in.fail(&Mistake{Option: "count", Given: measure.Quote(in.req.Options["count"]), Problem: "belongs to size; boards have their own counts", Try: "boards:6 @ 1x4x8'"})
			return nil, ""
		}
		lot := in.lot("boards")
		return lot, "Read as: " + lotText(lot, in)
	case !in.has("size"):
		in.fail(&Mistake{Option: "size", Problem: "and boards are both missing, so there is nothing to weigh", Try: "size:39 x 23 x 1-3/4 in"})
		return nil, ""
	}
	size, count := in.size("size"), 1
	if in.has("count") {
		count = in.whole("count", 1, mostPieces)
	}
	if in.err != nil {
		return nil, ""
	}
	if len(size) != 3 {
		in.fail(&Mistake{Option: "size", Given: measure.Quote(in.req.Options["size"]), Problem: "has two sides; a weight needs all three", Try: "39 x 23 x 1-3/4 in"})
		return nil, ""
	}
	read := then("Read as: "+strconv.Itoa(count)+" @ "+sizeText(size, in)+".", in.smallNote(in.req.Options["size"], size))
	return measure.Lot{{Count: count, Board: measure.Board{Thickness: size[2], Width: size[1], Length: size[0]}}}, read
}
