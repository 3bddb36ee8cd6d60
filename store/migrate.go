package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// newestMigration gives the number of the newest.
func newestMigration() (newest int64, err error) {
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	for _, name := range names {
		number, e := goose.NumericComponent(name)
		newest, err = max(newest, number), errors.Join(err, e)
	}
	return newest, err
}

// attempts is how often bringing the schema up to date is tried.
const attempts = 3

// migrate brings the schema up to date, each step in a transaction, and refuses
// a schema that is ahead of this program.
func migrate(ctx context.Context, db *sql.DB, path string) error {
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return fmt.Errorf("reading migrations: %w", err)
	}
	return migrateBy(ctx, db, path, files)
}

// migrateBy makes the steps of the files that are not made yet.
func migrateBy(ctx context.Context, db *sql.DB, path string, files fs.FS) error {
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("reading migrations: %w", err)
	}
	// Of two programs that begin at once, one finds a step done that it had just
	// found undone. Its step is taken back whole, so it may look again.
	for range attempts {
		var current, newest int64
		if current, newest, err = provider.GetVersions(ctx); err != nil {
			continue
		}
		if current > newest {
			return &OpenError{Refusal: Newer, Path: path}
		}
		if _, err = provider.Up(ctx); err == nil {
			return nil
		}
	}
	return fmt.Errorf("migrating: %w", err)
}
