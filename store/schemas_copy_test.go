package store_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/store"
)

// eachOld does something with a database of each schema that no program of today has
// opened.
func eachOld(t *testing.T, do func(t *testing.T, o oldSchema, config store.Config, told string)) {
	t.Helper()
	for _, o := range oldSchemas {
		t.Run(fmt.Sprintf("%05d", o.newest), func(t *testing.T) {
			t.Parallel()
			config, told := o.unpack(t)
			do(t, o, config, told)
		})
	}
}

// checked audits a database that has to be sound, and gives the checks that are to be
// made later.
func checked(t *testing.T, config store.Config) (later []string) {
	t.Helper()
	require.NoError(t, store.Audit(t.Context(), config, func(f store.Finding) {
		assert.NoError(t, f.Problem, f.Check)
		if f.Later {
			later = append(later, f.Check)
		}
	}))
	return later
}

func TestADatabaseOfAnOlderProgramIsCheckedBackedUpAndRestoredBeforeItIsBroughtUpToDate(t *testing.T) {
	t.Parallel()
	eachOld(t, func(t *testing.T, o oldSchema, config store.Config, told string) {
		latest := o.newest == oldSchemas[len(oldSchemas)-1].newest
		before, err := os.ReadFile(config.Path)
		require.NoError(t, err)
		later := checked(t, config)
		assert.Equal(t, latest, len(later) == 0, "%v", later)
		var notices []string
		config.Notice = func(text string) { notices = append(notices, text) }
		to := filepath.Join(t.TempDir(), "copy.db")
		require.NoError(t, store.Backup(t.Context(), config, to, false, silent))
		after, err := os.ReadFile(config.Path)
		require.NoError(t, err)
		assert.Equal(t, before, after, "the database itself is left as it is")
		assert.Equal(t, later, checked(t, store.Config{Path: to, KeysPath: config.KeysPath}), "the copy is of the same version")
		// The older program's own file, without a seal, and a copy with one.
		for _, from := range []string{to, config.Path} {
			place := store.Config{Path: filepath.Join(t.TempDir(), "new.db"), KeysPath: config.KeysPath, Notice: config.Notice}
			keys, err := store.Restore(t.Context(), place, from)
			require.NoError(t, err)
			require.Nil(t, keys)
			s, err := store.Open(t.Context(), place)
			require.NoError(t, err)
			assert.Equal(t, told, o.tell(t, s))
			require.NoError(t, s.Close())
			assert.Empty(t, checked(t, place), "all is checked once it is brought up to date")
		}
		if latest {
			assert.Empty(t, notices)
			return
		}
		require.Len(t, notices, 3, "a backup and two restored")
		assert.Contains(t, notices[0], "earlier version")
	})
}

func TestADamagedDatabaseOfAnOlderProgramIsRefusedAllTheSame(t *testing.T) {
	t.Parallel()
	eachOld(t, func(t *testing.T, _ oldSchema, config store.Config, _ string) {
		to := filepath.Join(t.TempDir(), "copy.db")
		require.NoError(t, store.Backup(t.Context(), config, to, false, silent))
		refused := func(from, what string) {
			t.Helper()
			place := store.Config{Path: filepath.Join(t.TempDir(), "new.db"), KeysPath: config.KeysPath}
			_, err := store.Restore(t.Context(), place, from)
			var refused *store.OpenError
			require.ErrorAs(t, err, &refused, what)
			assert.Equal(t, store.Damaged, refused.Refusal, what)
			_, err = os.Stat(place.Path)
			require.ErrorIs(t, err, fs.ErrNotExist, what)
		}
		whole, err := os.ReadFile(to)
		require.NoError(t, err)
		for _, at := range []int{len(whole) / 3, len(whole) / 2, len(whole) - 100} {
			turned := bytes.Clone(whole)
			turned[at] ^= 1
			require.NoError(t, os.WriteFile(to, turned, 0o600))
			refused(to, fmt.Sprintf("byte %d of a sealed copy", at))
		}
		// Without a seal it is the head of a page that SQLite knows by itself.
		turned, err := os.ReadFile(config.Path)
		require.NoError(t, err)
		turned[4096] ^= 1
		require.NoError(t, os.WriteFile(config.Path, turned, 0o600))
		refused(config.Path, "a page of a file without a seal")
		wrong := 0
		err = store.Audit(t.Context(), config, func(f store.Finding) {
			if f.Problem != nil {
				wrong++
			}
		})
		require.ErrorIs(t, err, store.ErrUnsound)
		assert.Positive(t, wrong)
		other := filepath.Join(t.TempDir(), "copy.db")
		require.Error(t, store.Backup(t.Context(), config, other, false, silent))
		_, err = os.Stat(other)
		require.ErrorIs(t, err, fs.ErrNotExist)
	})
}

func TestADatabaseOfAnOlderProgramIsHeldAgainstItsKeysAllTheSame(t *testing.T) {
	t.Parallel()
	eachOld(t, func(t *testing.T, _ oldSchema, config store.Config, _ string) {
		for keysPath, want := range map[string]store.Refusal{
			closed(t).KeysPath:                      store.KeysOther,
			filepath.Join(t.TempDir(), "none.keys"): store.KeysMissing,
		} {
			with := store.Config{Path: config.Path, KeysPath: keysPath}
			var refused *store.OpenError
			require.ErrorIs(t, store.Audit(t.Context(), with, func(f store.Finding) {
				if f.Problem != nil {
					require.ErrorAs(t, f.Problem, &refused)
				}
			}), store.ErrUnsound)
			require.NotNil(t, refused)
			assert.Equal(t, want, refused.Refusal)
			refused = nil
			require.ErrorAs(t, store.Backup(t.Context(), with, filepath.Join(t.TempDir(), "copy.db"), false, silent), &refused)
			assert.Equal(t, want, refused.Refusal)

			place := store.Config{Path: filepath.Join(t.TempDir(), "new.db"), KeysPath: keysPath}
			keys, err := store.Restore(t.Context(), place, config.Path)
			if want == store.KeysMissing {
				require.NoError(t, err)
				assert.Equal(t, want, keys.Refusal, "it is in its place all the same")
				continue
			}
			require.ErrorAs(t, err, &refused)
			assert.Equal(t, want, refused.Refusal)
		}
	})
}
