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

func silent(int, int) {}

// restored puts a backup into a folder with the keys of c, and opens it.
func restored(t *testing.T, c store.Config, backup string) *store.Store {
	t.Helper()
	place := config(t.TempDir())
	place.KeysPath = c.KeysPath
	keys, err := store.Restore(t.Context(), place, backup)
	require.NoError(t, err)
	require.Nil(t, keys)
	return open(t, place)
}

func TestADatabaseInUseIsBackedUpAsItIsAtOneMoment(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	held(t, folder) // another process, with a shared sale that is in the journal only
	c := config(folder)
	to := filepath.Join(t.TempDir(), "copy.db")
	told := 0
	require.NoError(t, store.Backup(t.Context(), c, to, false, func(done, all int) {
		told++
		assert.LessOrEqual(t, done, all)
	}))
	assert.Positive(t, told, "progress is told")
	for _, path := range []string{to, to + ".seal"} {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, fs.FileMode(0o600), info.Mode().Perm(), path)
	}
	left, err := os.ReadDir(filepath.Dir(to))
	require.NoError(t, err)
	assert.Len(t, left, 2, "nothing else is left")
	assert.Equal(t, []int{1}, numbers(t, restored(t, c, to), ann))
}

func TestABackupUnderWritesHoldsAllThatWasAnsweredBeforeIt(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s := open(t, c)
	for i := range 40 {
		share(t, s, ann, fmt.Sprint(i), bench(100+i))
	}
	to := filepath.Join(t.TempDir(), "copy.db")
	writing := make(chan error, 1)
	begun := make(chan struct{})
	go func() {
		close(begun)
		var err error
		for i := 0; err == nil && i < 100; i++ {
			_, err = s.SaveDraft(t.Context(), bert, bench(i+1), noon)
		}
		writing <- err
	}()
	<-begun
	require.NoError(t, store.Backup(t.Context(), c, to, false, silent))
	require.NoError(t, <-writing)
	assert.Len(t, numbers(t, restored(t, c, to), ann), 40)
}

func TestABackupIsWrittenOverAFileOnlyWhenTold(t *testing.T) {
	t.Parallel()
	c, to := closed(t), filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, os.WriteFile(to, []byte("precious"), 0o600))
	require.ErrorIs(t, store.Backup(t.Context(), c, to, false, silent), store.ErrThere)
	content, err := os.ReadFile(to)
	require.NoError(t, err)
	assert.Equal(t, "precious", string(content))
	require.NoError(t, store.Backup(t.Context(), c, to, true, silent))
	assert.Equal(t, []int{1}, numbers(t, restored(t, c, to), ann))
}

func TestABackupIsNeverWrittenOverAFileOfTheDatabase(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	holder := held(t, folder) // another process, whose files all are there
	c := config(folder)
	link := filepath.Join(t.TempDir(), "link")
	require.NoError(t, os.Symlink(filepath.Dir(c.Path), link))
	content := map[string][]byte{}
	for _, file := range c.Files() {
		content[file], _ = os.ReadFile(file)
	}
	require.NotEmpty(t, content[c.Path+"-wal"])
	for _, file := range c.Files() {
		pointer := filepath.Join(t.TempDir(), "pointer.db")
		require.NoError(t, os.Symlink(file, pointer))
		names := []string{file, filepath.Join(filepath.Dir(file), "..", filepath.Base(filepath.Dir(file)), filepath.Base(file))}
		if filepath.Dir(file) == filepath.Dir(c.Path) {
			names = append(names, filepath.Join(link, filepath.Base(file)))
		}
		if content[file] != nil {
			names = append(names, pointer)
		}
		for _, name := range names {
			for _, over := range []bool{true, false} {
				require.ErrorIs(t, store.Backup(t.Context(), c, name, over, silent), store.ErrOwn, name)
			}
		}
	}
	for _, file := range c.Files() {
		now, _ := os.ReadFile(file)
		assert.Equal(t, content[file], now, file)
	}
	require.NoError(t, store.Backup(t.Context(), c, c.Path+".copy", false, silent), "another name beside it will do")
	require.NoError(t, holder.Process.Kill())
	_ = holder.Wait()
	assert.Equal(t, []int{1}, numbers(t, open(t, c), ann))
}

func TestABackupLeavesTheSealOfAClosedDatabaseRight(t *testing.T) {
	t.Parallel()
	c := closed(t)
	before := sealOf(t, c)
	require.NoError(t, store.Backup(t.Context(), c, filepath.Join(t.TempDir(), "copy.db"), false, silent))
	assert.Equal(t, before, sealOf(t, c))
	for _, beside := range []string{"-wal", "-shm"} {
		_, err := os.Stat(c.Path + beside)
		require.ErrorIs(t, err, fs.ErrNotExist)
	}
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	assert.Equal(t, before, sealOf(t, c))
}

func TestADamagedDatabaseIsNotBackedUpAsIfItWereWhole(t *testing.T) {
	t.Parallel()
	c, to := closed(t), filepath.Join(t.TempDir(), "copy.db")
	content, err := os.ReadFile(c.Path)
	require.NoError(t, err)
	content[len(content)-100] ^= 1
	require.NoError(t, os.WriteFile(c.Path, content, 0o600))
	var refused *store.OpenError
	require.ErrorAs(t, store.Backup(t.Context(), c, to, false, silent), &refused)
	assert.Equal(t, store.Altered, refused.Refusal)
	_, err = os.Stat(to)
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

// Of a backup that was cut short or changed nothing is put in place, whether its
// seal is there or only the half of the file.
func TestAHalfWrittenBackupIsRefused(t *testing.T) {
	t.Parallel()
	c, to := closed(t), filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), c, to, false, silent))
	whole, err := os.ReadFile(to)
	require.NoError(t, err)
	flipped := bytes.Clone(whole)
	flipped[len(flipped)/2] ^= 1
	for what, content := range map[string][]byte{
		"half": whole[:len(whole)/2], "all but a byte": whole[:len(whole)-1], "a bit": flipped, "a page more": append(bytes.Clone(whole), make([]byte, 4096)...),
	} {
		for _, seal := range []bool{true, false} {
			if !seal && what == "a bit" {
				continue // it may be one that no structure tells
			}
			folder := t.TempDir()
			from := filepath.Join(folder, "copy.db")
			require.NoError(t, os.WriteFile(from, content, 0o600))
			if seal {
				text, err := os.ReadFile(to + ".seal")
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(from+".seal", text, 0o600))
			}
			place := config(t.TempDir())
			place.KeysPath = c.KeysPath
			_, err := store.Restore(t.Context(), place, from)
			var refused *store.OpenError
			require.ErrorAs(t, err, &refused, "%s, sealed %v", what, seal)
			assert.Equal(t, store.Damaged, refused.Refusal)
			assert.Equal(t, from, refused.Path, "it names the backup")
			_, err = os.Stat(place.Path)
			require.ErrorIs(t, err, fs.ErrNotExist, "nothing is put in place")
		}
	}
}

func TestABackupIsRestoredIntoAnEmptyPlaceOnly(t *testing.T) {
	t.Parallel()
	c, other, to := closed(t), closed(t), filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), c, to, false, silent))
	_, err := store.Restore(t.Context(), other, to)
	require.ErrorIs(t, err, store.ErrThere)
	assert.Equal(t, []int{1}, numbers(t, open(t, other), ann))

	place := config(t.TempDir())
	require.NoError(t, os.MkdirAll(filepath.Dir(place.Path), 0o700))
	require.NoError(t, os.WriteFile(place.Path+"-wal", []byte("of another database"), 0o600))
	_, err = store.Restore(t.Context(), place, to)
	require.ErrorIs(t, err, store.ErrThere)
	assert.ErrorContains(t, err, "-wal")
}

func TestARestoredDatabaseSaysThatItsKeysAreMissing(t *testing.T) {
	t.Parallel()
	c, to := closed(t), filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Backup(t.Context(), c, to, false, silent))
	place := config(t.TempDir())
	keys, err := store.Restore(t.Context(), place, to)
	require.NoError(t, err)
	require.NotNil(t, keys)
	assert.Equal(t, place.KeysPath, keys.KeysPath)
	assert.Equal(t, store.KeysMissing, refusal(t, place).Refusal, "it does not begin with new ones")

	place.KeysPath = closed(t).KeysPath
	require.NoError(t, os.Remove(place.Path))
	_, err = store.Restore(t.Context(), place, to)
	var refused *store.OpenError
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, store.KeysOther, refused.Refusal)
}
