package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	sqlite3 "modernc.org/sqlite/lib"
)

// tried is a store with a table to try writing in.
func tried(t *testing.T) *Store {
	t.Helper()
	s, _ := inside(t)
	tryTable(t, s.writer)
	s.commits.longest = time.Minute
	return s
}

func tryTable(t *testing.T, db *sql.DB) {
	t.Helper()
	_, err := db.ExecContext(t.Context(), "CREATE TABLE tried (n INTEGER PRIMARY KEY, by INTEGER NOT NULL, seen INTEGER NOT NULL, UNIQUE (by)) STRICT")
	require.NoError(t, err)
}

// tryWrite writes a line of somebody, with the sum of what there is already, and
// gives its number.
func tryWrite(ctx context.Context, tx *transaction, by int) (n int, err error) {
	err = tx.QueryRowContext(ctx, "INSERT INTO tried (by, seen) SELECT ?, coalesce(sum(by), 0) FROM tried RETURNING n", by).Scan(&n)
	return n, err
}

func triedLines(t *testing.T, db *sql.DB) []string {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT n, by, seen FROM tried ORDER BY n")
	require.NoError(t, err)
	var lines []string
	require.NoError(t, each(rows, func() error {
		var n, by, seen int
		err := rows.Scan(&n, &by, &seen)
		lines = append(lines, fmt.Sprint(n, " by ", by, " saw ", seen))
		return err
	}))
	return lines
}

// holdTurn keeps the turn until let is called, once everybody waits who is to wait.
func holdTurn(t *testing.T, s *Store) (let func()) {
	t.Helper()
	held, letGo := make(chan struct{}), make(chan struct{})
	var ended sync.WaitGroup
	ended.Go(func() {
		assert.NoError(t, s.commits.exclusive(context.Background(), func(*sql.DB) error {
			close(held)
			<-letGo
			return nil
		}))
	})
	<-held
	return func() { close(letGo); ended.Wait() }
}

func (c *committer) waits() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return len(c.waiting)
}

func waitFor(t *testing.T, s *Store, n int) {
	t.Helper()
	require.Eventually(t, func() bool { return s.commits.waits() == n }, 10*time.Second, 100*time.Microsecond)
}

// Members write at the same time; some writes fail, some panic, some give up at any
// moment. What was told to be kept is kept, what was
// told not to be is not, and everybody saw exactly what one writer at a time, who
// commits each line on its own, would have seen.
func TestWritesThatShareTransactionsAreWhatOneAtATimeWouldHaveBeen(t *testing.T) {
	t.Parallel()
	s := tried(t)
	const members, each = 24, 40
	var mu sync.Mutex
	kept := map[int]int{} // who wrote which line, as they were told
	refused := map[int]bool{}
	ended := map[string]int{}
	var all sync.WaitGroup
	for member := range members {
		all.Go(func() {
			draw := rand.New(rand.NewPCG(uint64(member), 7))
			for i := range each {
				by := 1 + member*each + i
				how := []string{"keep", "keep", "keep", "fail", "twice", "panic", "give up", "give up inside", "alone", "rebuild"}[draw.IntN(10)]
				n, err := tryOnce(s, draw, by, how)
				mu.Lock()
				ended[how]++
				if err == nil {
					kept[by] = n
				} else {
					refused[by] = true
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	assert.Len(t, ended, 8, "every way was taken")

	lines := triedLines(t, s.reader)
	order := make([]int, 0, len(kept))
	for by := range kept {
		order = append(order, by)
	}
	slices.SortFunc(order, func(a, b int) int { return kept[a] - kept[b] })
	twin := tried(t)
	for _, by := range order {
		tx, err := beginWrite(t.Context(), twin.writer, nil)
		require.NoError(t, err)
		_, err = tryWrite(t.Context(), tx, by)
		require.NoError(t, err)
		require.NoError(t, tx.commit())
	}
	assert.Equal(t, triedLines(t, twin.reader), lines)
	for by := range refused {
		assert.NotContains(t, kept, by)
	}
	assert.NotEmpty(t, kept)
	assert.NotEmpty(t, refused)
}

var errTried = errors.New("tried and left")

// tryOnce writes a line in the way that how says, and gives what it was told.
func tryOnce(s *Store, draw *rand.Rand, by int, how string) (n int, err error) {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	write := s.write
	if how == "alone" {
		write = s.writeAlone
	}
	if how == "rebuild" {
		if err := s.Vacuum(ctx); err != nil && !errors.Is(err, errInTheWay) {
			return 0, err
		}
	}
	if how == "give up" {
		after := time.Duration(draw.IntN(800)) * time.Microsecond
		go func() { time.Sleep(after); stop() }()
	}
	told := make(chan struct{})
	err = errTried // what one that panics is told
	go func() {
		defer close(told)
		defer func() { _ = recover() }()
		err = write(ctx, "trying", func(tx *transaction) (err error) {
			if n, err = tryWrite(ctx, tx, by); err != nil {
				return err
			}
			switch how {
			case "fail":
				return errTried
			case "twice":
				_, err := tryWrite(ctx, tx, by)
				return err
			case "panic":
				panic("tried")
			case "give up inside":
				stop()
				_, err := tx.ExecContext(ctx, "DELETE FROM tried")
				return err
			}
			return nil
		})
	}()
	<-told
	return n, err
}

// Which no write does but a test's.
func TestAWriteThatEndsItsGoroutineHoldsNobodyUp(t *testing.T) {
	t.Parallel()
	s := tried(t)
	var all sync.WaitGroup
	all.Go(func() {
		_ = s.write(t.Context(), "trying", func(tx *transaction) error {
			_, err := tryWrite(t.Context(), tx, 1)
			assert.NoError(t, err)
			runtime.Goexit()
			return nil
		})
	})
	all.Wait()
	require.NoError(t, s.write(t.Context(), "trying", func(tx *transaction) error {
		_, err := tryWrite(t.Context(), tx, 2)
		return err
	}))
	assert.Equal(t, []string{"1 by 2 saw 0"}, triedLines(t, s.reader))
}

// The panic goes to who brought it, not to who happened to lead.
func TestAPartThatPanicsDoesSoWhereItWasAskedFor(t *testing.T) {
	t.Parallel()
	s := tried(t)
	let := holdTurn(t, s)
	panicked := make([]any, 5)
	var all sync.WaitGroup
	for by := range panicked {
		all.Go(func() {
			defer func() { panicked[by] = recover() }()
			assert.NoError(t, s.write(t.Context(), "trying", func(tx *transaction) error {
				if by%2 == 1 {
					panic(fmt.Sprint("tried by ", by))
				}
				_, err := tryWrite(t.Context(), tx, 1+by)
				return err
			}))
		})
		waitFor(t, s, by+1)
	}
	let()
	all.Wait()
	assert.Equal(t, []any{nil, "tried by 1", nil, "tried by 3", nil}, panicked)
	assert.Equal(t, []string{"1 by 1 saw 0", "2 by 3 saw 1", "3 by 5 saw 4"}, triedLines(t, s.reader))
}

func TestWritesThatWaitShareOneTransaction(t *testing.T) {
	t.Parallel()
	s := tried(t)
	let := holdTurn(t, s)
	transactions := map[*transaction]bool{} // there is one turn, so one at a time looks
	var all sync.WaitGroup
	for by := range 100 {
		all.Go(func() {
			assert.NoError(t, s.write(t.Context(), "trying", func(tx *transaction) error {
				transactions[tx] = true
				_, err := tryWrite(t.Context(), tx, 1+by)
				return err
			}))
		})
	}
	waitFor(t, s, 100)
	let()
	all.Wait()
	assert.Len(t, triedLines(t, s.reader), 100)
	// A transaction may be left after 20 ms, so on a busy machine there may be more.
	assert.Less(t, len(transactions), 50)
}

func TestOthersAreWaitedForWhereTheyHaveJustBeen(t *testing.T) {
	t.Parallel()
	s := tried(t)
	write := func(by int) {
		assert.NoError(t, s.write(t.Context(), "trying", func(tx *transaction) error {
			_, err := tryWrite(t.Context(), tx, by)
			return err
		}))
	}
	let := holdTurn(t, s)
	var all sync.WaitGroup
	for by := range 8 {
		all.Go(func() { write(1 + by) })
	}
	waitFor(t, s, 8)
	let()
	all.Wait()
	assert.Greater(t, s.commits.last, 1, "they shared")
	write(100)
	assert.Equal(t, 1, s.commits.last, "who is alone is kept waiting once")
	assert.Len(t, triedLines(t, s.reader), 9)
}

// A commit that fails fails for everybody in it, and keeps nothing.
func TestACommitThatFailsFailsForAllWhoShareIt(t *testing.T) {
	t.Parallel()
	s := tried(t)
	let := holdTurn(t, s)
	errs := make([]error, 6)
	var all sync.WaitGroup
	for by := range errs {
		all.Go(func() {
			errs[by] = s.write(t.Context(), "trying", func(tx *transaction) error {
				if _, err := tryWrite(t.Context(), tx, 1+by); err != nil {
					return err
				}
				if by != 2 {
					return nil
				}
				// A broken reference that is only looked at when all is done.
				if _, err := tx.ExecContext(t.Context(), "PRAGMA defer_foreign_keys = ON"); err != nil {
					return err
				}
				_, err := tx.ExecContext(t.Context(), "INSERT INTO venue (member, name, fee, fee_on_tax, share) VALUES (randomblob(32), 'fair', 0, 0, 0)")
				return err
			})
		})
		waitFor(t, s, by+1)
	}
	let()
	all.Wait()
	for by, err := range errs {
		assert.Equal(t, sqlite3.SQLITE_CONSTRAINT, sqliteCode(err), "%d: %v", by, err)
	}
	assert.Empty(t, triedLines(t, s.reader))
	require.NoError(t, s.write(t.Context(), "trying", func(tx *transaction) error {
		_, err := tryWrite(t.Context(), tx, 1)
		return err
	}), "the next is not touched by it")
	assert.Len(t, triedLines(t, s.reader), 1)
}

// SQLite takes the whole transaction back when there is no room. Everybody in it is
// told, nothing is half there, and once there is room it goes on.
func TestAFullDiskIsToldToAllWhoShareTheTransaction(t *testing.T) {
	t.Parallel()
	s := tried(t)
	var pages int
	require.NoError(t, s.writer.QueryRowContext(t.Context(), "PRAGMA page_count").Scan(&pages))
	_, err := s.writer.ExecContext(t.Context(), fmt.Sprint("PRAGMA max_page_count = ", pages))
	require.NoError(t, err)
	let := holdTurn(t, s)
	errs := make([]error, 8)
	var all sync.WaitGroup
	for by := range errs {
		all.Go(func() {
			errs[by] = s.write(t.Context(), "trying", func(tx *transaction) error {
				if _, err := tryWrite(t.Context(), tx, 1+by); err != nil || by != 4 {
					return err
				}
				_, err := tx.ExecContext(t.Context(), `WITH RECURSIVE n(i) AS (SELECT 1000 UNION ALL SELECT i + 1 FROM n WHERE i < 900000)
					INSERT INTO tried (by, seen) SELECT i, 0 FROM n`)
				// Who goes on as if nothing had happened keeps nothing either.
				_, again := tryWrite(t.Context(), tx, 200)
				assert.ErrorIs(t, again, err)
				return nil
			})
		})
		waitFor(t, s, by+1)
	}
	let()
	all.Wait()
	assert.Equal(t, sqlite3.SQLITE_FULL, sqliteCode(errs[4]))
	assert.Equal(t, sqlite3.SQLITE_FULL, sqliteCode(errs[0]), "what was written before is gone, too")
	_, err = s.writer.ExecContext(t.Context(), "PRAGMA max_page_count = 4294967294")
	require.NoError(t, err)
	require.NoError(t, s.write(t.Context(), "trying", func(tx *transaction) error {
		_, err := tryWrite(t.Context(), tx, 100)
		return err
	}))
	there := map[int]bool{}
	rows, err := s.reader.QueryContext(t.Context(), "SELECT by FROM tried")
	require.NoError(t, err)
	require.NoError(t, each(rows, func() error {
		var by int
		err := rows.Scan(&by)
		there[by] = true
		return err
	}))
	for by, err := range errs {
		assert.Equal(t, err == nil, there[1+by], "%d was told %v", 1+by, err)
	}
	assert.True(t, there[100])
	assert.False(t, there[200])
}

func TestAnErrorOfTheDiskThatIsPassedOverIsToldAllTheSame(t *testing.T) {
	t.Parallel()
	s := tried(t)
	_, err := s.writer.ExecContext(t.Context(), "PRAGMA max_page_count = 1")
	require.NoError(t, err)
	err = s.write(t.Context(), "trying", func(tx *transaction) error {
		_, _ = tx.ExecContext(t.Context(), `WITH RECURSIVE n(i) AS (SELECT 1000 UNION ALL SELECT i + 1 FROM n WHERE i < 900000)
			INSERT INTO tried (by, seen) SELECT i, 0 FROM n`)
		_, _ = tryWrite(t.Context(), tx, 7)
		return nil
	})
	assert.Equal(t, sqlite3.SQLITE_FULL, sqliteCode(err))
	assert.Empty(t, triedLines(t, s.reader))
}

func TestWhoGivesUpBeforeTheirTurnIsNotRun(t *testing.T) {
	t.Parallel()
	s := tried(t)
	let := holdTurn(t, s)
	ctx, stop := context.WithCancel(t.Context())
	told := make(chan error)
	ran := false
	go func() { told <- s.write(ctx, "trying", func(*transaction) error { ran = true; return nil }) }()
	waitFor(t, s, 1)
	stop()
	require.ErrorIs(t, <-told, context.Canceled)
	assert.Zero(t, s.commits.waits())
	let()
	assert.False(t, ran)
	require.ErrorIs(t, s.write(ctx, "trying", func(*transaction) error { ran = true; return nil }), context.Canceled)
	assert.False(t, ran)
}

// A statement that has begun is finished although who asked has given up: to stop
// it would take back what the others wrote.
func TestWhoGivesUpInTheMiddleDoesNotTakeTheOthersBack(t *testing.T) {
	t.Parallel()
	s := tried(t)
	let := holdTurn(t, s)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var all sync.WaitGroup
	for by := range 3 {
		all.Go(func() {
			err := s.write(ctx, "trying", func(tx *transaction) error {
				if by == 1 {
					time.AfterFunc(time.Millisecond, stop)
					_, err := tx.ExecContext(ctx, `WITH RECURSIVE n(i) AS (SELECT 1000 UNION ALL SELECT i + 1 FROM n WHERE i < 200000)
						INSERT INTO tried (by, seen) SELECT i, 0 FROM n`)
					if err == nil {
						_, err = tryWrite(ctx, tx, 1+by)
					}
					return err
				}
				_, err := tryWrite(t.Context(), tx, 1+by)
				return err
			})
			switch by {
			case 0:
				assert.NoError(t, err)
			case 1:
				assert.ErrorIs(t, err, context.Canceled)
			}
		})
		waitFor(t, s, by+1)
	}
	let()
	all.Wait()
	lines := triedLines(t, s.reader)
	require.NotEmpty(t, lines)
	assert.Equal(t, "1 by 1 saw 0", lines[0])
	assert.Less(t, len(lines), 3, "nothing of who gave up is there")
}

func TestClosingWaitsForWhoWaits(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	c := Config{Path: folder + "/a.db", KeysPath: folder + "/a.keys"}
	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	let := holdTurn(t, s)
	var all sync.WaitGroup
	for by := range 5 {
		all.Go(func() {
			assert.NoError(t, s.OptIn(context.Background(), Who{ann.Community, fmt.Sprint(by)}, 1, march))
		})
	}
	waitFor(t, s, 5)
	all.Go(func() { assert.NoError(t, s.Close()) })
	waitFor(t, s, 6)
	require.ErrorIs(t, s.OptIn(t.Context(), ann, 1, march), errClosed)
	let()
	all.Wait()
	_ = s.Close() // once more waits for nobody
	s, err = Open(t.Context(), c)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for by := range 5 {
		_, given, err := s.Consent(t.Context(), Who{ann.Community, fmt.Sprint(by)})
		require.NoError(t, err)
		assert.True(t, given)
	}
}
