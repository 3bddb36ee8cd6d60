package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
)

func (h house) pieceReopen() Command {
	return Command{
		Path:     "piece reopen",
		Summary:  "go on with a piece that has ended; a sale is taken back",
		Private:  true,
		Options:  []Option{h.pieceOption(), textOption("reason", price.FactReason, "why", "the buyer did not come")},
		Examples: []string{"/piece reopen reason:the buyer did not come"},
		Run:      h.answerPieceReopen,
	}
}

func (h house) answerPieceReopen(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	was := price.Status("")
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		was = m.sheet.Status
		if m.sheet.Ended == 0 {
			n := strconv.Itoa(m.piece.Number)
			return price.Entry{}, &Mistake{Option: "piece", Given: n, Problem: "has not ended, so it needs no reopening", Try: "/piece take piece:" + n + " to make it the open one"}
		}
		return price.Entry{Kind: price.EntryReopen, Facts: in.facts(map[string]price.Fact{"reason": price.FactReason})}, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	notes := []string{"It is the open piece again, with all its entries."}
	if was == price.StatusSold {
		notes = append(notes, "The sale no longer counts; it stays in the trail.")
	}
	return h.entered(ctx, in, e, "Piece "+strconv.Itoa(e.Piece)+" is reopened", notes...)
}
