package store

import (
	"context"
	"slices"
	"time"

	"tallystick/calc/price"
)

// WriteBook adds one entry to the member's ledger: f looks at how things stand and
// gives it. The numbers of the entry, and of the piece or lot that it begins, are
// set here. A delivery that comes again adds nothing and gives the first entry
// again; it is known while that is among the member's newest hundred. Entries that
// contradict those before them are a *price.ContradictionError.
func (s *Store) WriteBook(ctx context.Context, who Who, delivery string, now time.Time, f func(b *Book) (price.Entry, error)) (e price.Entry, err error) {
	added, err := s.enter(ctx, who, delivery, now, f, false)
	return added.Entry, err
}

// An Added is an entry that was added, with how its piece stands then.
type Added struct {
	Entry price.Entry
	// Stands is nil where it would have to be read.
	Stands *Standing
}

// A Standing is how a piece, and the member's clocks, stand.
type Standing struct {
	Sheet  price.Sheet
	Clocks []Clock
}

// Enter is WriteBook, and tells how the piece of the entry stands after it where that
// is at hand.
func (s *Store) Enter(ctx context.Context, who Who, delivery string, now time.Time, f func(b *Book) (price.Entry, error)) (Added, error) {
	return s.enter(ctx, who, delivery, now, f, true)
}

func (s *Store) enter(ctx context.Context, who Who, delivery string, now time.Time, f func(b *Book) (price.Entry, error), stands bool) (added Added, err error) {
	// Hashed before the turn comes, so that nobody waits for it.
	owner, receipt := s.ownerID(who), s.sheetReceipt(who, delivery)
	err = s.write(ctx, "adding entry", func(tx *transaction) error {
		ctx := context.WithoutCancel(ctx) // short, and watching a context costs more
		b, err := s.book(ctx, tx, owner)
		if err != nil {
			return err
		}
		number, again, err := b.tally.delivered(ctx, tx, receipt, now)
		if err != nil {
			return err
		}
		if again {
			added.Entry, err = b.Entry(ctx, number)
			return err
		}
		if added.Entry, err = f(b); err != nil {
			return err
		}
		if err := b.add(ctx, &added.Entry, receipt[:entryReceiptBytes]); err != nil {
			return err
		}
		if stands {
			added.Stands = b.standing(added.Entry.Piece)
		}
		return nil
	})
	return added, err
}

// standing is how a piece stands, where that is known.
func (b *Book) standing(piece int) *Standing {
	sheet, held := b.held(piece)
	if !held || !b.tally.clocksKnown {
		return nil
	}
	return &Standing{sheet.Clone(), slices.Clone(b.tally.clocks)}
}

// held gives the sheet of a piece where it is added up already, good until it goes on.
func (b *Book) held(piece int) (price.Sheet, bool) {
	if b.tally == nil || b.tally.fold == nil || b.tally.fold.piece != piece || b.tally.fold.last+1 != b.tally.next {
		return price.Sheet{}, false
	}
	return b.tally.fold.Sheet()
}

// Delivered tells whether the delivery has done its work on the member's sheets.
func (s *Store) Delivered(ctx context.Context, who Who, delivery string, now time.Time) (again bool, err error) {
	err = s.read(ctx, "looking for a delivery", func(tx *transaction) error {
		receipt := s.sheetReceipt(who, delivery)
		if _, again, err = done(ctx, tx, receipt); err != nil || again {
			return err
		}
		t, err := s.readTally(ctx, tx, s.ownerID(who))
		if err != nil {
			return err
		}
		_, again, err = t.delivered(ctx, tx, receipt, now)
		return err
	})
	return again, err
}
