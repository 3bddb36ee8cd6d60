package store

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
)

// examineFile looks at a file that is not sealed before anything is done with it.
func examineFile(path string) error {
	err := wholePages(path)
	if errors.Is(err, ErrDamaged) {
		return &OpenError{Refusal: Damaged, Path: path}
	}
	return err
}

// examine reads the whole of a file that is not sealed: its structure, what every
// column may hold, every index, and that nothing leads nowhere. What it cannot see
// is a value that became another value of the same kind.
func examine(ctx context.Context, db *sql.DB, path string) error {
	err := errors.Join(examineParts(ctx, db), examineLinks(ctx, db))
	if errors.Is(err, ErrDamaged) || errors.Is(befallen(path, err), ErrDamaged) {
		return &OpenError{Refusal: Damaged, Path: path}
	}
	return err
}

// wholePages refuses a file that ends within a page, which SQLite would fill up with
// zeros, and one of another length than its header says when there is no journal that
// could hold the rest. The header is that of the SQLite file format, 1.3.
func wholePages(path string) error {
	file, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("opening database file: %w", err)
	}
	header := make([]byte, 100)
	n, err := file.ReadAt(header, 0)
	info, problem := file.Stat()
	if problem = errors.Join(problem, file.Close()); problem != nil {
		return fmt.Errorf("looking at database file: %w", problem)
	}
	if n == 0 {
		return nil // it is only begun
	}
	if err != nil {
		return fmt.Errorf("the file ends within its header: %w", ErrDamaged)
	}
	page := int64(binary.BigEndian.Uint16(header[16:]))
	if page == 1 {
		page = 64 << 10
	}
	if page == 0 || info.Size()%page != 0 {
		return fmt.Errorf("the file ends within a page: %w", ErrDamaged)
	}
	left, err := journalled(path)
	if err == nil && !left && info.Size() != page*int64(binary.BigEndian.Uint32(header[28:])) {
		err = fmt.Errorf("the file has another length than it says: %w", ErrDamaged)
	}
	return err
}

// A querier asks the database, in a transaction or out of one.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func examineParts(ctx context.Context, db querier) error {
	var result string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&result); err != nil {
		return fmt.Errorf("checking integrity: %w", err)
	}
	if result != "ok" {
		return fmt.Errorf("checking integrity: %s: %w", result, ErrDamaged)
	}
	return nil
}

func examineLinks(ctx context.Context, db querier) error {
	rows, err := db.QueryContext(ctx, "PRAGMA foreign_key_check")
	if err != nil {
		return fmt.Errorf("checking foreign keys: %w", err)
	}
	return each(rows, func() error { return fmt.Errorf("a row leads nowhere: %w", ErrDamaged) })
}
