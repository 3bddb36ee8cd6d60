package store

import (
	"database/sql"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A moment is the files of an open store, as a kill would leave them.
type moment map[string][]byte

func momentOf(t *testing.T, s *Store) moment {
	t.Helper()
	m := moment{}
	for _, beside := range []string{"-wal", ".sums", ".lock"} {
		content, err := os.ReadFile(s.path + beside)
		require.NoError(t, err)
		m[beside] = content
	}
	content, err := io.ReadAll(io.NewSectionReader(s.file, 0, 1<<40)) // to open and close it takes SQLite's locks away
	require.NoError(t, err)
	m[""] = content
	keys, err := filepath.Glob(filepath.Join(filepath.Dir(s.path), "*.keys"))
	require.NoError(t, err)
	content, err = os.ReadFile(keys[0])
	require.NoError(t, err)
	m["keys"] = content
	return m
}

func keysOf(path string) string { return filepath.Join(filepath.Dir(path), "tallystick.keys") }

// with gives the same moment with other content of one file.
func (m moment) with(beside string, content []byte) moment {
	other := moment{beside: content}
	for name, content := range m {
		if name != beside {
			other[name] = content
		}
	}
	return other
}

// files writes a moment into a folder of its own.
func (m moment) files(t *testing.T) Config {
	t.Helper()
	path := filepath.Join(t.TempDir(), "tallystick.db")
	c := Config{Path: path, KeysPath: keysOf(path)}
	for beside, content := range m {
		to := path + beside
		if beside == "keys" {
			to = c.KeysPath
		}
		require.NoError(t, os.WriteFile(to, content, 0o600))
	}
	return c
}

// weighed is what the sums say of a moment.
func (m moment) weighed(t *testing.T) (sound bool, err error) {
	t.Helper()
	return weighedAt(t, m.files(t).Path)
}

func weighedAt(t *testing.T, path string) (sound bool, err error) {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	kept, err := readSums(path)
	require.NoError(t, err)
	j := newJournal(path)
	require.NoError(t, j.readOn())
	sound, err = weigh(path, file, kept, j)
	require.NoError(t, errors.Join(kept.close(), j.close(), file.Close()))
	return sound, err
}

// isSound asks that the sums know a moment to be sound, and that the store goes on
// from it with all the sales.
func (m moment) isSound(t *testing.T, when string, sales int) {
	t.Helper()
	sound, err := m.weighed(t)
	require.NoError(t, err, when)
	assert.True(t, sound, when)
	s, err := Open(t.Context(), m.files(t))
	require.NoError(t, err, when)
	assert.Len(t, salesOf(t, s, ann), sales, when)
	require.NoError(t, examine(t.Context(), s.writer, s.path), when)
	shareNow(t, s, ann, "and on", stool(999))
	require.NoError(t, s.Close(), when)
}

// record does the first half of a checkpoint: all but the moving.
func record(t *testing.T, s *Store) {
	t.Helper()
	require.NoError(t, s.commits.exclusive(t.Context(), func(*sql.DB) error {
		require.NoError(t, s.journal.readOn())
		return s.sums.ready(s.journal)
	}))
}

func moving(t *testing.T, s *Store, how string) error {
	t.Helper()
	return s.commits.exclusive(t.Context(), func(db *sql.DB) error { return s.move(t.Context(), db, how) })
}

// bulk adds rows of random bytes, or takes them all away.
func bulk(t *testing.T, s *Store, rows int) {
	t.Helper()
	err := s.writeAlone(t.Context(), "adding much", func(tx *transaction) error {
		statement := `INSERT INTO question WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ` + strconv.Itoa(rows) + `)
			SELECT randomblob(32), 'ABCDEF', 4000000000, '"' || hex(randomblob(2000)) || '"' FROM n`
		if rows == 0 {
			statement = "DELETE FROM question"
		}
		_, err := tx.ExecContext(t.Context(), statement)
		return err
	})
	require.NoError(t, err)
}
