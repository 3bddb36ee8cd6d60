package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"tallystick/calc/price"
)

// A Book is one unchanging view of one member's job sheets. What it is asked for
// it looks for under that member alone, so that a number is never another's.
type Book struct {
	tx    *transaction
	owner []byte
	// tally is what is known of the ledger, for who has the turn at writing alone.
	tally *tally
	// certain says that what is written now cannot fail by what it says.
	certain func()
}

// A Piece is a piece as it stands in a list.
type Piece struct {
	Number         int
	Name, Category string
	Status         price.Status
}

// ownerID names a member beside job sheets.
func (s *Store) ownerID(w Who) []byte { return s.keys.mac(members, "sheets", w.Community, w.Member) }

func (s *Store) sheetReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "sheet", w.Community, w.Member, delivery)
}

// ReadBook lets f look into the member's job sheets.
func (s *Store) ReadBook(ctx context.Context, who Who, f func(b *Book) error) error {
	return s.read(ctx, "reading job sheets", func(tx *transaction) error {
		return f(&Book{tx: tx, owner: s.ownerID(who)})
	})
}

// DeletePiece deletes a piece and all its entries for good, once for a delivery;
// what it took of lots is left in them again. A number the member has not is
// ErrNotFound.
func (s *Store) DeletePiece(ctx context.Context, who Who, delivery string, number int, now time.Time) error {
	_, err := s.forget(ctx, who, delivery, now, func(tx *transaction, owner []byte) (int, error) {
		gone, err := execute(ctx, tx, "DELETE FROM piece WHERE owner = ? AND number = ?", owner, number)
		if err == nil && gone == 0 {
			err = ErrNotFound
		}
		if err != nil {
			return 0, err
		}
		if err := s.leaveEntries(ctx, tx, owner, now); err != nil {
			return 0, err
		}
		if _, err := execute(ctx, tx, "DELETE FROM stretch WHERE owner = ? AND piece = ?", owner, number); err != nil {
			return 0, err
		}
		return execute(ctx, tx, "DELETE FROM entry WHERE owner = ? AND piece = ?", owner, number)
	})
	return err
}

// WipeBook deletes all of the member's job sheets for good, once for a delivery,
// and gives the number of entries. Where there is nothing it is ErrNotFound.
func (s *Store) WipeBook(ctx context.Context, who Who, delivery string, now time.Time) (int, error) {
	return s.forget(ctx, who, delivery, now, func(tx *transaction, owner []byte) (int, error) {
		if err := s.leaveLedger(ctx, tx, owner, now); err != nil {
			return 0, err
		}
		entries, err := execute(ctx, tx, "DELETE FROM entry WHERE owner = ?", owner)
		if err != nil {
			return 0, err
		}
		books, err := execute(ctx, tx, "DELETE FROM book WHERE owner = ?", owner)
		if err == nil && books == 0 {
			err = ErrNotFound
		}
		return entries, err
	})
}

// forget deletes something once for a delivery, out of the journal too, and gives
// how many entries that were.
func (s *Store) forget(ctx context.Context, who Who, delivery string, now time.Time, f func(tx *transaction, owner []byte) (int, error)) (n int, err error) {
	err = s.write(ctx, "deleting job sheets", func(tx *transaction) error {
		receipt, owner := s.sheetReceipt(who, delivery), s.ownerID(who)
		number, again, err := done(ctx, tx, receipt)
		if err != nil || again {
			n = number
			return err
		}
		s.tallies.drop(owner)
		if n, err = f(tx, owner); err != nil {
			return err
		}
		return leave(ctx, tx, receipt, n, now)
	})
	if err != nil {
		return 0, err
	}
	s.empty(ctx)
	return n, nil
}

// Size gives how many entries there are, and whether there is a ledger at all: one
// whose pieces were all deleted is, and remembers which numbers were given.
func (b *Book) Size(ctx context.Context) (entries int, kept bool, err error) {
	err = b.tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM entry WHERE owner = ?1), EXISTS (SELECT 1 FROM book WHERE owner = ?1)`, b.owner).
		Scan(&entries, &kept)
	return entries, kept, err
}

const pieceColumns = "number, name, category, status"

func scanPiece(scan func(...any) error) (p Piece, err error) {
	err = scan(&p.Number, &p.Name, &p.Category, &p.Status)
	if errors.Is(err, sql.ErrNoRows) {
		err = ErrNotFound
	}
	return p, err
}

// Piece finds a piece by its number, or gives ErrNotFound.
func (b *Book) Piece(ctx context.Context, number int) (Piece, error) {
	if _, held := b.held(number); held {
		is := b.tally.fold.listed
		return Piece{number, is.name, is.category, is.status}, nil
	}
	return scanPiece(b.tx.QueryRowContext(ctx, "SELECT "+pieceColumns+" FROM piece WHERE owner = ? AND number = ?", b.owner, number).Scan)
}

// Named finds the pieces of a name, in either case, the newest first.
func (b *Book) Named(ctx context.Context, name string) ([]Piece, error) {
	return b.pieces(ctx, "name = ? COLLATE NOCASE ORDER BY number DESC LIMIT 10", name)
}

// Current finds the piece that was last opened, taken up, reopened or clocked in
// on, or gives ErrNotFound.
func (b *Book) Current(ctx context.Context) (Piece, error) {
	if b.tally != nil && b.tally.current > 0 {
		return b.Piece(ctx, b.tally.current)
	}
	var current Piece
	err := b.backLive(ctx, func(p passing) (bool, error) {
		switch p.kind {
		case price.EntryOpen, price.EntryTake, price.EntryIn, price.EntryReopen:
		default:
			return true, nil
		}
		var err error
		if current, err = b.Piece(ctx, p.piece); errors.Is(err, ErrNotFound) {
			return true, nil
		}
		return false, err
	})
	if err == nil && current.Number == 0 {
		err = ErrNotFound
	}
	if err == nil && b.tally != nil {
		b.tally.current = current.Number
	}
	return current, err
}

// Pieces lists at most limit pieces of a status below a number, the newest first.
// No status is every status, no number is from the newest on.
func (b *Book) Pieces(ctx context.Context, status price.Status, below, limit int) ([]Piece, error) {
	if below <= 0 {
		below = price.MaxNumber + 1
	}
	if status == "" {
		return b.pieces(ctx, "number < ? ORDER BY number DESC LIMIT ?", below, limit)
	}
	return b.pieces(ctx, "status = ? AND number < ? ORDER BY number DESC LIMIT ?", status, below, limit)
}

// OfCategory lists the pieces of a category, the oldest first.
func (b *Book) OfCategory(ctx context.Context, category string) ([]Piece, error) {
	return b.pieces(ctx, "category = ? ORDER BY number", category)
}

func (b *Book) pieces(ctx context.Context, where string, args ...any) ([]Piece, error) {
	rows, err := b.tx.QueryContext(ctx, "SELECT "+pieceColumns+" FROM piece WHERE owner = ? AND "+where, append([]any{b.owner}, args...)...)
	if err != nil {
		return nil, err
	}
	var list []Piece
	return list, each(rows, func() error {
		p, err := scanPiece(rows.Scan)
		list = append(list, p)
		return err
	})
}

// Counts gives how many pieces there are of each status.
func (b *Book) Counts(ctx context.Context) (map[price.Status]int, error) {
	rows, err := b.tx.QueryContext(ctx, "SELECT status, count(*) FROM piece WHERE owner = ? GROUP BY status", b.owner)
	if err != nil {
		return nil, err
	}
	counts := map[price.Status]int{}
	return counts, each(rows, func() error {
		var status price.Status
		var n int
		err := rows.Scan(&status, &n)
		counts[status] = n
		return err
	})
}

// Categories gives how many pieces, sold or not, there are of each category.
func (b *Book) Categories(ctx context.Context) (map[string]int, error) {
	rows, err := b.tx.QueryContext(ctx, "SELECT category, count(*) FROM piece WHERE owner = ? GROUP BY category", b.owner)
	if err != nil {
		return nil, err
	}
	counts := map[string]int{}
	return counts, each(rows, func() error {
		var category string
		var n int
		err := rows.Scan(&category, &n)
		counts[category] = n
		return err
	})
}

// Sheet adds the entries of a piece up. A piece that is not there is ErrNotFound.
func (b *Book) Sheet(ctx context.Context, number int) (price.Sheet, error) {
	if sheet, held := b.held(number); held {
		return sheet.Clone(), nil
	}
	sheet, there, err := b.fold(ctx, number)
	if err == nil && !there {
		err = ErrNotFound
	}
	return sheet, err
}

func (b *Book) fold(ctx context.Context, piece int) (price.Sheet, bool, error) {
	entries, err := b.Entries(ctx, piece)
	if err != nil {
		return price.Sheet{}, false, err
	}
	f, err := b.foldEntries(ctx, entries)
	if err != nil {
		return price.Sheet{}, false, err
	}
	sheet, there := f.Sheet()
	return sheet, there, nil
}

// foldEntries adds the entries of a piece up. More are entries that are not written yet.
func (b *Book) foldEntries(ctx context.Context, entries []price.Entry, more ...price.Entry) (*price.Fold, error) {
	entries = append(entries, more...)
	shares := map[int]int64{}
	seen := map[int]bool{0: true}
	for _, e := range entries {
		if seen[e.Lot] {
			continue
		}
		seen[e.Lot] = true
		lot, _, err := b.foldLot(ctx, e.Lot, more...)
		if err != nil {
			return nil, err
		}
		for _, share := range lot.Shares {
			shares[share.Entry] = share.Cost
		}
	}
	return price.BeginFold(entries, shares)
}

// Lot finds a lot by its number, or gives ErrNotFound.
func (b *Book) Lot(ctx context.Context, number int) (price.Lot, error) {
	lot, there, err := b.foldLot(ctx, number)
	if err == nil && !there {
		err = ErrNotFound
	}
	return lot, err
}

func (b *Book) foldLot(ctx context.Context, number int, more ...price.Entry) (price.Lot, bool, error) {
	entries, err := b.entries(ctx, "lot = ? AND lot > 0 ORDER BY number", number)
	if err != nil {
		return price.Lot{}, false, err
	}
	for _, e := range more {
		if e.Lot == number {
			entries = append(entries, e)
		}
	}
	return price.FoldLot(entries)
}

// Lots lists at most limit lots below a number, the newest first.
func (b *Book) Lots(ctx context.Context, below, limit int) ([]price.Lot, error) {
	if below <= 0 {
		below = price.MaxNumber + 1
	}
	begun, err := b.entries(ctx, "kind = 'lot' AND lot < ? ORDER BY lot DESC", below)
	if err != nil {
		return nil, err
	}
	var lots []price.Lot
	for _, e := range begun {
		lot, there, err := b.foldLot(ctx, e.Lot)
		if err != nil {
			return nil, err
		}
		if there {
			lots = append(lots, lot)
		}
		if len(lots) == limit {
			break
		}
	}
	return lots, nil
}
