package store

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
)

var errDrawn = errors.New("taken back")

// drawEntry draws an entry that often fits what a member has, and often does not.
func drawEntry(draw *rand.Rand) price.Entry {
	e := price.Entry{At: march.Unix(), Day: 20_000 + draw.IntN(9), Piece: 1 + draw.IntN(2)}
	target, amount := 1+draw.IntN(30), int64(1+draw.IntN(900))
	switch draw.IntN(16) {
	case 0:
		e.Kind, e.Piece, e.Currency, e.Facts = price.EntryOpen, 0, "USD", price.Facts{price.FactName: "Harbour bench"}
	case 1, 2, 3:
		e.Kind, e.Facts = price.EntryIn, price.Facts{price.FactBegan: "1772442000", price.FactPerson: []string{"Ida", "ida", "Äda"}[draw.IntN(3)]}
	case 4, 5, 6:
		e.Kind, e.Target, e.Seconds = price.EntryOut, target, amount
		if draw.IntN(3) == 0 {
			e.Facts = price.Facts{price.FactDoubtful: "1", price.FactElapsed: "99999"}
		}
	case 7:
		e.Kind, e.Seconds, e.Facts = price.EntryTime, amount, price.Facts{price.FactStage: "milling"}
	case 8:
		e.Kind, e.Amount, e.Currency, e.Facts = price.EntryCost, amount, "USD", price.Facts{price.FactGroup: price.CostPart}
	case 9:
		e.Kind, e.Facts = price.EntryRename, price.Facts{price.FactName: fmt.Sprint("Bench ", target)}
	case 10:
		e.Kind, e.Amount, e.Currency, e.Facts = price.EntryPost, amount, "USD", price.Facts{price.FactVenue: "market"}
	case 11:
		e.Kind, e.Facts = price.EntryClose, price.Facts{price.FactOutcome: string(price.StatusKept)}
		if draw.IntN(2) == 0 {
			e.Kind, e.Facts = price.EntryReopen, nil
		}
	case 12:
		e.Kind, e.Target = price.EntryUndo, target
	case 13:
		e.Kind, e.Target = price.EntryStrike, target
	case 14:
		e.Kind, e.Piece, e.Amount, e.Currency, e.Millionths, e.Facts = price.EntryLot, 0, amount, "USD", 9_000, price.Facts{price.FactUnit: price.UnitBoardFeet}
	default:
		e.Kind, e.Lot, e.Millionths, e.Currency = price.EntryShare, 1+draw.IntN(2), amount, "USD"
	}
	return e
}

// Whatever is added, refused, taken back or deleted: what is kept of each piece's
// sum, in memory and in the lists, is what all of its entries come to anew.
func TestASheetThatGoesOnIsTheSheetOfAllItsEntries(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	draw := rand.New(rand.NewPCG(9, 64))
	makers := []Who{{"guild", "ida"}, {"guild", "ole"}}
	added, wentOn, refused, told, carried := 0, 0, 0, 0, 0
	for n := range 2000 {
		who := makers[draw.IntN(len(makers))]
		owner := s.ownerID(who)
		kept := s.heldFold(owner)
		switch draw.IntN(120) {
		case 0:
			if err := s.DeletePiece(t.Context(), who, fmt.Sprint(n), 1+draw.IntN(3), march); err != nil {
				require.ErrorIs(t, err, ErrNotFound)
			}
		case 1:
			if _, err := s.WipeBook(t.Context(), who, fmt.Sprint(n), march); err != nil {
				require.ErrorIs(t, err, ErrNotFound)
			}
		case 10:
			l, err := s.Ledger(t.Context(), who)
			require.NoError(t, err)
			if _, err := s.ImportLedger(t.Context(), makers[draw.IntN(len(makers))], fmt.Sprint(n), l, true, march); err != nil {
				require.ErrorIs(t, err, ErrConflict) // two clocks of one person
				break
			}
			carried++
		case 2, 3, 4, 5, 6, 7, 8, 9: // added, and then lost with the transaction
			require.ErrorIs(t, s.write(t.Context(), "trying", func(tx *transaction) error {
				b, err := s.book(t.Context(), tx, owner)
				require.NoError(t, err)
				for range 1 + draw.IntN(3) {
					e := drawEntry(draw)
					if b.add(t.Context(), &e, nil) != nil {
						break
					}
				}
				return errDrawn
			}), errDrawn)
		default:
			e := drawEntry(draw)
			if before, err := s.entryOf(t, who, e.Target); err == nil && e.Kind != price.EntryOut {
				e.Piece, e.Lot = before.Piece, before.Lot
			}
			entered, err := s.Enter(t.Context(), who, fmt.Sprint(n), march, func(*Book) (price.Entry, error) { return e, nil })
			e = entered.Entry
			if contradiction, ok := errors.AsType[*price.ContradictionError](err); ok {
				refused++
				require.NoError(t, s.ReadBook(t.Context(), who, func(b *Book) error {
					all, err := b.Entries(t.Context(), e.Piece)
					if err == nil && e.Lot == 0 {
						_, _, err := price.FoldSheet(append(all, e), nil)
						assert.Error(t, err, contradiction)
					}
					return err
				}))
			} else if err == nil {
				added++
				if entered.Stands != nil {
					told++
					assertStands(t, s, who, entered)
				}
				if kept != nil && kept == s.heldFold(owner) {
					wentOn++
				}
			}
		}
		assertSettled(t, s, who)
		if n%10 == 0 {
			require.NoError(t, s.read(t.Context(), "auditing", func(tx *transaction) error { return auditSheets(t.Context(), tx) }))
			assertFound(t, s, who)
		}
		if t.Failed() {
			return
		}
	}
	assert.Greater(t, added, 400)
	assert.Greater(t, wentOn, 50, "the short way is taken")
	assert.Greater(t, refused, 100)
	assert.Greater(t, carried, 2)
	assert.Greater(t, told, 20, "how a piece stands is at hand")
}

// A ledger whose newest entry does not say what clocks run has them added up, and one
// that says something else is found out.
func TestTheClocksThatRunAreThoseTheEntriesSay(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	for i, e := range []price.Entry{
		{Kind: price.EntryOpen, Currency: "USD", Facts: price.Facts{price.FactName: "Harbour bench"}},
		{Kind: price.EntryIn, Piece: 1, Facts: price.Facts{price.FactBegan: "1772442000", price.FactPerson: "Ida", price.FactStage: "milling"}},
		{Kind: price.EntryIn, Piece: 1, Facts: price.Facts{price.FactBegan: "1772442000"}},
	} {
		e.At, e.Day = march.Unix(), 20_000
		_, err := s.WriteBook(t.Context(), ann, fmt.Sprint(i), march, func(*Book) (price.Entry, error) { return e, nil })
		require.NoError(t, err)
	}
	told := func() (clocks []Clock, audit error) {
		require.NoError(t, s.read(t.Context(), "looking", func(tx *transaction) (err error) {
			clocks, err = (&Book{tx: tx, owner: s.ownerID(ann)}).Clocks(t.Context())
			audit = auditSheets(t.Context(), tx)
			return err
		}))
		return clocks, audit
	}
	running, audit := told()
	require.NoError(t, audit)
	require.Len(t, running, 2)
	assert.Equal(t, []string{"", "Ida"}, []string{running[0].Person, running[1].Person})
	assert.Equal(t, "milling", running[1].Stage)
	_, err := s.writer.ExecContext(t.Context(), "DROP TRIGGER entry_stays")
	require.NoError(t, err)
	for said, whole := range map[any]bool{nil: true, "2,3": true, "2": false, "": false} {
		_, err = s.writer.ExecContext(t.Context(), "UPDATE entry SET running = ? WHERE number = 3", said)
		require.NoError(t, err)
		clocks, audit := told()
		if whole {
			assert.NoError(t, audit)
			assert.Equal(t, running, clocks)
		} else {
			assert.ErrorContains(t, audit, "the clocks of a member", "%q", said)
		}
	}
}

// assertFound looks for every entry by its number, and for the newest ones, beside what
// reading them all says.
func assertFound(t *testing.T, s *Store, who Who) {
	t.Helper()
	ctx := t.Context()
	require.NoError(t, s.ReadBook(ctx, who, func(b *Book) error {
		all, err := b.EveryEntry(ctx)
		require.NoError(t, err)
		undone := map[int]bool{}
		for _, e := range all {
			found, err := b.Entry(ctx, e.Number)
			require.NoError(t, err)
			require.Equal(t, e, found)
			if e.Kind == price.EntryUndo {
				undone[e.Target] = true
			}
		}
		_, err = b.Entry(ctx, len(all)+1000)
		require.ErrorIs(t, err, ErrNotFound)
		var last, current int
		for _, e := range all {
			if e.Kind == price.EntryUndo || undone[e.Number] {
				continue
			}
			last = e.Number
			switch e.Kind {
			case price.EntryOpen, price.EntryTake, price.EntryIn, price.EntryReopen:
				if _, err := b.Piece(ctx, e.Piece); err == nil {
					current = e.Piece
				}
			}
		}
		newest, err := b.Last(ctx)
		if last == 0 {
			require.ErrorIs(t, err, ErrNotFound)
		}
		assert.Equal(t, last, newest.Number)
		is, err := b.Current(ctx)
		if current == 0 {
			require.ErrorIs(t, err, ErrNotFound)
		}
		assert.Equal(t, current, is.Number)
		return nil
	}))
}

// assertStands sets what is told with an entry beside what is read.
func assertStands(t *testing.T, s *Store, who Who, added Added) {
	t.Helper()
	require.NoError(t, s.ReadBook(t.Context(), who, func(b *Book) error {
		sheet, err := b.Sheet(t.Context(), added.Entry.Piece)
		require.NoError(t, err)
		assert.Equal(t, sheet, added.Stands.Sheet)
		clocks, err := b.Clocks(t.Context())
		require.NoError(t, err)
		assert.Equal(t, append([]Clock{}, clocks...), append([]Clock{}, added.Stands.Clocks...))
		return nil
	}))
}

func (s *Store) heldFold(owner []byte) *fold {
	if t := s.tallies[string(owner)]; t != nil {
		return t.fold
	}
	return nil
}

func (s *Store) entryOf(t *testing.T, who Who, number int) (e price.Entry, err error) {
	require.NoError(t, s.ReadBook(t.Context(), who, func(b *Book) error {
		e, err = b.Entry(t.Context(), number)
		return nil
	}))
	return e, err
}

// assertSettled sets what is kept of the member's pieces beside their entries.
func assertSettled(t *testing.T, s *Store, who Who) {
	t.Helper()
	ctx := t.Context()
	require.NoError(t, s.ReadBook(ctx, who, func(b *Book) error {
		pieces, err := b.Pieces(ctx, "", 0, 1000)
		require.NoError(t, err)
		clocks, err := b.Clocks(ctx)
		require.NoError(t, err)
		running := 0
		for _, p := range pieces {
			sheet, err := b.Sheet(ctx, p.Number)
			require.NoError(t, err)
			assert.Equal(t, Piece{p.Number, sheet.Facts[price.FactName], sheet.Facts[price.FactCategory], sheet.Status}, p)
			running += len(sheet.Running)
			for _, c := range sheet.Running {
				assert.Contains(t, clocks, Clock{Clock: c, Piece: p})
			}
		}
		assert.Len(t, clocks, running)
		next, piece, lot, err := b.next(ctx)
		require.NoError(t, err)
		known := s.tallies[string(b.owner)]
		if known == nil {
			return nil
		}
		assert.Equal(t, []int{next, piece, lot}, []int{known.next, known.nextPiece, known.nextLot}, "the numbers given next")
		if known.current > 0 {
			current, err := b.Current(ctx)
			require.NoError(t, err)
			assert.Equal(t, current.Number, known.current)
		}
		if known.clocksKnown {
			assert.Equal(t, append([]Clock{}, clocks...), append([]Clock{}, known.clocks...))
		}
		if known.limitKnown {
			limit, err := b.Limit(ctx)
			require.NoError(t, err)
			assert.Equal(t, limit, known.limit)
		}
		if f := known.fold; f != nil && f.last+1 == next {
			entries, err := b.Entries(ctx, f.piece)
			require.NoError(t, err)
			assert.Len(t, entries, f.entries)
			want, err := b.Sheet(ctx, f.piece)
			require.NoError(t, err)
			got, _ := f.Sheet()
			assert.Equal(t, want, got)
		}
		return nil
	}))
}
