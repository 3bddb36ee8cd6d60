package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceUndo() Command {
	return Command{
		Path:     "piece undo",
		Summary:  "take your last entry back, whatever it was; again for the one before",
		Private:  true,
		Options:  []Option{{Name: "entry", Summary: "only if this is the last one", Kind: Number, Example: "7"}},
		Examples: []string{"/piece undo"},
		Run:      h.answerPieceUndo,
	}
}

func (h house) answerPieceUndo(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	wanted := in.whole("entry", 1, price.MaxNumber)
	if in.err != nil {
		return Reply{}, in.err
	}
	e, err := h.write(ctx, in, func(b *store.Book) (price.Entry, error) {
		last, err := b.Last(ctx)
		if isNotFound(err) {
			return price.Entry{}, &Refusal{Sentence: "There is no entry to take back."}
		}
		if err == nil && wanted > 0 && wanted != last.Number {
			err = &Mistake{Option: "entry", Given: in.text("entry"), Problem: "is not your last entry, which is " + strconv.Itoa(last.Number) + " (" + in.entryText(last) + ")",
				Try: "/piece undo entry:" + strconv.Itoa(last.Number) + ", or /piece correct entry:" + strconv.Itoa(wanted) + " strike:yes"}
		}
		return price.Entry{Kind: price.EntryUndo, Piece: last.Piece, Lot: last.Lot, Target: last.Number}, err
	})
	if err != nil {
		return Reply{}, err
	}
	return h.undone(ctx, in, e)
}

// undone says what was taken back and how things stand now.
func (h house) undone(ctx context.Context, in *reading, e price.Entry) (Reply, error) {
	reply := Reply{Title: "Undone: entry " + strconv.Itoa(e.Target), Private: true}
	err := h.Store.ReadBook(ctx, whoAsks(in.req), func(b *store.Book) error {
		was, err := b.Entry(ctx, e.Target)
		if err != nil {
			return err
		}
		reply.Title += ", " + in.entryText(was)
		p, err := b.Piece(ctx, e.Piece)
		if isNotFound(err) {
			return nil // the piece itself is gone, or it was about none
		}
		if err != nil {
			return err
		}
		s, err := b.Sheet(ctx, e.Piece)
		if err != nil {
			return err
		}
		line, err := standing(in, p, s)
		reply.Notes = append(reply.Notes, line)
		return err
	})
	reply.Notes = append(reply.Notes, "Everything is as it was before it. It stays in the trail, and counts nowhere.")
	return reply, err
}
