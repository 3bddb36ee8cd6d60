package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"tallystick/calc/price"
)

const entryColumns = "number, piece, lot, kind, at, day, target, amount, currency, seconds, millionths, facts"

func scanEntry(scan func(...any) error) (e price.Entry, err error) {
	var facts string
	err = scan(&e.Number, &e.Piece, &e.Lot, &e.Kind, &e.At, &e.Day, &e.Target, &e.Amount, &e.Currency, &e.Seconds, &e.Millionths, &facts)
	if errors.Is(err, sql.ErrNoRows) {
		return e, ErrNotFound
	}
	if err != nil {
		return e, err
	}
	if json.Unmarshal([]byte(facts), &e.Facts) != nil {
		return e, fmt.Errorf("entry %d has facts that cannot be read", e.Number) // never the facts themselves
	}
	return e, nil
}

// Entry finds an entry of the member, or gives ErrNotFound.
func (b *Book) Entry(ctx context.Context, number int) (price.Entry, error) {
	return scanEntry(b.tx.QueryRowContext(ctx, "SELECT "+entryColumns+" FROM entry WHERE owner = ? AND number = ?", b.owner, number).Scan)
}

// Entries lists the entries of a piece in order.
func (b *Book) Entries(ctx context.Context, piece int) ([]price.Entry, error) {
	return b.entries(ctx, "piece = ? ORDER BY number", piece)
}

// LotEntries lists the entries of a lot in order, with the shares that pieces took.
func (b *Book) LotEntries(ctx context.Context, lot int) ([]price.Entry, error) {
	return b.entries(ctx, "lot = ? AND lot > 0 ORDER BY number", lot)
}

// EveryEntry lists all entries of the member in order.
func (b *Book) EveryEntry(ctx context.Context) ([]price.Entry, error) {
	return b.entries(ctx, "true ORDER BY number")
}

func (b *Book) entries(ctx context.Context, where string, args ...any) ([]price.Entry, error) {
	rows, err := b.tx.QueryContext(ctx, "SELECT "+entryColumns+" FROM entry WHERE owner = ? AND "+where, append([]any{b.owner}, args...)...)
	if err != nil {
		return nil, err
	}
	var list []price.Entry
	return list, each(rows, func() error {
		e, err := scanEntry(rows.Scan)
		list = append(list, e)
		return err
	})
}

// Last finds the newest entry that an undo would take back, or gives ErrNotFound.
func (b *Book) Last(ctx context.Context) (price.Entry, error) {
	return scanEntry(b.tx.QueryRowContext(ctx, "SELECT "+entryColumns+` FROM entry e WHERE owner = ?1 AND kind <> 'undo'
		AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.owner = ?1 AND u.kind = 'undo' AND u.target = e.number)
		ORDER BY number DESC LIMIT 1`, b.owner).Scan)
}

// Limit finds the length from which a clock counts as forgotten, in seconds, as the
// member last set it; 0 where they never did.
func (b *Book) Limit(ctx context.Context) (int64, error) {
	set, err := b.entries(ctx, `kind = 'limit' AND NOT EXISTS
		(SELECT 1 FROM entry u WHERE u.owner = entry.owner AND u.kind = 'undo' AND u.target = entry.number)
		ORDER BY number DESC LIMIT 1`)
	if err != nil || len(set) == 0 {
		return 0, err
	}
	return set[0].Seconds, nil
}

// add numbers an entry, writes it, and brings the lists that hang on it up to date.
func (b *Book) add(ctx context.Context, e *price.Entry) error {
	var piece, lot int
	opens, begins := e.Kind == price.EntryOpen, e.Kind == price.EntryLot
	err := b.tx.QueryRowContext(ctx, `INSERT INTO book (owner, next_entry, next_piece, next_lot) VALUES (?1, 2, 1 + ?2, 1 + ?3)
		ON CONFLICT DO UPDATE SET next_entry = next_entry + 1, next_piece = next_piece + ?2, next_lot = next_lot + ?3
		RETURNING next_entry - 1, next_piece - 1, next_lot - 1`, b.owner, opens, begins).Scan(&e.Number, &piece, &lot)
	if err != nil {
		return err
	}
	if opens {
		e.Piece = piece
	}
	if begins {
		e.Lot = lot
	}
	if err := b.insert(ctx, *e); err != nil {
		return err
	}
	f := b.folds.take(b.owner)
	if f.before(*e) {
		err = b.goOn(ctx, f, *e)
	} else {
		f, err = b.settle(ctx, e.Piece, e.Lot)
	}
	if err == nil && f != nil {
		b.folds.keep(b.owner, f)
	}
	if err != nil {
		return err
	}
	return b.withinLimits(ctx, e.Number, piece, lot)
}

func (b *Book) insert(ctx context.Context, e price.Entry) error {
	if problem := e.Unsound(); problem != "" {
		return fmt.Errorf("entry %d %s", e.Number, problem)
	}
	if e.Facts == nil {
		e.Facts = price.Facts{}
	}
	facts, err := json.Marshal(e.Facts)
	if err != nil {
		return fmt.Errorf("writing facts of entry %d: %w", e.Number, err)
	}
	_, err = b.tx.ExecContext(ctx, "INSERT INTO entry (owner, "+entryColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", b.owner,
		e.Number, e.Piece, e.Lot, e.Kind, e.At, e.Day, e.Target, e.Amount, e.Currency, e.Seconds, e.Millionths, string(facts))
	return err
}
