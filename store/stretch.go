package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"

	"tallystick/calc/price"
)

// A passing is what is seen of an entry in going back.
type passing struct {
	number, piece int
	kind          price.EntryKind
	target        int
	receipt       []byte
}

// back goes through the member's entries from the newest on, until f has seen enough.
func (b *Book) back(ctx context.Context, f func(p passing) (more bool, err error)) error {
	below, some := math.MaxInt, 8
	for {
		var first, piece int
		err := b.tx.QueryRowContext(ctx, "SELECT first, piece FROM stretch WHERE owner = ? AND first < ? ORDER BY first DESC LIMIT 1",
			b.owner, below).Scan(&first, &piece)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		for below > first {
			list, err := b.passed(ctx, piece, first, below, some)
			if err != nil {
				return err
			}
			for _, p := range list {
				if more, err := f(p); err != nil || !more {
					return err
				}
				below = p.number
			}
			if len(list) < some {
				below = first
			}
			some = min(2*some, 128)
		}
	}
}

// passed gives at most so many entries of a stretch below a number, the newest first.
func (b *Book) passed(ctx context.Context, piece, first, below, most int) ([]passing, error) {
	rows, err := b.tx.QueryContext(ctx, `SELECT number, kind, target, receipt FROM entry
		WHERE owner = ? AND piece = ? AND number >= ? AND number < ? ORDER BY number DESC LIMIT ?`, b.owner, piece, first, below, most)
	if err != nil {
		return nil, err
	}
	var list []passing
	return list, each(rows, func() error {
		p := passing{piece: piece}
		err := rows.Scan(&p.number, &p.kind, &p.target, &p.receipt)
		list = append(list, p)
		return err
	})
}

// backLive is back through the entries that are neither undone nor an undo.
func (b *Book) backLive(ctx context.Context, f func(p passing) (more bool, err error)) error {
	undone := map[int]bool{}
	return b.back(ctx, func(p passing) (bool, error) {
		if p.kind == price.EntryUndo {
			undone[p.target] = true
			return true, nil
		}
		if undone[p.number] {
			return true, nil
		}
		return f(p)
	})
}

// stretchOn begins a stretch where the entry is of another piece than the one before.
func (b *Book) stretchOn(ctx context.Context, e price.Entry) error {
	if b.tally.lastPiece == e.Piece {
		return nil
	}
	return b.beginStretch(ctx, e.Number, e.Piece)
}

func (b *Book) beginStretch(ctx context.Context, number, piece int) error {
	_, err := b.tx.ExecContext(ctx, "INSERT INTO stretch (owner, first, piece) VALUES (?, ?, ?)", b.owner, number, piece)
	return err
}

// stretchOver begins the stretches of entries that are taken in behind all others, in
// order. Two of one number are an ErrConflict.
func (b *Book) stretchOver(ctx context.Context, order []price.Entry) error {
	for i, e := range order {
		if i > 0 && order[i-1].Number == e.Number {
			return fmt.Errorf("two entries of one number: %w", ErrConflict)
		}
		if i == 0 || order[i-1].Piece != e.Piece {
			if err := b.beginStretch(ctx, e.Number, e.Piece); err != nil {
				return err
			}
		}
	}
	return nil
}
