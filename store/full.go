package store

import (
	"context"
	"errors"

	"tallystick/calc/price"
)

// How much is kept of one member. What is not counted here is bounded by what it
// hangs on; the table in DEVELOPERS.md lists everything that a member can add to.
const (
	// EntryLimit is how many entries of job sheets a member may have in all; a piece
	// and a lot may have price.MaxEntries each.
	EntryLimit = 100_000
	// PieceLimit and LotLimit are how many pieces and lots.
	PieceLimit = 5_000
	LotLimit   = 1_000
	// ClockLimit is how many clocks may run at once, those of helpers among them.
	ClockLimit = 20
	// SaleLimit is how many shared sales.
	SaleLimit = 500
	// RoomsKept is how many questions to the room are kept of a member, the closed
	// ones among them.
	RoomsKept = 100
)

// ErrFull is what is full: it has as much as is kept. A *FullError says what.
var ErrFull = errors.New("has as much as is kept")

// A Full is what of a member can be full.
type Full string

// What can be full.
const (
	FullPiece   Full = "piece"
	FullLot     Full = "lot"
	FullEntries Full = "entries"
	FullPieces  Full = "pieces"
	FullLots    Full = "lots"
	FullClocks  Full = "clocks"
	FullSales   Full = "sales"
	FullRooms   Full = "rooms"
)

// A FullError is the ErrFull of something in particular.
type FullError struct {
	Of Full
}

// Error says what is full.
func (e *FullError) Error() string { return string(e.Of) + ": " + ErrFull.Error() }

// Is makes it an ErrFull.
func (e *FullError) Is(target error) bool { return target == ErrFull }

// withinLimits refuses a ledger that has come to hold more than is kept. Numbers are
// given upwards, so that the last ones given bound how much there is without counting.
func (b *Book) withinLimits(ctx context.Context, entry, piece, lot int) error {
	return errors.Join(b.within(ctx, FullEntries, entry, 0), b.within(ctx, FullPieces, piece, 0), b.within(ctx, FullLots, lot, 0))
}

// room refuses an entry for which there is no room.
func (b *Book) room(ctx context.Context, e price.Entry) error {
	err := b.within(ctx, FullEntries, e.Number, 1)
	switch {
	case err != nil:
	case e.Kind == price.EntryOpen:
		err = b.within(ctx, FullPieces, e.Piece, 1)
	case e.Kind == price.EntryLot:
		err = b.within(ctx, FullLots, e.Lot, 1)
	}
	return err
}

// within refuses more of something than is kept, where there will be so many more.
func (b *Book) within(ctx context.Context, of Full, given, more int) error {
	most, count := EntryLimit, "SELECT count(*) FROM entry WHERE owner = ?"
	switch of {
	case FullPieces:
		most, count = PieceLimit, "SELECT count(*) FROM piece WHERE owner = ?"
	case FullLots:
		most, count = LotLimit, "SELECT count(*) FROM entry WHERE owner = ? AND kind = 'lot'"
	}
	if given <= most {
		return nil
	}
	var there int
	if err := b.tx.QueryRowContext(ctx, count, b.owner).Scan(&there); err != nil {
		return err
	}
	if there+more > most {
		return &FullError{Of: of}
	}
	return nil
}
