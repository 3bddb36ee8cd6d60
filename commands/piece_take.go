package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
)

func (h house) pieceTake() Command {
	piece := h.pieceOption()
	piece.Required, piece.Summary = true, "its number or name"
	return Command{
		Path:     "piece take",
		Summary:  "take up another piece, so that it is the open one",
		Private:  true,
		Options:  []Option{piece},
		Examples: []string{"/piece take piece:2"},
		Run:      h.answerPieceTake,
	}
}

func (h house) answerPieceTake(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(making) (price.Entry, error) { return price.Entry{Kind: price.EntryTake}, nil })
	if err != nil {
		return Reply{}, err
	}
	return h.entered(ctx, in, e, "Piece "+strconv.Itoa(e.Piece)+" is the open piece now")
}
