package store

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
)

func TestADatabaseFromBeforeJobSheetsTakesThem(t *testing.T) {
	t.Parallel()
	ctx, folder := context.Background(), t.TempDir()
	path, keysPath := filepath.Join(folder, "a.db"), filepath.Join(folder, "a.keys")
	earlier := fstest.MapFS{}
	for _, name := range []string{"00001_shared_log.sql", "00002_settings.sql"} {
		text, err := os.ReadFile("migrations/" + name)
		require.NoError(t, err)
		earlier[name] = &fstest.MapFile{Data: text}
	}
	_, err := createKeys(keysPath)
	require.NoError(t, err)
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	old, err := goose.NewProvider(goose.DialectSQLite3, db, earlier, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = old.Up(ctx)
	require.NoError(t, err)
	require.NoError(t, db.Close())

	s, err := Open(ctx, Config{Path: path, KeysPath: keysPath})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	e, err := s.WriteBook(ctx, Who{Community: "workshop", Member: "ann"}, "one", time.Unix(0, 0), func(*Book) (price.Entry, error) {
		return price.Entry{Kind: price.EntryOpen, Currency: "USD", Facts: price.Facts{price.FactName: "Bench"}}, nil
	})
	require.NoError(t, err)
	assert.Equal(t, 1, e.Piece)
	_, err = s.writer.ExecContext(ctx, "UPDATE entry SET amount = 5")
	assert.ErrorContains(t, err, "a ledger is only added to")
}
