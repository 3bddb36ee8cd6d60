package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"modernc.org/sqlite"
)

const readerCount = 4

// readerCache is how many KiB of the file each reader keeps: little, as what is asked
// most is remembered and the system keeps the rest, so that it is full soon after
// a start and memory is flat from then on.
const readerCache = 512

// pragmas are set on each connection, by its address, and read back.
var pragmas = []struct{ name, set, read string }{
	{"busy_timeout", "5000", "5000"},
	{"journal_mode", "WAL", "wal"},
	{"synchronous", "FULL", "2"},
	{"foreign_keys", "1", "1"},
	{"secure_delete", "1", "1"},
	{"wal_autocheckpoint", "0", "0"},
}

// escaped gives a path as it stands in an address: the characters that would end it
// there are escaped.
func escaped(path string) string {
	return strings.NewReplacer("%", "%25", "?", "%3f", "#", "%23").Replace(filepath.ToSlash(path))
}

// address gives the driver's address of the file.
func address(path string, readOnly bool) string {
	settings := []string{"_dqs=0", "_defensive=1"}
	for _, p := range pragmas {
		if readOnly && p.name == "journal_mode" {
			continue // it is the file's, and set by who may write
		}
		settings = append(settings, "_pragma="+p.name+"("+p.set+")")
	}
	if readOnly {
		// Who opens it like this never moves the journal into the file either.
		settings = append(settings, "mode=ro", "_query_only=1", fmt.Sprintf("_pragma=cache_size(-%d)", readerCache))
	} else {
		// What a part of a shared transaction may have to take back is held in
		// memory; else each part would write a file.
		settings = append(settings, "_pragma=temp_store(2)")
	}
	return "file:" + escaped(path) + "?" + strings.Join(settings, "&")
}

// connect opens a pool of connections and checks that they are set as they were
// told: the driver does not mind a pragma that does not exist.
func connect(ctx context.Context, path string, connections int, readOnly bool) (*sql.DB, error) {
	sqlite.StrictPragmas(true)
	db, err := openPool(address(path, readOnly))
	if err != nil {
		return nil, fmt.Errorf("connecting: %w", err)
	}
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	want := slices.Clone(pragmas)
	if readOnly {
		want = slices.DeleteFunc(want, func(p struct{ name, set, read string }) bool { return p.name == "journal_mode" })
		want = append(want, struct{ name, set, read string }{"query_only", "1", "1"},
			struct{ name, set, read string }{"cache_size", "", fmt.Sprint(-readerCache)})
	} else {
		want = append(want, struct{ name, set, read string }{"temp_store", "2", "2"})
	}
	for _, p := range want {
		var got string
		if err := db.QueryRowContext(ctx, "PRAGMA "+p.name).Scan(&got); err != nil {
			return nil, errors.Join(fmt.Errorf("reading pragma %s: %w", p.name, err), db.Close())
		}
		if got != p.read {
			return nil, errors.Join(fmt.Errorf("pragma %s is %s, not %s", p.name, got, p.read), db.Close())
		}
	}
	return db, nil
}

// makeFolder makes the folder of a file, for its owner only.
func makeFolder(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("making folder: %w", err)
	}
	return nil
}

// makeFile makes the database file for its owner only; SQLite gives the files it
// puts beside it the same mode.
func makeFile(path string) error {
	if err := makeFolder(path); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return fmt.Errorf("opening database file: %w", err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("closing database file: %w", err)
	}
	for _, beside := range []string{"", "-wal", "-shm", ".sums"} {
		if err := closeToOthers(path + beside); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// closeToOthers takes from everybody but the owner what they may do with a file.
func closeToOthers(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return fmt.Errorf("looking at file mode: %w", err)
	}
	if info.Mode().Perm()&0o077 == 0 || runtime.GOOS == "windows" {
		return nil
	}
	if err := os.Chmod(path, info.Mode().Perm()&0o700); err != nil {
		return fmt.Errorf("closing file to others: %w", err)
	}
	return nil
}

// syncFolder makes the name of a new file last. Not every system can.
func syncFolder(path string) error {
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return fmt.Errorf("opening folder: %w", err)
	}
	_ = folder.Sync()
	return folder.Close()
}

// beginning says whether there is a database, and whether anything is left of one that
// is gone. It refuses an empty file in the place of one that there has been, and a
// journal alone: it may hold what is nowhere else, and SQLite would throw it away.
func (s *Store) beginning(path string) (there, remains bool, err error) {
	remains = s.hold.begun()
	for _, of := range []string{sealPath(path), sumsPath(path)} {
		remains = remains || free(of) != nil
	}
	switch _, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		left, err := journalled(path)
		if err == nil && left {
			err = &OpenError{Refusal: Journal, Path: path}
		}
		if err != nil {
			return false, remains, err
		}
		// It was moved away, and another is begun.
		return false, remains, errors.Join(dropSeal(path), dropSums(path), s.hold.note(false))
	case err != nil:
		return false, remains, fmt.Errorf("looking for database: %w", err)
	}
	there, err = present(path)
	if err == nil && !there && s.hold.begun() {
		err = &OpenError{Refusal: Damaged, Path: path}
	}
	return there, remains, err
}

// present says whether there is a database in the file: an empty one is none.
func present(path string) (bool, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, nil
	case err != nil:
		return false, fmt.Errorf("looking for database: %w", err)
	}
	return info.Size() > 0, nil
}
