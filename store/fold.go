package store

import (
	"context"

	"tallystick/calc/price"
)

// foldsMost is how many members' pieces are kept added up.
const foldsMost = 512

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
// with it. A member's entries are numbered without gaps, and every one takes the
// fold that was kept: so the number before shows that nothing came between, and
// that nothing of the fold was taken back.
func (f *fold) before(e price.Entry) bool {
	return f != nil && f.piece == e.Piece && f.last+1 == e.Number && e.GoesOn()
}

// folds are kept by their owner, by whoever has the turn at writing. Deleting
// entries, or taking many in, drops the owner's.
type folds map[string]*fold

func (k folds) take(owner []byte) *fold {
	f := k[string(owner)]
	delete(k, string(owner))
	return f
}

func (k folds) drop(owner []byte) { delete(k, string(owner)) }

func (k folds) keep(owner []byte, f *fold) {
	for other := range k {
		if len(k) < foldsMost {
			break
		}
		delete(k, other)
	}
	k[string(owner)] = f
}

// goOn adds an entry to the fold, and changes what is kept of the piece's sum by as
// much.
func (b *Book) goOn(ctx context.Context, f *fold, e price.Entry) error {
	if f.entries++; f.entries > price.MaxEntries {
		return &FullError{Of: FullPiece}
	}
	f.last = e.Number
	if err := f.GoOn(e); err != nil {
		return err
	}
	switch e.Kind {
	case price.EntryIn:
		if err := b.runs(ctx, e.Piece, e.Facts[price.FactPerson], e.Number); err != nil {
			return err
		}
	case price.EntryOut:
		if _, err := execute(ctx, b.tx, "DELETE FROM clock WHERE owner = ? AND number = ?", b.owner, e.Target); err != nil {
			return err
		}
	}
	return b.list(ctx, f)
}

// settle makes what is kept of a piece's sum anew, and refuses entries that do not
// add up. It gives no fold where there is no piece.
func (b *Book) settle(ctx context.Context, piece, lot int) (*fold, error) {
	if lot > 0 {
		var count int
		if err := b.tx.QueryRowContext(ctx, "SELECT count(*) FROM entry WHERE owner = ? AND lot = ? AND lot > 0", b.owner, lot).Scan(&count); err != nil {
			return nil, err
		}
		if count > price.MaxEntries {
			return nil, &FullError{Of: FullLot}
		}
		if _, _, err := b.foldLot(ctx, lot); err != nil {
			return nil, err
		}
	}
	if piece == 0 {
		return nil, nil
	}
	entries, err := b.Entries(ctx, piece)
	if err != nil {
		return nil, err
	}
	if len(entries) > price.MaxEntries {
		return nil, &FullError{Of: FullPiece}
	}
	sum, err := b.foldEntries(ctx, entries)
	if err != nil {
		return nil, err
	}
	if _, err := execute(ctx, b.tx, "DELETE FROM clock WHERE owner = ? AND piece = ?", b.owner, piece); err != nil {
		return nil, err
	}
	sheet, there := sum.Sheet()
	if !there {
		_, err := execute(ctx, b.tx, "DELETE FROM piece WHERE owner = ? AND number = ?", b.owner, piece)
		return nil, err
	}
	f := &fold{Fold: sum, piece: piece, entries: len(entries), last: entries[len(entries)-1].Number}
	if err := b.list(ctx, f); err != nil {
		return nil, err
	}
	for _, c := range sheet.Running {
		if err := b.runs(ctx, piece, c.Person, c.Entry); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// runs puts a clock that entry number started on the list, where there is room.
func (b *Book) runs(ctx context.Context, piece int, person string, number int) error {
	put, err := execute(ctx, b.tx, `INSERT INTO clock (owner, person, piece, number) SELECT ?1, ?2, ?3, ?4
		WHERE (SELECT count(*) FROM clock WHERE owner = ?1) < ?5`, b.owner, person, piece, number, ClockLimit)
	if err == nil && put == 0 {
		return &FullError{Of: FullClocks}
	}
	return err
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
