package commands

import (
	"context"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func confirmOption() Option {
	return Option{Name: "confirm", Summary: "what I tell you to type, after a first look", Kind: Word, Example: "1-12", MaxLength: 24}
}

func (h house) pieceDelete() Command {
	piece := h.pieceOption()
	piece.Required, piece.Summary = true, "its number or name"
	return Command{
		Path:     "piece delete",
		Summary:  "delete a piece with all its entries, for good",
		Private:  true,
		Options:  []Option{piece, confirmOption()},
		Examples: []string{"/piece delete piece:2"},
		Run:      h.answerPieceDelete,
	}
}

func (h house) answerPieceDelete(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	if again, err := h.Store.Delivered(ctx, whoAsks(req), req.Delivery, req.Time); err != nil || again {
		return Reply{Title: "The piece is deleted", Private: true}, err
	}
	var p store.Piece
	var entries []price.Entry
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		if p, err = in.piece(ctx, b); err != nil {
			return err
		}
		entries, err = b.Entries(ctx, p.Number)
		return err
	})
	if err != nil {
		return Reply{}, err
	}
	n := strconv.Itoa(p.Number)
	word := n + "-" + strconv.Itoa(entries[len(entries)-1].Number)
	if !in.has("confirm") {
		return Reply{Title: "Delete piece " + n + ", " + oneLine(p.Name) + "?", Private: true,
			Notes: []string{"Its " + plural(len(entries), "entry") + " would go for good; there is no undo. What it took of lots would be left in them again.",
				"To keep a copy first: /piece export as:json. To do it: /piece delete piece:" + n + " confirm:" + word},
			Actions: []Action{{Label: "Delete it for good", Path: "piece delete", Options: map[string]string{"piece": n, "confirm": word}}}}, nil
	}
	if in.text("confirm") != word {
		return Reply{}, &Mistake{Option: "confirm", Given: measure.Quote(in.text("confirm")), Problem: "is not what deletes this piece as it stands now", Try: "/piece delete piece:" + n}
	}
	if err := h.Store.DeletePiece(ctx, whoAsks(req), req.Delivery, p.Number, req.Time); err != nil {
		return Reply{}, err
	}
	return Reply{Title: "Piece " + n + " is deleted", Private: true, Notes: []string{"Nothing of it is kept. Its number is not used again."}}, nil
}
