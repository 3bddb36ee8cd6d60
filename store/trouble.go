package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	sqlite3 "modernc.org/sqlite/lib"
)

// What may befall the file of a running program. Nothing of the work was kept.
var (
	// ErrNoRoom: the disk is full. When there is room, all goes on.
	ErrNoRoom = errors.New("the disk is full")
	// ErrReadOnly: the file or its folder can no longer be written to.
	ErrReadOnly = errors.New("the database cannot be written to")
	// ErrDamaged: the file is no whole database any more.
	ErrDamaged = errors.New("the database is damaged; stop the program and run tallystick check")
)

// trouble says of an error of the database what befell the file, and which file it
// is.
func (s *Store) trouble(err error) error {
	if befell := befallen(s.path, err); befell != nil {
		return fmt.Errorf("%w (file %q): %w", befell, s.path, err)
	}
	return err
}

// befallen gives one of the three, or nil.
func befallen(path string, err error) error {
	switch sqliteCode(err) {
	case sqlite3.SQLITE_FULL:
		return ErrNoRoom
	case sqlite3.SQLITE_READONLY:
		return ErrReadOnly
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return ErrDamaged
	case sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN:
		// SQLite does not say why the system refused; the system does.
		return refusedBy(probe(path))
	}
	return refusedBy(err)
}

// refusedBy finds among the system's reasons those that its owner can put right.
func refusedBy(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return ErrNoRoom
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return ErrReadOnly
	}
	return nil
}

// probe tries to write a little beside the file.
func probe(path string) error {
	temp, err := os.CreateTemp(filepath.Dir(path), ".room-*")
	if err != nil {
		return err
	}
	_, err = temp.Write(make([]byte, 64<<10))
	return errors.Join(err, temp.Sync(), temp.Close(), os.Remove(temp.Name()))
}

// refusal gives what whoever starts the program has to put right, or nil.
func refusal(path string, err error) *OpenError {
	if refused, ok := errors.AsType[*OpenError](err); ok {
		return refused
	}
	switch befallen(path, err) {
	case ErrNoRoom:
		return &OpenError{Refusal: NoRoom, Path: path}
	case ErrReadOnly:
		return &OpenError{Refusal: ReadOnly, Path: path}
	case ErrDamaged:
		return &OpenError{Refusal: Damaged, Path: path}
	}
	return nil
}
