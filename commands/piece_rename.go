package commands

import (
	"context"

	"tallystick/calc/price"
)

func (h house) pieceRename() Command {
	name := textOption("name", price.FactName, "the new name", "Window bench")
	name.Required = true
	return Command{
		Path:     "piece rename",
		Summary:  "give a piece another name",
		Private:  true,
		Options:  []Option{name, h.pieceOption()},
		Examples: []string{"/piece rename name:Window bench"},
		Run:      h.answerPieceRename,
	}
}

func (h house) answerPieceRename(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	was := ""
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		was = m.piece.Name
		facts := in.facts(map[string]price.Fact{"name": price.FactName})
		return price.Entry{Kind: price.EntryRename, Facts: facts}, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	title := "Renamed to " + oneLine(e.Facts[price.FactName])
	if was != "" {
		return h.entered(ctx, in, e, title, "It was "+oneLine(was)+".")
	}
	return h.entered(ctx, in, e, title)
}
