package store

import (
	"context"

	"tallystick/calc/price"
)

// A fold is the piece that a member last wrote on, added up.
type fold struct {
	*price.Fold
	piece, entries int
	last           int // the number of the newest entry
	listed         listed
}

// listed is what the list of pieces says of one.
type listed struct {
	name, category string
	status         price.Status
}

// before tells whether the fold is all there was before the entry, and can go on
// with it. A member's entries are numbered without gaps, so the number before shows
// that nothing came between.
func (f *fold) before(e price.Entry) bool {
	return f != nil && f.piece == e.Piece && f.last+1 == e.Number && e.GoesOn()
}

// factsCertain is how long facts may be and be written without a savepoint: shorter
// than the schema lets them be.
const factsCertain = 8000

// goOn adds an entry to the fold, and changes what is kept of the piece's sum by as
// much.
func (b *Book) goOn(ctx context.Context, f *fold, e price.Entry, facts string, receipt []byte) (*fold, error) {
	if f.entries++; f.entries > price.MaxEntries {
		return nil, &FullError{Of: FullPiece}
	}
	f.last = e.Number
	if err := f.GoOn(e); err != nil {
		return nil, err
	}
	clocks, err := b.clocksWith(ctx, f)
	if err != nil {
		return nil, err
	}
	if len(facts) <= factsCertain {
		b.certain()
	}
	if err = b.insert(ctx, e, facts, receipt, runningText(clocks)); err == nil {
		err = b.list(ctx, f)
	}
	if err != nil {
		return nil, err
	}
	b.tally.clocks = clocks
	return f, nil
}

// addAnew adds an entry to what is read of its piece and its lot.
func (b *Book) addAnew(ctx context.Context, e price.Entry, facts string, receipt []byte) (*fold, error) {
	f, err := b.reckon(ctx, e.Piece, e.Lot, e)
	if err != nil {
		return nil, err
	}
	clocks, err := b.clocksWith(ctx, f)
	if err == nil {
		err = b.begin(ctx, e)
	}
	if err == nil {
		err = b.stretchOn(ctx, e)
	}
	if err == nil {
		err = b.insert(ctx, e, facts, receipt, runningText(clocks))
	}
	if err != nil {
		return nil, err
	}
	b.tally.clocks = clocks
	return b.put(ctx, f)
}

// reckon adds a piece and a lot up, with entries that are not written yet, and refuses
// what does not add up. It gives no fold where there is no piece.
func (b *Book) reckon(ctx context.Context, piece, lot int, more ...price.Entry) (*fold, error) {
	if lot > 0 {
		var count int
		if err := b.tx.QueryRowContext(ctx, "SELECT count(*) FROM entry WHERE owner = ? AND lot = ? AND lot > 0", b.owner, lot).Scan(&count); err != nil {
			return nil, err
		}
		if count+len(more) > price.MaxEntries {
			return nil, &FullError{Of: FullLot}
		}
		if _, _, err := b.foldLot(ctx, lot, more...); err != nil {
			return nil, err
		}
	}
	if piece == 0 {
		return nil, nil
	}
	var entries []price.Entry
	if len(more) == 0 || more[0].Kind != price.EntryOpen {
		var err error
		if entries, err = b.Entries(ctx, piece); err != nil {
			return nil, err
		}
	}
	count := len(entries) + len(more)
	if count > price.MaxEntries {
		return nil, &FullError{Of: FullPiece}
	}
	sum, err := b.foldEntries(ctx, entries, more...)
	if err != nil {
		return nil, err
	}
	last := 0
	if len(more) > 0 {
		last = more[len(more)-1].Number
	} else if count > 0 {
		last = entries[count-1].Number
	}
	return &fold{Fold: sum, piece: piece, entries: count, last: last}, nil
}

// put makes what is kept of a piece's sum anew. Where the piece is no longer there it
// gives no fold.
func (b *Book) put(ctx context.Context, f *fold) (*fold, error) {
	if f == nil {
		return nil, nil
	}
	if _, there := f.Sheet(); !there {
		if b.tally != nil {
			b.tally.current = 0 // it may have been this one
		}
		_, err := execute(ctx, b.tx, "DELETE FROM piece WHERE owner = ? AND number = ?", b.owner, f.piece)
		return nil, err
	}
	return f, b.list(ctx, f)
}

// list brings what the list of pieces says of the fold's up to date, where it is
// another than it was.
func (b *Book) list(ctx context.Context, f *fold) error {
	sheet, _ := f.Sheet()
	now := listed{sheet.Facts[price.FactName], sheet.Facts[price.FactCategory], sheet.Status}
	if now == f.listed {
		return nil
	}
	f.listed = now
	_, err := execute(ctx, b.tx, `INSERT INTO piece (owner, number, name, category, status) VALUES (?, ?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET name = excluded.name, category = excluded.category, status = excluded.status
		WHERE (name, category, status) <> (excluded.name, excluded.category, excluded.status)`,
		b.owner, f.piece, now.name, now.category, now.status)
	return err
}
