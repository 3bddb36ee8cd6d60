package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"sync/atomic"
	"time"
)

// A trial compares a sealed file with its seal while work goes on. Until it is
// over, a reader that looks at the file alone keeps the journal from being moved
// into it, so that what is compared is the file as it was found.
type trial struct {
	stop  context.CancelFunc
	hurry chan struct{}
	once  sync.Once
	done  chan struct{}
	// file is closed after the database is: the system gives up all locks that a
	// process has on a file when the process closes it once.
	file *os.File
	lost atomic.Bool
	// Once it is done:
	err   error
	pages *pageSums // of the file that was found sound, where they were wanted
}

// trust finds out whether the file is as it was closed. It gives the seal, and
// whether the sum has been compared; a zero seal is none.
func trust(ctx context.Context, path string) (found seal, compared bool, err error) {
	found, sealed, err := readSeal(path)
	if err != nil || !sealed {
		return seal{}, false, err
	}
	// Whoever writes takes the seal away first: one that came back says nothing.
	if left, err := journalled(path); err != nil || left {
		return seal{}, false, err
	}
	now, err := look(path)
	if err != nil {
		return seal{}, false, err
	}
	if found.untouched(now) && now.size > summedAtOnce {
		// A file that was restored is changed when it is opened.
		if ready, err := keepsJournal(path); err != nil || ready {
			return found, false, err
		}
	}
	sum, err := sumFile(ctx, path)
	if err != nil {
		return seal{}, false, err
	}
	if sum != found.sum {
		return seal{}, false, &OpenError{Refusal: Altered, Path: path}
	}
	now.sum = sum
	return now, true, nil
}

// keepsJournal says whether the file was last used with a write-ahead journal, by the
// bytes 18 and 19 of its header (SQLite, Database File Format, 1.3.3).
func keepsJournal(path string) (bool, error) {
	file, err := os.Open(path)
	if err != nil {
		return false, fmt.Errorf("opening database file: %w", err)
	}
	versions := make([]byte, 2)
	_, err = file.ReadAt(versions, 18)
	return versions[0] == 2 && versions[1] == 2, errors.Join(err, file.Close())
}

// try begins to compare the file with its seal, and to sum its pages where they are
// wanted. lost is called when they differ.
func try(ctx context.Context, path string, found seal, wanted bool, lost func(error)) (*trial, error) {
	db, err := connect(ctx, path, 1, true)
	if err != nil {
		return nil, err
	}
	tx, err := beginRead(ctx, db)
	if err == nil {
		// A transaction holds nothing before it reads.
		_, err = tx.ExecContext(ctx, "SELECT count(*) FROM house")
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("holding the file still: %w", err), db.Close())
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("opening file to sum it: %w", err), db.Close())
	}
	page, err := pageSize(file)
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	// It goes on after the request that opened the database.
	going, stop := context.WithCancel(context.WithoutCancel(ctx))
	t := &trial{stop: stop, hurry: make(chan struct{}), done: make(chan struct{}), file: file}
	go func() {
		defer close(t.done)
		pages := &pageSums{page: page, sums: []uint32{}}
		also := io.Discard
		if wanted {
			also = pages
		}
		sum, err := sumOf(going, file, also, func() { t.rest(going) })
		if wanted && err == nil && sum == found.sum {
			t.pages = pages
		}
		if err == nil && sum != found.sum {
			err = &OpenError{Refusal: Altered, Path: path}
			t.lost.Store(true)
			if lost != nil {
				lost(err)
			}
		}
		if errors.Is(err, context.Canceled) {
			err = nil
		}
		t.err = errors.Join(err, tx.rollback(), db.Close())
	}()
	return t, nil
}

// going says whether the comparison is not over.
func (t *trial) going() bool {
	if t == nil {
		return false
	}
	select {
	case <-t.done:
		return false
	default:
		return true
	}
}

// rest leaves the machine to others, unless somebody waits.
func (t *trial) rest(ctx context.Context) {
	select {
	case <-t.hurry:
	case <-ctx.Done():
	case <-time.After(sumRest):
	}
}

// finish waits for the end, which comes as fast as the file can be read.
func (t *trial) finish(ctx context.Context) error {
	if t == nil {
		return nil
	}
	t.once.Do(func() { close(t.hurry) })
	select {
	case <-t.done:
		return t.err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// end ends the comparison: at once where nothing was written, and else when the
// file is known to be sound, for then it will be sealed anew.
func (t *trial) end(wrote bool) error {
	if t == nil {
		return nil
	}
	if !wrote {
		t.stop()
	}
	return t.finish(context.Background())
}

// close gives the file back.
func (t *trial) close() error {
	if t == nil {
		return nil
	}
	t.stop()
	<-t.done
	return t.file.Close()
}

// altered is the refusal of all further work on a file that is not as it was
// closed.
func (t *trial) altered(path string) error {
	if t != nil && t.lost.Load() {
		return &OpenError{Refusal: Altered, Path: path}
	}
	return nil
}
