package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"modernc.org/sqlite"
)

// ErrThere is a file in the place where one was to be made.
var ErrThere = errors.New("there is a file already")

// backupPages is how many pages are copied between two looks at the clock.
const backupPages = 256

// Backup copies a database, which another process may have open and be writing to,
// as it is at one moment. It writes to another name, audits the copy, and only then
// gives it its name, with a seal beside it. Over a file that is there it is ErrThere,
// unless over; over one of its own it is ErrOwn in any case. progress is told the pages
// copied and in all.
func Backup(ctx context.Context, config Config, to string, over bool, progress func(done, all int)) (err error) {
	if err := absent(config.Path); err != nil {
		return err
	}
	if config.Owns(to) {
		return fmt.Errorf("%q: %w", to, ErrOwn)
	}
	if _, err := compareClosed(ctx, config.Path); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, tidy(ctx, config.Path)) }()
	if err := free(to); err != nil && (!over || !errors.Is(err, ErrThere)) {
		return err
	}
	defer func() { err = noPlace(to, err) }()
	// CreateTemp makes files that only their owner may read.
	temp, err := os.CreateTemp(filepath.Dir(to), ".backup-*")
	if err != nil {
		return fmt.Errorf("making backup: %w", err)
	}
	defer func() {
		for _, beside := range []string{"", "-journal", "-wal", "-shm"} {
			_ = os.Remove(temp.Name() + beside) // it has its name by now, or is of no use
		}
	}()
	if err := temp.Close(); err != nil {
		return fmt.Errorf("making backup: %w", err)
	}
	if err := copyPages(ctx, config.Path, temp.Name(), progress); err != nil {
		if errors.Is(befallen(config.Path, err), ErrDamaged) {
			return &OpenError{Refusal: Damaged, Path: config.Path}
		}
		return fmt.Errorf("copying database: %w", err)
	}
	problems, err := auditCopy(ctx, temp.Name(), config)
	if err := errors.Join(append(problems, err)...); err != nil {
		return fmt.Errorf("checking backup: %w", err)
	}
	return place(ctx, temp.Name(), to)
}

// free is ErrThere where there is a file.
func free(path string) error {
	_, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = ErrThere
	}
	return fmt.Errorf("looking for a place: %w", err)
}

// noPlace makes one sentence of an error that the disk of a backup is the reason of.
func noPlace(to string, err error) error {
	befell := befallen(to, err)
	switch {
	case befell == ErrNoRoom:
		return fmt.Errorf("there is no room for the backup in the folder %q: %w; make room there, or name a file on another disk", filepath.Dir(to), befell)
	case befell == ErrReadOnly && refusedBy(probe(to)) == ErrReadOnly: // and not what it is made of
		return fmt.Errorf("the backup cannot be written in the folder %q; name a file in a folder that you may write to", filepath.Dir(to))
	}
	return err
}

// copyPages copies one view of the database into an empty file.
func copyPages(ctx context.Context, from, to string, progress func(done, all int)) (err error) {
	db, err := connect(ctx, from, 1, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	c, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	// The view is held from the first page to the last, so that what is written
	// meanwhile does not make it begin again.
	for _, statement := range []string{"BEGIN", "SELECT count(*) FROM house"} {
		if _, err := c.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	return c.Raw(func(driver any) error {
		b, err := driver.(interface {
			NewBackup(to string) (*sqlite.Backup, error)
		}).NewBackup("file:" + escaped(to) + "?_pragma=synchronous(FULL)")
		if err != nil {
			return err
		}
		for more := true; more && err == nil; {
			if err = ctx.Err(); err == nil {
				more, err = b.Step(backupPages)
				progress(b.PageCount()-b.Remaining(), b.PageCount())
			}
		}
		return errors.Join(err, b.Finish())
	})
}

// auditCopy makes a copied file stand by itself, without a journal beside it, and
// gives the problems that an audit finds in it.
func auditCopy(ctx context.Context, path string, config Config) (problems []error, err error) {
	if err := wholePages(path); err != nil {
		return []error{err}, nil
	}
	db, err := openPool("file:" + escaped(path) + "?_dqs=0&_defensive=1&_pragma=synchronous(FULL)")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	var mode string
	if err := db.QueryRowContext(ctx, "PRAGMA journal_mode = DELETE").Scan(&mode); err != nil {
		return nil, fmt.Errorf("ending journal: %w", err)
	}
	later := false
	err = audit(ctx, db, config, func(f Finding) {
		later = later || f.Later
		if f.Problem != nil {
			problems = append(problems, fmt.Errorf("%s: %w", f.Check, f.Problem))
		}
	})
	if errors.Is(err, ErrUnsound) {
		err = nil // the problems say it
	}
	if later && config.Notice != nil {
		config.Notice("the database is of an earlier version: what this one keeps otherwise is checked once a start has brought it up to date")
	}
	return problems, err
}

// place seals a finished file and gives it its name for good.
func place(ctx context.Context, from, to string) error {
	if err := syncFile(from); err != nil {
		return err
	}
	sum, err := sumFile(ctx, from)
	if err != nil {
		return err
	}
	if err := errors.Join(dropSeal(to), dropSums(to)); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("naming file: %w", err)
	}
	s, err := look(to)
	if err != nil {
		return err
	}
	s.sum = sum
	return errors.Join(s.write(to), syncFolder(to))
}

// syncFile makes the content of a file last.
func syncFile(path string) error {
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("opening file: %w", err)
	}
	err = file.Sync()
	if runtime.GOOS == "windows" {
		err = nil // it was written through already
	}
	return errors.Join(err, file.Close())
}
