package commands

import (
	"context"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/store"
)

func (h house) pieceWipe() Command {
	return Command{
		Path:     "piece wipe",
		Summary:  "delete all your job sheets and lots, for good",
		Private:  true,
		Options:  []Option{confirmOption()},
		Examples: []string{"/piece wipe"},
		Run:      h.answerPieceWipe,
	}
}

func (h house) answerPieceWipe(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	if again, err := h.Store.Delivered(ctx, whoAsks(req), req.Delivery, req.Time); err != nil || again {
		return Reply{Title: "Your job sheets are deleted", Private: true}, err
	}
	var entries int
	kept := true
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		entries, kept, err = b.Size(ctx)
		return err
	})
	if err != nil {
		return Reply{}, err
	}
	word := "all-" + strconv.Itoa(entries)
	switch {
	case in.has("confirm") && in.text("confirm") != word:
		return Reply{}, &Mistake{Option: "confirm", Given: measure.Quote(in.text("confirm")), Problem: "is not what deletes everything as it stands now", Try: "/piece wipe"}
	case !kept:
		return Reply{Title: "There is nothing to delete", Private: true, Notes: []string{"I keep no job sheets of yours."}}, nil
	case !in.has("confirm"):
		return Reply{Title: "Delete all your job sheets?", Private: true,
			Notes: []string{"Your pieces, lots and all " + plural(entries, "entry") + " would go for good; there is no undo. Sales that you have shared stay; /sale withdraw takes those back.",
				"To keep a copy first: /piece export as:json. To do it: /piece wipe confirm:" + word},
			Actions: []Action{{Label: "Delete everything for good", Path: "piece wipe", Options: map[string]string{"confirm": word}}}}, nil
	}
	n, err := h.Store.WipeBook(ctx, whoAsks(req), req.Delivery, req.Time)
	if err != nil {
		return Reply{}, err
	}
	return Reply{Title: "Your job sheets are deleted", Private: true, Notes: []string{plural(n, "entry") + " deleted, and nothing of them is kept."}}, nil
}
