package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migrate brings the schema up to date, each step in a transaction, and refuses
// a schema that is ahead of this program.
func migrate(ctx context.Context, db *sql.DB, path string) error {
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return fmt.Errorf("reading migrations: %w", err)
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("reading migrations: %w", err)
	}
	current, newest, err := provider.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("reading schema version: %w", err)
	}
	if current > newest {
		return &OpenError{Refusal: Newer, Path: path}
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("migrating: %w", err)
	}
	return nil
}
