package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/calc/price"
)

// A desk is a store that is closed and opened again, and how a member writes in it.
type desk struct {
	*testing.T
	config Config
	*Store
}

func newDesk(t *testing.T) *desk {
	folder := t.TempDir()
	d := &desk{T: t, config: Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")}}
	d.restart()
	t.Cleanup(func() { require.NoError(t, d.Store.Close()) })
	return d
}

func (d *desk) restart() {
	if d.Store != nil {
		require.NoError(d, d.Store.Close())
	}
	s, err := Open(d.Context(), d.config)
	require.NoError(d, err)
	d.Store = s
}

func (d *desk) add(delivery string, e price.Entry) (price.Entry, error) {
	e.At, e.Day = march.Unix(), 20_000
	if e.Facts == nil {
		e.Facts = price.Facts{}
	}
	return d.WriteBook(d.Context(), ann, delivery, march, func(*Book) (price.Entry, error) { return e, nil })
}

func (d *desk) must(delivery string, e price.Entry) price.Entry {
	d.Helper()
	e, err := d.add(delivery, e)
	require.NoError(d, err)
	return e
}

func (d *desk) ledger() Ledger {
	l, err := d.Ledger(d.Context(), ann)
	require.NoError(d, err)
	return l
}

var (
	opened = price.Entry{Kind: price.EntryOpen, Currency: "USD", Facts: price.Facts{price.FactName: "Harbour bench"}}
	worked = price.Entry{Kind: price.EntryTime, Piece: 1, Seconds: 600}
)

// whole does something now, and again after a restart.
func (d *desk) whole(f func()) {
	d.Helper()
	f()
	d.restart()
	f()
}

func TestADeliveryThatComesAgainGivesItsEntryAgainAlsoAfterARestart(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	first := d.must("open", opened)
	second := d.must("work", worked)
	undo := d.must("undo", price.Entry{Kind: price.EntryUndo, Piece: 1, Target: second.Number})
	d.whole(func() {
		assert.Equal(t, first, d.must("open", opened))
		assert.Equal(t, second, d.must("work", worked), "although it was undone")
		assert.Equal(t, undo, d.must("undo", worked))
		assert.Len(t, d.ledger().Entries, 3)
		again, err := d.Delivered(t.Context(), ann, "work", march)
		require.NoError(t, err)
		assert.True(t, again)
		again, err = d.Delivered(t.Context(), ann, "other", march)
		require.NoError(t, err)
		assert.False(t, again)
		again, err = d.Delivered(t.Context(), Who{ann.Community, "another"}, "work", march)
		require.NoError(t, err)
		assert.False(t, again)
	})
}

// The last hundred entries of a member know their deliveries, neither more nor fewer.
func TestADeliveryIsKnownAmongTheNewestEntries(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	d.must("open", opened)
	for n := range newestHeld {
		d.must(fmt.Sprint(n), worked)
	}
	oldest := 2 // the opening was 1
	assert.Equal(t, oldest, d.must("0", worked).Number)
	d.restart()
	assert.Equal(t, oldest, d.must("0", worked).Number)
	added := d.must("one more", worked).Number
	assert.Equal(t, newestHeld+2, added)
	assert.Equal(t, added+1, d.must("0", worked).Number, "an older one is no longer known, and is another")
	d.restart()
	assert.Equal(t, added+1, d.must("0", worked).Number)
	assert.Len(t, d.ledger().Entries, newestHeld+3)
}

func TestADeliveryOfWhatWasDeletedDoesNothingAgain(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	d.must("open", opened)
	d.must("open 2", opened)
	kept := d.must("work", worked)
	gone := worked
	gone.Piece = 2
	d.must("work 2", gone)
	require.NoError(t, d.DeletePiece(t.Context(), ann, "delete", 2, march))
	d.whole(func() {
		for _, delivery := range []string{"open 2", "work 2"} {
			_, err := d.add(delivery, worked)
			require.ErrorIs(t, err, ErrNotFound, delivery)
		}
		assert.Equal(t, kept, d.must("work", worked))
		require.NoError(t, d.DeletePiece(t.Context(), ann, "delete", 2, march), "the deletion comes again, too")
		assert.Len(t, d.ledger().Entries, 2)
	})

	taken := d.ledger()
	_, err := d.ImportLedger(t.Context(), ann, "import", taken, true, march)
	require.NoError(t, err)
	d.whole(func() {
		assert.Equal(t, kept, d.must("work", worked), "behind what was taken in")
		assert.Len(t, d.ledger().Entries, 4)
	})

	_, err = d.WipeBook(t.Context(), ann, "wipe", march)
	require.NoError(t, err)
	d.must("anew", opened)
	d.must("anew 2", worked)
	d.whole(func() {
		for _, delivery := range []string{"open", "work"} {
			_, err := d.add(delivery, worked)
			require.ErrorIs(t, err, ErrNotFound, "and never an entry of the new ledger")
		}
		assert.Len(t, d.ledger().Entries, 2)
	})

	_, err = d.WithdrawAll(t.Context(), ann, "forget", march)
	require.NoError(t, err)
	d.whole(func() {
		_, err := d.add("anew 2", worked)
		require.ErrorIs(t, err, ErrNotFound)
		assert.Empty(t, d.ledger().Entries)
	})
	var left int
	count := func() int {
		require.NoError(t, d.reader.QueryRowContext(t.Context(), "SELECT count(*) FROM receipt").Scan(&left))
		return left
	}
	assert.NotZero(t, count())
	_, err = d.ReleaseDue(t.Context(), march.AddDate(0, 0, receiptLife-1))
	require.NoError(t, err)
	assert.NotZero(t, count())
	_, err = d.ReleaseDue(t.Context(), march.AddDate(0, 0, receiptLife))
	require.NoError(t, err)
	assert.Zero(t, count(), "30 days later nothing is left")
}

func TestANumberIsNotGivenAgainThoughTheNewestPieceIsDeleted(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	d.must("open", opened)
	d.must("open 2", opened)
	second := worked
	second.Piece = 2
	last := d.must("work", second).Number
	require.NoError(t, d.DeletePiece(t.Context(), ann, "delete", 2, march))
	d.restart()
	next := d.must("work 2", worked)
	assert.Equal(t, last+1, next.Number)
	piece := d.must("open 3", opened)
	assert.Equal(t, 3, piece.Piece)
	require.NoError(t, d.DeletePiece(t.Context(), ann, "delete 2", 3, march))
	require.NoError(t, d.DeletePiece(t.Context(), ann, "delete 3", 1, march))
	assert.Empty(t, d.ledger().Entries)
	d.restart()
	l := d.ledger()
	assert.Equal(t, []int{piece.Number + 1, 4}, []int{l.NextEntry, l.NextPiece})
	anew := d.must("open 4", opened)
	assert.Equal(t, []int{piece.Number + 1, 4}, []int{anew.Number, anew.Piece})
}

// A database of before entries kept their receipts.
func TestAReceiptThatIsOlderThanTheUpdateIsGoodUntilItEnds(t *testing.T) {
	t.Parallel()
	config := before(t, 6)
	k, err := readKeys(config.KeysPath)
	require.NoError(t, err)
	db, err := sql.Open("sqlite", config.Path)
	require.NoError(t, err)
	day := int(pool.DayAt(march))
	_, err = db.ExecContext(t.Context(), "INSERT INTO receipt (receipt, number, expires) VALUES (?, 1, ?)",
		(&Store{keys: k}).sheetReceipt(ann, "old"), day+3)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	d := &desk{T: t, config: config}
	d.restart()
	defer func() { require.NoError(t, d.Store.Close()) }()
	d.must("new", worked)
	d.whole(func() {
		assert.Equal(t, 1, d.must("old", worked).Number)
		assert.Len(t, d.ledger().Entries, 2)
	})
	_, err = d.ReleaseDue(t.Context(), march.AddDate(0, 0, 3))
	require.NoError(t, err)
	e, err := d.WriteBook(t.Context(), ann, "old", march.AddDate(0, 0, 4), func(*Book) (price.Entry, error) { return worked, nil })
	require.NoError(t, err)
	assert.Equal(t, 3, e.Number)
}

// together holds the turn until so many writes wait, and gives what each was told. One
// that panics is told errTried.
func writeTogether(t *testing.T, s *Store, writes ...func(tx *transaction) error) []error {
	t.Helper()
	let := holdTurn(t, s)
	errs := make([]error, len(writes))
	done := make(chan struct{}, len(writes))
	for i, f := range writes {
		errs[i] = errTried
		go func() {
			defer func() { _ = recover(); done <- struct{}{} }()
			errs[i] = s.write(context.Background(), "trying", f)
		}()
		waitFor(t, s, i+1)
	}
	let()
	for range writes {
		<-done
	}
	return errs
}

// Who is certain writes without a savepoint: there is no way back for them alone.
func TestAWriteThatWasCertainAndFailsIsToldToAllWhoShareIt(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func() error{
		"fails":  func() error { return errTried },
		"panics": func() error { panic("tried") },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := tried(t)
			_, err := s.WriteBook(t.Context(), ann, "0", march, func(*Book) (price.Entry, error) { return opened, nil })
			require.NoError(t, err)
			require.NotEmpty(t, s.tallies)
			line := func(by int) func(tx *transaction) error {
				return func(tx *transaction) error {
					_, err := tryWrite(t.Context(), tx, by)
					return err
				}
			}
			errs := writeTogether(t, s, line(1), line(2), func(tx *transaction) error {
				s.commits.certain()
				if err := line(3)(tx); err != nil {
					return err
				}
				return end()
			}, line(4))
			for by, err := range errs[:3] {
				assert.Error(t, err, by)
			}
			require.NoError(t, errs[3], "who comes behind begins anew")
			assert.Equal(t, []string{"1 by 4 saw 0"}, triedLines(t, s.reader))
			assert.Empty(t, s.tallies, "nothing is remembered of what is not kept")
		})
	}
}

// A statement that is refused has changed nothing: there is nothing to take back.
func TestAFirstStatementThatIsRefusedHurtsNobodyElse(t *testing.T) {
	t.Parallel()
	s := tried(t)
	line := func(by int) func(tx *transaction) error {
		return func(tx *transaction) error {
			s.commits.certain()
			_, err := tryWrite(t.Context(), tx, by)
			return err
		}
	}
	errs := writeTogether(t, s, line(1), line(2), line(2), line(3))
	assert.NoError(t, errs[0])
	assert.NoError(t, errs[1])
	assert.ErrorIs(t, errs[2], ErrConflict)
	assert.NoError(t, errs[3])
	assert.Len(t, triedLines(t, s.reader), 3)
}

// What a part only looked at needs no taking back either, and a commit that is lost
// takes what is remembered along.
func TestALostCommitIsForgotten(t *testing.T) {
	t.Parallel()
	s := tried(t)
	ctx := t.Context()
	enter := func(delivery string, e price.Entry) (price.Entry, error) {
		return s.WriteBook(ctx, ann, delivery, march, func(*Book) (price.Entry, error) { return e, nil })
	}
	_, err := enter("0", opened)
	require.NoError(t, err)
	let := holdTurn(t, s)
	told := make(chan error, 2)
	go func() { _, err := enter("1", worked); told <- err }()
	waitFor(t, s, 1)
	go func() {
		told <- s.write(context.Background(), "trying", func(tx *transaction) error {
			if _, err := tx.ExecContext(ctx, "PRAGMA defer_foreign_keys = ON"); err != nil {
				return err
			}
			_, err := tx.ExecContext(ctx, "INSERT INTO venue (member, name, fee, fee_on_tax, share) VALUES (randomblob(32), 'fair', 0, 0, 0)")
			return err
		})
	}()
	waitFor(t, s, 2)
	let()
	require.Error(t, <-told)
	require.Error(t, <-told)
	longer := worked
	longer.Seconds = 1200
	e, err := enter("2", longer)
	require.NoError(t, err)
	assert.Equal(t, 2, e.Number)
	e, err = enter("1", worked)
	require.NoError(t, err)
	assert.Equal(t, 3, e.Number, "it was not kept before")
	assertSettled(t, s, ann)
	require.NoError(t, s.ReadBook(ctx, ann, func(b *Book) error {
		sheet, err := b.Sheet(ctx, 1)
		assert.Equal(t, int64(1800), sheet.OwnSeconds())
		return err
	}))
}

// Receipts and drafts are swept a slice at a time, all of them.
func TestEverySliceIsSwept(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	_, err := s.writer.ExecContext(t.Context(), `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 10000)
		INSERT INTO receipt (receipt, number, expires) SELECT randomblob(32), 1, ? + i % 3 FROM n`, int(pool.DayAt(march)))
	require.NoError(t, err)
	require.NoError(t, s.sweep(t.Context(), march.Add(24*time.Hour)))
	var left, least int
	require.NoError(t, s.reader.QueryRowContext(t.Context(), "SELECT count(*), min(expires) FROM receipt").Scan(&left, &least))
	assert.Equal(t, 3333, left)
	assert.Equal(t, int(pool.DayAt(march))+2, least)
}

// Facts are written as encoding/json writes them, whatever is in them.
func TestPlainFactsAreTheJSONOfTheFacts(t *testing.T) {
	t.Parallel()
	plain := 0
	for _, text := range []string{"milling", "48 x 14 x 18 in", "a, b: {c} [d] 'e' ~ `f`", `5" board`, `a\b`, "<b>", "a&b", "späne", "a\nb", "\x7f", "\u2028", "{\"n\":1}"} {
		facts := price.Facts{price.FactStage: text, price.FactBegan: "1772442000", price.FactNote: "both legs fitted"}
		want, err := json.Marshal(facts)
		require.NoError(t, err)
		got, err := encodeFacts(price.Entry{Number: 2, Kind: price.EntryTime, Piece: 1, Seconds: 60, Facts: facts})
		if err != nil {
			continue // unsound, and never written
		}
		assert.Equal(t, string(want), got)
		if written, ok := plainFacts(facts); ok {
			plain++
			assert.Equal(t, string(want), written)
		}
	}
	assert.Equal(t, 3, plain)
}
