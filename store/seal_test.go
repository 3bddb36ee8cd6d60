package store_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/store"
)

func sealOf(t *testing.T, c store.Config) []byte {
	t.Helper()
	text, err := os.ReadFile(c.Path + ".seal")
	require.NoError(t, err)
	return text
}

func TestAClosedFileIsSealedAndAnOpenOneIsNot(t *testing.T) {
	t.Parallel()
	c := closed(t)
	before := sealOf(t, c)
	info, err := os.Stat(c.Path + ".seal")
	require.NoError(t, err)
	assert.Equal(t, fs.FileMode(0o600), info.Mode().Perm())

	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	_, err = os.Stat(c.Path + ".seal")
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.NoError(t, s.Close())
	assert.Equal(t, before, sealOf(t, c), "nothing was written, so the sum stays")

	s, err = store.Open(t.Context(), c)
	require.NoError(t, err)
	share(t, s, bert, "2", bench(200))
	require.NoError(t, s.Close())
	assert.NotEqual(t, before, sealOf(t, c))
}

func TestAFileThatWasCopiedElsewhereIsOpened(t *testing.T) {
	t.Parallel()
	from, to := closed(t), config(t.TempDir())
	for _, names := range [][2]string{{from.Path, to.Path}, {from.Path + ".seal", to.Path + ".seal"}, {from.KeysPath, to.KeysPath}} {
		content, err := os.ReadFile(names[0])
		require.NoError(t, err)
		require.NoError(t, os.MkdirAll(filepath.Dir(names[1]), 0o700))
		require.NoError(t, os.WriteFile(names[1], content, 0o600))
	}
	assert.Equal(t, []int{1}, numbers(t, open(t, to), ann))
}

func TestADamagedSealAccusesNoSoundFile(t *testing.T) {
	t.Parallel()
	c := closed(t)
	text := sealOf(t, c)
	for i := 0; i < len(text); i += 5 {
		changed := append([]byte(nil), text...)
		changed[i] ^= 4
		require.NoError(t, os.WriteFile(c.Path+".seal", changed, 0o600))
		s, err := store.Open(t.Context(), c)
		require.NoError(t, err, "%d", i)
		require.NoError(t, s.Close())
	}
}

// An older copy that was put in the place of the file, time and all, is not what
// was closed.
func TestAnOlderFileUnderANewerSealIsRefused(t *testing.T) {
	t.Parallel()
	c := closed(t)
	older, err := os.ReadFile(c.Path)
	require.NoError(t, err)
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	share(t, s, bert, "2", bench(200))
	require.NoError(t, s.Close())
	info, err := os.Stat(c.Path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(c.Path, older, 0o600))
	require.NoError(t, os.Chtimes(c.Path, time.Time{}, info.ModTime()))
	refused := refusal(t, c)
	assert.Equal(t, store.Altered, refused.Refusal)
	assert.Contains(t, refused.Error(), ".seal")

	unsealed(t, c)
	assert.Equal(t, []int{1}, numbers(t, open(t, c), ann), "its owner may take it as it is")
}

func TestAnEmptyFileInTheDatabasesPlaceIsRefused(t *testing.T) {
	t.Parallel()
	c := closed(t)
	unsealed(t, c)
	require.NoError(t, os.Truncate(c.Path, 0))
	assert.Equal(t, store.Damaged, refusal(t, c).Refusal)
}
