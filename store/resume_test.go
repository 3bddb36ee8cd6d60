package store

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

// What a kill leaves behind is what lies on the disk at that moment: the copy here
// is taken in the middle of a release, and opened as the next start would.
func TestAReleaseThatWasKilledIsMadeAtTheNextStart(t *testing.T) {
	t.Parallel()
	s, path := inside(t)
	for i := range 30 {
		sale := stool(100 + i)
		sale.Category = fmt.Sprint("stool ", i)
		shareNow(t, s, Who{ann.Community, fmt.Sprint("member ", i)}, "1", sale)
	}
	may := time.Date(2026, time.May, 1, 6, 0, 0, 0, time.UTC)
	folder := t.TempDir()
	killed := Config{Path: filepath.Join(folder, "tallystick.db"), KeysPath: filepath.Join(filepath.Dir(path), "tallystick.keys")}
	require.NoError(t, s.write(t.Context(), "test", func(tx *transaction) error {
		require.NoError(t, s.release(t.Context(), tx, s.communityID(ann.Community), pool.DayAt(may), s.rules))
		for _, beside := range []string{"", "-wal"} {
			content, err := os.ReadFile(path + beside)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(killed.Path+beside, content, 0o600))
		}
		return nil
	}))
	want, err := s.Published(t.Context(), ann.Community)
	require.NoError(t, err)
	require.True(t, want[0].Shown)

	again, err := Open(t.Context(), killed)
	require.NoError(t, err)
	defer func() { require.NoError(t, again.Close()) }()
	lines, err := again.Published(t.Context(), ann.Community)
	require.NoError(t, err)
	assert.Empty(t, lines, "nothing of half a release is there")
	for _, made := range []int{1, 0} {
		ran, err := again.ReleaseDue(t.Context(), may)
		require.NoError(t, err)
		assert.Equal(t, made, ran)
		lines, err = again.Published(t.Context(), ann.Community)
		require.NoError(t, err)
		assert.Equal(t, want, lines, "the same sales, keys and day give the same release")
	}
}

// A database of each version that landed is brought up to date, with all in it.
func TestADatabaseOfTheFirstVersionIsBroughtUpToDate(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	c := Config{Path: filepath.Join(folder, "tallystick.db"), KeysPath: filepath.Join(folder, "tallystick.keys")}
	_, err := createKeys(c.KeysPath)
	require.NoError(t, err)
	db, err := connect(t.Context(), c.Path, 1, false)
	require.NoError(t, err)
	files, err := fs.Sub(migrationFiles, "migrations")
	require.NoError(t, err)
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = provider.UpTo(t.Context(), 1)
	require.NoError(t, err)
	k, err := readKeys(c.KeysPath)
	require.NoError(t, err)
	old := Store{keys: k}
	id, tag := old.communityID(ann.Community), old.tag(ann)
	for _, statement := range []struct {
		text string
		args []any
	}{
		{"INSERT INTO community (community, currency, practice) VALUES (?, 'EUR', 0)", []any{id}},
		{"INSERT INTO community_word (community, kind, place, word) VALUES (?, 'category', 0, 'stool')", []any{id}},
		{"INSERT INTO contributor (tag, community, since, seeded) VALUES (?, ?, 20000, 0)", []any{tag, id}},
		{"INSERT INTO consent (member, wording, given) VALUES (?, 1, 20000)", []any{old.memberID(ann)}},
		{"INSERT INTO record (id, tag, number, code_hash, " + saleColumns + ") VALUES (7, ?, 1, randomblob(32), " + saleMarks + ")",
			append([]any{tag}, stool(100).columns()...)},
	} {
		_, err := db.ExecContext(t.Context(), statement.text, statement.args...)
		require.NoError(t, err, statement.text)
	}
	require.NoError(t, db.Close())

	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	settings, err := s.Community(t.Context(), ann.Community)
	require.NoError(t, err)
	assert.Equal(t, Community{Currency: "EUR", Categories: []string{"stool"}}, settings)
	own, err := s.Own(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, []SharedSale{{Number: 1, Sale: stool(100)}}, own.Sales)
	assert.Equal(t, 1, own.Consent.Wording)
	require.NoError(t, s.JoinShop(t.Context(), ann, "larch-tuesday"))
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, pool.DayAt(march), pool.StandardRules()))
}
