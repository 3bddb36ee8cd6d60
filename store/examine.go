package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

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

func examineParts(ctx context.Context, db *sql.DB) error {
	var result string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&result); err != nil {
		return fmt.Errorf("checking integrity: %w", err)
	}
	if result != "ok" {
		return fmt.Errorf("checking integrity: %s: %w", result, ErrDamaged)
	}
	return nil
}

func examineLinks(ctx context.Context, db *sql.DB) error {
	rows, err := db.QueryContext(ctx, "PRAGMA foreign_key_check")
	if err != nil {
		return fmt.Errorf("checking foreign keys: %w", err)
	}
	return each(rows, func() error { return fmt.Errorf("a row leads nowhere: %w", ErrDamaged) })
}
