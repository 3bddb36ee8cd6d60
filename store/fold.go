package store

import (
	"context"
	"fmt"
	"slices"

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
	sheet, _ := f.Sheet()
	var started price.Clock
	if e.Kind == price.EntryIn {
		started = sheet.Running[len(sheet.Running)-1]
		if err := b.mayRun(ctx, started.Person); err != nil {
			return nil, err
		}
	}
	if len(facts) <= factsCertain {
		b.certain()
	}
	err := b.insert(ctx, e, facts, receipt)
	if err == nil {
		err = b.list(ctx, f)
	}
	if err != nil {
		return nil, err
	}
	switch e.Kind {
	case price.EntryIn:
		_, err = b.tx.ExecContext(ctx, "INSERT INTO clock (owner, person, piece, number) VALUES (?, ?, ?, ?)", b.owner, started.Person, e.Piece, e.Number)
		b.started(started, f)
	case price.EntryOut:
		_, err = b.tx.ExecContext(ctx, "DELETE FROM clock WHERE owner = ? AND number = ?", b.owner, e.Target)
		b.tally.clocks = slices.DeleteFunc(b.tally.clocks, func(c Clock) bool { return c.Entry == e.Target })
	}
	return f, err
}

// mayRun refuses one clock too many.
func (b *Book) mayRun(ctx context.Context, person string) error {
	running, err := b.Clocks(ctx)
	switch {
	case err != nil:
		return err
	case slices.ContainsFunc(running, func(c Clock) bool { return samePerson(c.Person, person) }):
		return fmt.Errorf("a clock of theirs runs: %w", ErrConflict)
	case len(running) >= ClockLimit:
		return &FullError{Of: FullClocks}
	}
	return nil
}

// started puts a clock among those that are known.
func (b *Book) started(c price.Clock, f *fold) {
	if !b.tally.clocksKnown {
		return
	}
	at := slices.IndexFunc(b.tally.clocks, func(other Clock) bool { return lower(other.Person) > lower(c.Person) })
	if at < 0 {
		at = len(b.tally.clocks)
	}
	b.tally.clocks = slices.Insert(b.tally.clocks, at, Clock{c, Piece{f.piece, f.listed.name, f.listed.category, f.listed.status}})
}

// addAnew adds an entry to what is read of its piece and its lot.
func (b *Book) addAnew(ctx context.Context, e price.Entry, facts string, receipt []byte) (*fold, error) {
	f, err := b.reckon(ctx, e.Piece, e.Lot, e)
	if err == nil {
		err = b.begin(ctx, e)
	}
	if err == nil {
		err = b.stretchOn(ctx, e)
	}
	if err == nil {
		err = b.insert(ctx, e, facts, receipt)
	}
	if err != nil {
		return nil, err
	}
	return b.put(ctx, e.Piece, f)
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
func (b *Book) put(ctx context.Context, piece int, f *fold) (*fold, error) {
	if f == nil {
		return nil, nil
	}
	sheet, there := f.Sheet()
	if len(sheet.Running) > 0 || b.mayHaveClock(piece) {
		if b.tally != nil {
			b.tally.clocks, b.tally.clocksKnown = nil, false
		}
		if _, err := execute(ctx, b.tx, "DELETE FROM clock WHERE owner = ? AND piece = ?", b.owner, piece); err != nil {
			return nil, err
		}
	}
	if !there {
		if b.tally != nil {
			b.tally.current = 0 // it may have been this one
		}
		_, err := execute(ctx, b.tx, "DELETE FROM piece WHERE owner = ? AND number = ?", b.owner, piece)
		return nil, err
	}
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

// mayHaveClock tells whether a clock runs for the piece, or it is not known.
func (b *Book) mayHaveClock(piece int) bool {
	return b.tally == nil || !b.tally.clocksKnown ||
		slices.ContainsFunc(b.tally.clocks, func(c Clock) bool { return c.Piece.Number == piece })
}

// settle is reckon and put of what is written.
func (b *Book) settle(ctx context.Context, piece, lot int) error {
	f, err := b.reckon(ctx, piece, lot)
	if err == nil {
		_, err = b.put(ctx, piece, f)
	}
	return err
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
	if b.tally != nil && b.mayHaveClock(f.piece) { // which says what piece it is of
		b.tally.clocks, b.tally.clocksKnown = nil, false
	}
	_, err := execute(ctx, b.tx, `INSERT INTO piece (owner, number, name, category, status) VALUES (?, ?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET name = excluded.name, category = excluded.category, status = excluded.status
		WHERE (name, category, status) <> (excluded.name, excluded.category, excluded.status)`,
		b.owner, f.piece, now.name, now.category, now.status)
	return err
}
