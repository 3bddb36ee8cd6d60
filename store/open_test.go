package store_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestTheFilesAreForTheirOwnerOnly(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s := open(t, c)
	share(t, s, ann, "1", bench(100))
	for _, path := range []string{c.Path, c.Path + "-wal", c.Path + "-shm", c.KeysPath} {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, fs.FileMode(0o600), info.Mode().Perm(), filepath.Base(path))
	}
	for _, path := range []string{c.Path, c.KeysPath} {
		info, err := os.Stat(filepath.Dir(path))
		require.NoError(t, err)
		assert.Equal(t, fs.FileMode(0o700), info.Mode().Perm(), filepath.Base(filepath.Dir(path)))
	}
}

func TestFilesThatOthersCouldReadAreClosedToThem(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	for _, path := range []string{c.Path, c.KeysPath} {
		require.NoError(t, os.Chmod(path, 0o644))
	}
	open(t, c)
	for _, path := range []string{c.Path, c.KeysPath} {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, fs.FileMode(0o600), info.Mode().Perm(), filepath.Base(path))
	}
}

func TestWhatWasStoredIsThereAfterARestart(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	shared := share(t, s, ann, "1", bench(100))
	require.NoError(t, s.Close())
	_, err = os.Stat(c.Path + "-wal")
	require.ErrorIs(t, err, fs.ErrNotExist, "all is in the one file")

	s = open(t, c)
	sales, err := s.Sales(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, []store.SharedSale{{Number: shared.Number, Sale: bench(100)}}, sales)
}

func TestTwoProgramsMayBeginAtOnce(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	var wait sync.WaitGroup
	for i := range 4 {
		wait.Go(func() {
			s, err := store.Open(t.Context(), c)
			if assert.NoError(t, err) {
				_, err = s.SaveDraft(t.Context(), ann, bench(100+i), noon)
				assert.NoError(t, err)
				assert.NoError(t, s.Close())
			}
		})
	}
	wait.Wait()
}

func TestAPathMayHoldTheSignsOfAnAddress(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	c.Path = filepath.Join(filepath.Dir(c.Path), "what? 100% oak #2.db")
	s := open(t, c)
	share(t, s, ann, "1", bench(100))
	_, err := os.Stat(c.Path)
	require.NoError(t, err)
}

// refusal opens the store and gives why it was refused.
func refusal(t *testing.T, c store.Config) *store.OpenError {
	t.Helper()
	s, err := store.Open(t.Context(), c)
	if err == nil {
		require.NoError(t, s.Close())
	}
	var refused *store.OpenError
	require.ErrorAs(t, err, &refused)
	assert.NotContains(t, refused.Error(), "SQL")
	return refused
}

func closed(t *testing.T) store.Config {
	t.Helper()
	c := config(t.TempDir())
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	share(t, s, ann, "1", bench(100))
	require.NoError(t, s.Close())
	return c
}

// unsealed takes the seal of a closed database away.
func unsealed(t *testing.T, c store.Config) {
	t.Helper()
	require.NoError(t, os.Remove(c.Path+".seal"))
}

func TestADatabaseWithoutItsKeysIsRefused(t *testing.T) {
	t.Parallel()
	c := closed(t)
	require.NoError(t, os.Remove(c.KeysPath))
	refused := refusal(t, c)
	assert.Equal(t, store.KeysMissing, refused.Refusal)
	assert.Contains(t, refused.Error(), "put it back from its backup")
	_, err := os.Stat(c.KeysPath)
	assert.ErrorIs(t, err, fs.ErrNotExist, "no new keys are made over the loss")
}

func TestTheKeysOfAnotherDatabaseAreRefused(t *testing.T) {
	t.Parallel()
	c, other := closed(t), closed(t)
	c.KeysPath = other.KeysPath
	assert.Equal(t, store.KeysOther, refusal(t, c).Refusal)
}

func TestKeysThatAreNotWholeAreRefused(t *testing.T) {
	t.Parallel()
	whole, err := os.ReadFile(closed(t).KeysPath)
	require.NoError(t, err)
	lines := strings.SplitAfter(string(whole), "\n")
	for what, text := range map[string]string{
		"empty":           "",
		"cut short":       string(whole[:len(whole)-5]),
		"a line missing":  strings.Join(lines[:len(lines)-2], ""),
		"two lines moved": lines[0] + lines[2] + lines[1] + strings.Join(lines[3:], ""),
		"another header":  "keys\n" + strings.Join(lines[1:], ""),
	} {
		c := closed(t)
		require.NoError(t, os.WriteFile(c.KeysPath, []byte(text), 0o600))
		assert.Equal(t, store.KeysDamaged, refusal(t, c).Refusal, what)
	}
}

// Whatever is left of a database that is gone, another is begun, and that is said once:
// somebody else than its owner may have taken it away.
func TestADatabaseThatIsBegunWhereOneWasIsToldOf(t *testing.T) {
	t.Parallel()
	for what, gone := range map[string][]string{
		"moved away":              {""},
		"its keys alone are left": {"", ".seal", ".sums", ".lock"},
		"its seal is left":        {"", ".sums", ".lock", "keys"},
		"its sums are left":       {"", ".seal", ".lock", "keys"},
		"its lock is left":        {"", ".seal", ".sums", "keys"},
	} {
		c := closed(t)
		for _, ending := range gone {
			path := c.Path + ending
			if ending == "keys" {
				path = c.KeysPath
			}
			require.NoError(t, os.Remove(path), what)
		}
		var told []string
		c.Notice = func(text string) { told = append(told, text) }
		for range 2 {
			s, err := store.Open(t.Context(), c)
			require.NoError(t, err, what)
			assert.Empty(t, numbers(t, s, ann), what)
			require.NoError(t, s.Close(), what)
			require.Len(t, told, 1, what)
		}
		assert.Contains(t, told[0], fmt.Sprintf("began a new database at %q", c.Path), what)
	}
}

func TestOfAFirstDatabaseAndOfOneThatIsRestoredNothingIsTold(t *testing.T) {
	t.Parallel()
	told := func(text string) { assert.Fail(t, text) }
	c := config(t.TempDir())
	c.Notice = told
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	to := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), c, to, false, silent))
	require.NoError(t, os.Rename(c.Path, c.Path+".away"))
	_, err = store.Restore(t.Context(), c, to)
	require.NoError(t, err)
	open(t, c)
}

// The journal may hold what is nowhere else, and a new database would take its place.
func TestAJournalWithoutItsDatabaseIsRefused(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	holder := held(t, folder)
	require.NoError(t, holder.Process.Kill())
	_ = holder.Wait()
	c := config(folder)
	require.NoError(t, os.Rename(c.Path, c.Path+".away"))
	refused := refusal(t, c)
	assert.Equal(t, store.Journal, refused.Refusal)
	assert.Contains(t, refused.Error(), "put the database back")
	_, err := os.Stat(c.Path)
	require.ErrorIs(t, err, fs.ErrNotExist, "nothing is begun")
	require.NoError(t, os.Rename(c.Path+".away", c.Path))
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	assert.Equal(t, []int{1}, numbers(t, s, ann), "put back, it is as it was")
	require.NoError(t, s.Close())
}

func TestADamagedFileIsRefused(t *testing.T) {
	t.Parallel()
	c := closed(t)
	unsealed(t, c)
	require.NoError(t, os.WriteFile(c.Path, []byte(strings.Repeat("not a database ", 1000)), 0o600))
	assert.Equal(t, store.Damaged, refusal(t, c).Refusal)

	c = closed(t)
	content, err := os.ReadFile(c.Path)
	require.NoError(t, err)
	for i := 2 * 4096; i < len(content); i += 7 {
		content[i] ^= 0x5a
	}
	require.NoError(t, os.WriteFile(c.Path, content, 0o600))
	assert.Equal(t, store.Altered, refusal(t, c).Refusal, "as long as there is the seal")
	unsealed(t, c)
	assert.Equal(t, store.Damaged, refusal(t, c).Refusal)

	c = closed(t)
	unsealed(t, c)
	require.NoError(t, os.Truncate(c.Path, int64(len(content)/2)))
	assert.Equal(t, store.Damaged, refusal(t, c).Refusal)
}

func TestAFileInTheFoldersPlaceIsAFault(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := store.Open(t.Context(), config(file))
	require.Error(t, err)
	var refused *store.OpenError
	assert.False(t, errors.As(err, &refused), "%v", err)
	assert.NotErrorIs(t, err, store.ErrNotFound)
}

func TestRulesLooserThanTheStandardOnesAreRefused(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	c.Rules = pool.StandardRules()
	c.Rules.Makers = 5
	_, err := store.Open(t.Context(), c)
	var looser *pool.LooserError
	require.ErrorAs(t, err, &looser)

	s := fresh(t)
	require.ErrorAs(t, s.RunRelease(t.Context(), "guild", pool.DayAt(noon), c.Rules), &looser)
}

func TestAStoreNeedsBothPaths(t *testing.T) {
	t.Parallel()
	for _, c := range []store.Config{{Path: "x.db"}, {KeysPath: "x.keys"}} {
		_, err := store.Open(t.Context(), c)
		require.Error(t, err)
	}
}
