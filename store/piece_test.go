package store_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
	"tallystick/store"
)

var (
	turner = store.Who{Community: "guild", Member: "turner"}
	joiner = store.Who{Community: "guild", Member: "joiner"}
	monday = time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)
)

func sheetStore(t *testing.T, folder string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), store.Config{Path: filepath.Join(folder, "sheets.db"), KeysPath: filepath.Join(folder, "sheets.keys")})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// put adds an entry in a delivery of its own.
func put(t *testing.T, s *store.Store, who store.Who, delivery string, e price.Entry) price.Entry {
	t.Helper()
	e.At, e.Day = monday.Unix(), 20_514
	got, err := s.WriteBook(t.Context(), who, delivery, monday, func(*store.Book) (price.Entry, error) { return e, nil })
	require.NoError(t, err)
	return got
}

func opened(name string) price.Entry {
	return price.Entry{Kind: price.EntryOpen, Currency: "USD", Facts: price.Facts{price.FactName: name, price.FactCategory: "bench"}}
}

func clockIn(piece int, person string) price.Entry {
	e := price.Entry{Kind: price.EntryIn, Piece: piece, Facts: price.Facts{price.FactBegan: "1772442000"}}
	if person != "" {
		e.Facts[price.FactPerson] = person
	}
	return e
}

func TestAnEntryIsReadBackAsItWasWritten(t *testing.T) {
	t.Parallel()
	s := sheetStore(t, t.TempDir())
	put(t, s, turner, "1", opened("Bowl"))
	want := price.Entry{Kind: price.EntryStock, Piece: 1, Amount: 12_345, Currency: "USD", Seconds: 4_501, Millionths: 14_500_001,
		Facts: price.Facts{price.FactWhat: "Äpfel, \"red\"\n\t'; --", price.FactTrip: "99", price.FactStage: "clean-up"}}
	wrote := put(t, s, turner, "2", want)
	want.Number, want.At, want.Day = 2, monday.Unix(), 20_514
	assert.Equal(t, want, wrote)
	require.NoError(t, s.ReadBook(t.Context(), turner, func(b *store.Book) error {
		got, err := b.Entry(t.Context(), 2)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		return nil
	}))
}

func TestAnEntryThatMakesNoSenseIsNotKept(t *testing.T) {
	t.Parallel()
	s := sheetStore(t, t.TempDir())
	put(t, s, turner, "1", opened("Bowl"))
	for name, e := range map[string]price.Entry{
		"no such kind":           {Kind: "dance", Piece: 1},
		"money without currency": {Kind: price.EntryCost, Piece: 1, Amount: 5, Facts: price.Facts{price.FactGroup: price.CostPart}},
		"another currency":       {Kind: price.EntryCost, Piece: 1, Amount: 5, Currency: "EUR", Facts: price.Facts{price.FactGroup: price.CostPart}},
		"no such piece":          {Kind: price.EntryTime, Piece: 9, Seconds: 60},
		"a clock that runs not":  {Kind: price.EntryOut, Piece: 1, Target: 1, Seconds: 60},
		"below nothing":          {Kind: price.EntryTime, Piece: 1, Seconds: -60},
		"a long name":            {Kind: price.EntryRename, Piece: 1, Facts: price.Facts{price.FactName: string(make([]byte, 61))}},
		"a share of no lot":      {Kind: price.EntryShare, Piece: 1, Lot: 4, Millionths: 5, Currency: "USD"},
	} {
		_, err := s.WriteBook(t.Context(), turner, name, monday, func(*store.Book) (price.Entry, error) { return e, nil })
		require.Error(t, err, name)
	}
	l, err := s.Ledger(t.Context(), turner)
	require.NoError(t, err)
	assert.Len(t, l.Entries, 1)
	assert.Equal(t, 2, l.NextEntry, "and no number is lost")
}

func TestABookHoldsOneMembersPiecesAndNobodyElses(t *testing.T) {
	t.Parallel()
	s := sheetStore(t, t.TempDir())
	put(t, s, turner, "1", opened("Bowl"))
	put(t, s, turner, "2", price.Entry{Kind: price.EntryLot, Amount: 500, Currency: "USD", Millionths: 9, Facts: price.Facts{price.FactUnit: "bf"}})
	put(t, s, turner, "3", clockIn(1, ""))
	for _, other := range []store.Who{joiner, {Community: "elsewhere", Member: "turner"}, {Community: "guild", Member: ""}, {Community: "guildturner"}} {
		require.NoError(t, s.ReadBook(t.Context(), other, func(b *store.Book) error {
			ctx := t.Context()
			_, err := b.Piece(ctx, 1)
			assert.ErrorIs(t, err, store.ErrNotFound)
			_, err = b.Sheet(ctx, 1)
			assert.ErrorIs(t, err, store.ErrNotFound)
			_, err = b.Lot(ctx, 1)
			assert.ErrorIs(t, err, store.ErrNotFound)
			_, err = b.Entry(ctx, 1)
			assert.ErrorIs(t, err, store.ErrNotFound)
			_, err = b.Last(ctx)
			assert.ErrorIs(t, err, store.ErrNotFound)
			_, err = b.Current(ctx)
			assert.ErrorIs(t, err, store.ErrNotFound)
			for _, list := range []func() (int, error){
				func() (int, error) { l, err := b.Pieces(ctx, "", 0, 99); return len(l), err },
				func() (int, error) { l, err := b.Named(ctx, "Bowl"); return len(l), err },
				func() (int, error) { l, err := b.OfCategory(ctx, "bench"); return len(l), err },
				func() (int, error) { l, err := b.Categories(ctx); return len(l), err },
				func() (int, error) { l, err := b.Counts(ctx); return len(l), err },
				func() (int, error) { l, err := b.Lots(ctx, 0, 99); return len(l), err },
				func() (int, error) { l, err := b.LotEntries(ctx, 1); return len(l), err },
				func() (int, error) { l, err := b.Entries(ctx, 1); return len(l), err },
				func() (int, error) { l, err := b.EveryEntry(ctx); return len(l), err },
				func() (int, error) { l, err := b.Clocks(ctx); return len(l), err },
			} {
				n, err := list()
				require.NoError(t, err)
				assert.Zero(t, n)
			}
			return nil
		}))
		assert.ErrorIs(t, s.DeletePiece(t.Context(), other, "x", 1, monday), store.ErrNotFound)
		_, err := s.WipeBook(t.Context(), other, "y", monday)
		assert.ErrorIs(t, err, store.ErrNotFound)
	}
}

// What is deleted is in no file any more, and no file holds who anybody is.
func TestADeletedPieceLeavesNothingInTheFiles(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	s := sheetStore(t, folder)
	inFiles := func(text string) bool {
		files, err := filepath.Glob(filepath.Join(folder, "*"))
		require.NoError(t, err)
		for _, f := range files {
			content, err := os.ReadFile(f)
			require.NoError(t, err)
			if contains(content, text) {
				return true
			}
		}
		return false
	}
	put(t, s, turner, "delivery-of-turner", opened("Walrus bowl"))
	put(t, s, turner, "2", opened("Seal box"))
	assert.True(t, inFiles("Walrus bowl"))
	assert.False(t, inFiles("delivery-of-turner"))
	require.NoError(t, s.DeletePiece(t.Context(), turner, "3", 1, monday))
	assert.False(t, inFiles("Walrus bowl"))
	assert.True(t, inFiles("Seal box"))
	n, err := s.WipeBook(t.Context(), turner, "4", monday)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	assert.False(t, inFiles("Seal box"))
}

func contains(content []byte, text string) bool {
	for i := 0; i+len(text) <= len(content); i++ {
		if string(content[i:i+len(text)]) == text {
			return true
		}
	}
	return false
}

// Of many who start a clock at once, one does.
func TestManyAtOnceStartOneClock(t *testing.T) {
	t.Parallel()
	s := sheetStore(t, t.TempDir())
	put(t, s, turner, "1", opened("Bowl"))
	put(t, s, turner, "2", opened("Box"))
	var started sync.WaitGroup
	results := make(chan error, 8)
	for i := range 8 {
		started.Go(func() {
			_, err := s.WriteBook(context.Background(), turner, string(rune('a'+i)), monday, func(book *store.Book) (price.Entry, error) {
				clocks, err := book.Clocks(context.Background())
				if err == nil && len(clocks) > 0 {
					err = store.ErrConflict
				}
				e := clockIn(1+i%2, "")
				e.At, e.Day = monday.Unix(), 20_514
				return e, err
			})
			results <- err
		})
	}
	started.Wait()
	close(results)
	ok := 0
	for err := range results {
		if err == nil {
			ok++
		} else {
			assert.ErrorIs(t, err, store.ErrConflict)
		}
	}
	assert.Equal(t, 1, ok)
}

// Where the handler does not look, the database itself refuses a second clock.
func TestTheDatabaseRefusesASecondClockOfOnePerson(t *testing.T) {
	t.Parallel()
	s := sheetStore(t, t.TempDir())
	put(t, s, turner, "1", opened("Bowl"))
	put(t, s, turner, "2", opened("Box"))
	put(t, s, turner, "3", clockIn(1, ""))
	put(t, s, turner, "4", clockIn(1, "Sam"))
	for _, e := range []price.Entry{clockIn(2, ""), clockIn(1, ""), clockIn(2, "SAM")} {
		e.At, e.Day = monday.Unix(), 20_514
		_, err := s.WriteBook(t.Context(), turner, "5", monday, func(*store.Book) (price.Entry, error) { return e, nil })
		_, contradicts := errors.AsType[*price.ContradictionError](err)
		assert.True(t, contradicts || errors.Is(err, store.ErrConflict), "%v", err)
	}
	put(t, s, turner, "6", clockIn(2, "Kim"))
}

func TestAPieceHasRoomForAThousandEntriesAndNoMore(t *testing.T) {
	t.Parallel()
	s := sheetStore(t, t.TempDir())
	l := store.Ledger{NextEntry: 1000, NextPiece: 2, NextLot: 1}
	l.Entries = append(l.Entries, opened("Bowl"))
	for range 998 {
		l.Entries = append(l.Entries, price.Entry{Kind: price.EntryTake})
	}
	for i := range l.Entries {
		l.Entries[i].Number, l.Entries[i].Piece, l.Entries[i].At, l.Entries[i].Day = i+1, 1, monday.Unix(), 20_514
	}
	_, err := s.ImportLedger(t.Context(), turner, "1", l, false, monday)
	require.NoError(t, err)
	put(t, s, turner, "2", price.Entry{Kind: price.EntryTake, Piece: 1})
	_, err = s.WriteBook(t.Context(), turner, "3", monday, func(*store.Book) (price.Entry, error) {
		return price.Entry{Kind: price.EntryTake, Piece: 1, At: monday.Unix(), Day: 20_514}, nil
	})
	assert.ErrorIs(t, err, store.ErrFull)
}
