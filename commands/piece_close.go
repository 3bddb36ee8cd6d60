package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
)

func (h house) pieceClose() Command {
	return Command{
		Path:    "piece close",
		Summary: "end a piece that is not sold: kept, given away or scrapped",
		Private: true,
		Options: []Option{
			{Name: "as", Summary: "what became of it", Kind: Word, Example: "kept", Required: true,
				Choices: []Choice{{string(price.StatusKept), "kept"}, {string(price.StatusGiven), "given away"}, {string(price.StatusScrapped), "scrapped"}}},
			onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece close as:kept"},
		Run:      h.answerPieceClose,
	}
}

func (h house) answerPieceClose(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		if err := ended(m.sheet, m.piece.Number); err != nil {
			return price.Entry{}, err
		}
		return price.Entry{Kind: price.EntryClose, Day: in.day("on"), Facts: price.Facts{price.FactOutcome: req.Options["as"]}}, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	return h.entered(ctx, in, e, "Piece "+strconv.Itoa(e.Piece)+" is "+statusText(price.Status(e.Facts[price.FactOutcome])),
		"Its costs and hours stay on its sheet; /piece learn counts it beside the sold ones.")
}
