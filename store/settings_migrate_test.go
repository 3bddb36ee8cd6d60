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
)

func TestADatabaseFromBeforeSettingsTakesThem(t *testing.T) {
	t.Parallel()
	ctx, folder := context.Background(), t.TempDir()
	path, keysPath := filepath.Join(folder, "a.db"), filepath.Join(folder, "a.keys")
	first, err := os.ReadFile("migrations/00001_shared_log.sql")
	require.NoError(t, err)
	k, err := createKeys(keysPath)
	require.NoError(t, err)

	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	old, err := goose.NewProvider(goose.DialectSQLite3, db, fstest.MapFS{"00001_shared_log.sql": {Data: first}}, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = old.Up(ctx)
	require.NoError(t, err)
	ann := Who{Community: "workshop", Member: "ann"}
	_, err = db.ExecContext(ctx, "INSERT INTO consent (member, wording, given) VALUES (?, 1, 20000)", k.mac(members, ann.Community, ann.Member))
	require.NoError(t, err)
	require.NoError(t, db.Close())

	s, err := Open(ctx, Config{Path: path, KeysPath: keysPath})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.ChangeSettings(ctx, ann, "one", time.Unix(0, 0), func(got *Settings) error { got.Units = "metric"; return nil }))
	got, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Equal(t, "metric", got.Units)
	consent, given, err := s.Consent(ctx, ann)
	require.NoError(t, err)
	assert.True(t, given, "what was there before is there still")
	assert.Equal(t, 1, consent.Wording)
}
