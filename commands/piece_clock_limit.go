package commands

import (
	"context"
	"time"

	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceClockLimit() Command {
	return Command{
		Path:     "piece clock limit",
		Summary:  "from which length a clock counts as forgotten",
		Private:  true,
		Options:  []Option{{Name: "length", Summary: "30 minutes to 24 hours", Kind: Hours, Example: "8h", Required: true}},
		Examples: []string{"/piece clock limit length:8h"},
		Run:      h.answerPieceClockLimit,
	}
}

func (h house) answerPieceClockLimit(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	length := in.hours("length")
	if in.err == nil && (length < leastLimit || length > 24*time.Hour) {
		in.fail(&Mistake{Option: "length", Given: in.text("length"), Problem: "is not between 30 minutes and 24 hours", Try: "8h"})
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	e, err := h.write(ctx, in, func(*store.Book) (price.Entry, error) {
		return price.Entry{Kind: price.EntryLimit, Seconds: price.Seconds(length)}, nil
	})
	if err != nil {
		return Reply{}, err
	}
	return Reply{Title: "A clock counts as forgotten after " + secondsText(e.Seconds), Private: true,
		Notes:   []string{"One that was stopped later counts nothing until you say what is right. Clocks that were stopped before stay as they are."},
		Actions: []Action{undoAction(e.Number)}}, nil
}
