package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"tallystick/calc/price"
)

// A Ledger is all of a member's job sheets, as they are carried away and back.
type Ledger struct {
	// NextEntry, NextPiece and NextLot are the numbers given next.
	NextEntry, NextPiece, NextLot int
	Entries                       []price.Entry
}

// Ledger gives all there is of the member's job sheets, what was undone too.
func (s *Store) Ledger(ctx context.Context, who Who) (l Ledger, err error) {
	err = s.read(ctx, "reading all job sheets", func(tx *transaction) error {
		b := &Book{tx: tx, owner: s.ownerID(who)}
		if l.NextEntry, l.NextPiece, l.NextLot, err = b.next(ctx); err != nil {
			return err
		}
		l.Entries, err = b.EveryEntry(ctx)
		return err
	})
	return l, err
}

func (b *Book) next(ctx context.Context) (entry, piece, lot int, err error) {
	err = b.tx.QueryRowContext(ctx, `SELECT coalesce(max(next_entry), 1), coalesce(max(next_piece), 1), coalesce(max(next_lot), 1)
		FROM book WHERE owner = ?`, b.owner).Scan(&entry, &piece, &lot)
	if err == nil {
		err = b.back(ctx, func(p passing) (bool, error) {
			entry = max(entry, p.number+1)
			return false, nil
		})
	}
	return entry, piece, lot, err
}

// ImportLedger takes a ledger in. Where the member has nothing it keeps its
// numbers; beside what the member has, which is ErrConflict unless beside is
// true, it gets the numbers behind theirs. It gives the first number of the pieces
// that came. Two clocks of one person, and shares or clocks that do not fit, are
// ErrConflict or a *price.ContradictionError, too many entries are ErrFull, and
// nothing is taken in.
func (s *Store) ImportLedger(ctx context.Context, who Who, delivery string, l Ledger, beside bool, now time.Time) (first int, err error) {
	err = s.writeAlone(ctx, "importing job sheets", func(tx *transaction) error {
		b := &Book{tx: tx, owner: s.ownerID(who)}
		receipt := s.sheetReceipt(who, delivery)
		number, again, err := done(ctx, tx, receipt)
		if err != nil || again {
			first = number
			return err
		}
		entry, piece, lot, err := b.next(ctx)
		if err != nil {
			return err
		}
		if entry > 1 && !beside {
			return fmt.Errorf("there are job sheets: %w", ErrConflict)
		}
		if len(l.Entries) > EntryLimit {
			return &FullError{Of: FullEntries}
		}
		if err := s.leaveEntries(ctx, tx, b.owner, now); err != nil {
			return err
		}
		first = piece
		_, err = execute(ctx, tx, `INSERT INTO book (owner, next_entry, next_piece, next_lot) VALUES (?, ?, ?, ?)
			ON CONFLICT DO UPDATE SET next_entry = excluded.next_entry, next_piece = excluded.next_piece, next_lot = excluded.next_lot`,
			b.owner, entry-1+l.NextEntry, piece-1+l.NextPiece, lot-1+l.NextLot)
		if err != nil {
			return err
		}
		if err := b.takeIn(ctx, l.Entries, entry-1, piece-1, lot-1); err != nil {
			return err
		}
		if err := b.withinLimits(ctx, entry-2+l.NextEntry, piece-2+l.NextPiece, lot-2+l.NextLot); err != nil {
			return err
		}
		return leave(ctx, tx, receipt, first, now)
	})
	return first, err
}

// takeIn writes entries with their numbers moved, and settles what they belong to. The
// newest is written last: it says what clocks run.
func (b *Book) takeIn(ctx context.Context, entries []price.Entry, entry, piece, lot int) error {
	running, err := b.Clocks(ctx)
	if err != nil || len(entries) == 0 {
		return err
	}
	touched := map[int]bool{}
	lots := map[int]bool{}
	moved := make([]price.Entry, 0, len(entries))
	for _, e := range entries {
		e.Number += entry
		if e.Target > 0 {
			e.Target += entry
		}
		if e.Piece > 0 {
			e.Piece += piece
			touched[e.Piece] = true
		}
		if e.Lot > 0 {
			e.Lot += lot
			lots[e.Lot] = true
		}
		moved = append(moved, e)
	}
	slices.SortFunc(moved, func(a, b price.Entry) int { return cmp.Compare(a.Number, b.Number) })
	if err := b.stretchOver(ctx, moved); err != nil {
		return err
	}
	newest := moved[len(moved)-1]
	for _, e := range moved[:len(moved)-1] {
		facts, err := encodeFacts(e)
		if err == nil {
			err = b.insert(ctx, e, facts, nil, nil)
		}
		if err != nil {
			return err
		}
	}
	facts, err := encodeFacts(newest)
	if err != nil {
		return err
	}
	for number := range lots {
		if _, err := b.reckon(ctx, 0, number, having(newest, newest.Lot == number)...); err != nil {
			return err
		}
	}
	for number := range touched {
		f, err := b.reckon(ctx, number, 0, having(newest, newest.Piece == number)...)
		if err == nil {
			f, err = b.put(ctx, f)
		}
		if err == nil && f != nil {
			sheet, _ := f.Sheet()
			running, err = joinClocks(running, clocksOf(number, sheet))
		}
		if err != nil {
			return err
		}
	}
	return b.insert(ctx, newest, facts, nil, runningText(running))
}

// having is the entry where it is one of those asked for.
func having(e price.Entry, is bool) []price.Entry {
	if !is {
		return nil
	}
	return []price.Entry{e}
}
