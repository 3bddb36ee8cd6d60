package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceOpen() Command {
	name := textOption("name", price.FactName, "what you call the piece; only you see it", "Harbour bench")
	name.Required = true
	return Command{
		Path:     "piece open",
		Summary:  "begin a private job sheet for a piece",
		Private:  true,
		Options:  append(append([]Option{name}, h.planOptions()...), textOption("note", price.FactNote, "anything to remember", "for the window")),
		Examples: []string{"/piece open name:Harbour bench", "/piece open name:Harbour bench category:bench size:48 x 14 x 18 in estimate:12h rate:25 fee:2.9% fixed-fee:0.30 haggle:12%"},
		Ask:      []string{"name", "category", "size", "estimate", "rate"}, FormTitle: "a new piece",
		Run: h.answerPieceOpen,
	}
}

func (h house) answerPieceOpen(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	facts := merged(in.facts(map[string]price.Fact{"name": price.FactName, "note": price.FactNote}), in.planFacts())
	in.usualTerms(facts)
	if in.err != nil {
		return Reply{}, in.err
	}
	e, err := h.write(ctx, in, func(*store.Book) (price.Entry, error) {
		return price.Entry{Kind: price.EntryOpen, Currency: in.currency.Code(), Facts: facts}, nil
	})
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{
		Title:   "Piece " + strconv.Itoa(e.Piece) + " is open: " + oneLine(facts[price.FactName]),
		Private: true,
		Actions: []Action{
			{Label: "Start the clock", Path: "piece clock in", Options: map[string]string{"piece": strconv.Itoa(e.Piece)}},
			undoAction(e.Number),
		},
	}
	if plan := in.planRead(facts, in.currency); plan != "" {
		reply.Notes = append(reply.Notes, "Read as: "+plan+".")
	}
	reply.Notes = append(reply.Notes, "It is now the open piece, which every /piece command means unless you name another. Only you can see it.")
	if hole := planHole(facts); hole != "" {
		reply.Notes = append(reply.Notes, hole)
	}
	reply.Cautions = cautionsFor(pieceCautions, facts[price.FactName], facts[price.FactCategory])
	return reply, nil
}

// usualTerms takes from the member's settings what was not said.
func (in *reading) usualTerms(facts price.Facts) {
	if !in.has("rate") && in.knows("rate") {
		facts[price.FactRate] = price.NumberFact(in.minor(in.usual("rate", " an hour wanted")))
	}
	if !in.has("haggle") && in.knowsHaggle() {
		facts[price.FactHaggle] = price.FractionFact(in.haggle())
	}
}

// planHole names the one missing part of a plan that matters most.
func planHole(facts price.Facts) string {
	switch {
	case !facts.Has(price.FactRate):
		return "No wanted rate yet: I can give the break-even only. Say it with /piece plan rate:25."
	case !facts.Has(price.FactEstimate):
		return "No estimate yet: I cannot set it against the hours later. Say it with /piece plan estimate:12h."
	}
	return ""
}
