package store

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The bound on the pages of the file stands for a full disk where none can be made:
// SQLite gives the same error.
func TestAFullDiskIsToldAndGoneWhenThereIsRoom(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	var pages int // it is never set below what there is
	require.NoError(t, s.writer.QueryRowContext(t.Context(), "PRAGMA max_page_count = 1").Scan(&pages))
	untilFull(t, s)
	require.NoError(t, s.writer.QueryRowContext(t.Context(), "PRAGMA max_page_count = 100000").Scan(&pages))
	shareNow(t, s, ann, "2", stool(200))
	assert.Len(t, salesOf(t, s, ann), 2)
}

// untilFull drafts until there is no room, and sees that reading goes on.
func untilFull(t *testing.T, s *Store) {
	t.Helper()
	before := salesOf(t, s, ann)
	var err error
	for i := 0; err == nil && i < 100_000; i++ {
		_, err = s.SaveDraft(t.Context(), Who{Community: ann.Community, Member: "other " + strconv.Itoa(i)}, stool(i), march)
	}
	require.ErrorIs(t, err, ErrNoRoom)
	for _, other := range []error{ErrDamaged, ErrConflict, ErrNotFound} {
		assert.NotErrorIs(t, err, other)
	}
	assert.Equal(t, before, salesOf(t, s, ann), "what is there is read as before")
}

func salesOf(t *testing.T, s *Store, who Who) []SharedSale {
	t.Helper()
	sales, err := s.Sales(t.Context(), who)
	require.NoError(t, err)
	return sales
}

// smallDisk mounts a disk of 2 MB in memory, or skips.
func smallDisk(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	if os.Getuid() != 0 {
		t.Skip("only the superuser may mount a small disk; the test with a bound on pages stands for it")
	}
	said, err := exec.CommandContext(t.Context(), "mount", "-t", "tmpfs", "-o", "size=2m,mode=700", "tmpfs", folder).CombinedOutput()
	if err != nil {
		t.Skipf("this machine lets nobody mount a small disk (%v: %s); the test with a bound on pages stands for it", err, said)
	}
	t.Cleanup(func() { assert.NoError(t, exec.Command("umount", "-l", folder).Run()) })
	return folder
}

func TestAReallyFullDiskIsToldAndGoneWhenThereIsRoom(t *testing.T) {
	t.Parallel()
	folder := smallDisk(t)
	config := Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")}
	s, err := Open(t.Context(), config)
	require.NoError(t, err)
	shareNow(t, s, ann, "1", stool(100))
	ballast := filepath.Join(folder, "ballast")
	fill(t, ballast)
	untilFull(t, s)
	require.NoError(t, os.Remove(ballast))
	shareNow(t, s, ann, "2", stool(200))
	assert.Len(t, salesOf(t, s, ann), 2)
	require.NoError(t, examine(t.Context(), s.writer, config.Path))

	fill(t, ballast)
	require.Error(t, s.Close(), "the journal cannot be moved into the file")
	fill(t, ballast)
	s, err = Open(t.Context(), config)
	require.NoError(t, err, "all is in the journal")
	assert.Len(t, salesOf(t, s, ann), 2)
	untilFull(t, s)
	_, err = Open(t.Context(), Config{Path: filepath.Join(folder, "b.db"), KeysPath: filepath.Join(folder, "b.keys")})
	refused, ok := errors.AsType[*OpenError](err)
	require.True(t, ok, "%v", err)
	assert.Equal(t, NoRoom, refused.Refusal)
	assert.Contains(t, refused.Error(), "make room")

	require.NoError(t, os.Remove(ballast))
	shareNow(t, s, ann, "3", stool(300))
	require.NoError(t, s.Close())
	_, sealed, err := readSeal(config.Path)
	require.NoError(t, err)
	assert.True(t, sealed)
}

func TestABackupOrARestoreWithoutRoomSaysWhere(t *testing.T) {
	t.Parallel()
	disk, folder := smallDisk(t), t.TempDir()
	config := Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")}
	s, err := Open(t.Context(), config)
	require.NoError(t, err)
	shareNow(t, s, ann, "1", stool(100))
	require.NoError(t, s.Close())
	ballast, to := filepath.Join(disk, "ballast"), filepath.Join(disk, "copy.db")
	fill(t, ballast)
	for range 2 { // from the first page on, and from one in the middle
		err = Backup(t.Context(), config, to, false, func(int, int) {})
		require.ErrorIs(t, err, ErrNoRoom)
		assert.Equal(t, fmt.Sprintf("there is no room for the backup in the folder %q: the disk is full; make room there, or name a file on another disk", disk), err.Error())
		info, err := os.Stat(ballast)
		require.NoError(t, err)
		require.NoError(t, os.Truncate(ballast, info.Size()-64<<10))
	}
	fill(t, ballast)
	_, err = Restore(t.Context(), Config{Path: filepath.Join(disk, "b.db"), KeysPath: config.KeysPath}, config.Path)
	refused, ok := errors.AsType[*OpenError](err)
	require.True(t, ok, "%v", err)
	assert.Equal(t, NoRoom, refused.Refusal)
	left, err := filepath.Glob(filepath.Join(disk, ".*-*"))
	require.NoError(t, err)
	assert.Empty(t, left, "nothing half-done is left")
	require.NoError(t, os.Remove(ballast))
	require.NoError(t, Backup(t.Context(), config, to, false, func(int, int) {}))

	require.NoError(t, exec.CommandContext(t.Context(), "mount", "-o", "remount,ro", disk).Run())
	err = Backup(t.Context(), config, to, true, func(int, int) {})
	require.ErrorContains(t, err, fmt.Sprintf("cannot be written in the folder %q", disk))
}

// fill takes all the room there is.
func fill(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	for piece := make([]byte, 4096); err == nil; {
		_, err = f.Write(piece)
	}
	require.ErrorContains(t, err, "no space")
	require.NoError(t, f.Close())
}

func TestAFolderThatTurnsReadOnlyIsToldAndGoneWhenItIsNot(t *testing.T) {
	t.Parallel()
	folder := smallDisk(t)
	config := Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")}
	s, err := Open(t.Context(), config)
	require.NoError(t, err)
	shareNow(t, s, ann, "1", stool(100))
	require.NoError(t, s.Close())
	remount := func(how string) {
		t.Helper()
		require.NoError(t, exec.CommandContext(t.Context(), "mount", "-o", "remount,"+how, folder).Run())
	}
	remount("ro")
	_, err = Open(t.Context(), config)
	refused, ok := errors.AsType[*OpenError](err)
	require.True(t, ok, "%v", err)
	assert.Equal(t, ReadOnly, refused.Refusal)
	assert.Contains(t, refused.Error(), "the right to write there")
	remount("rw")
	s, err = Open(t.Context(), config)
	require.NoError(t, err)
	assert.Len(t, salesOf(t, s, ann), 1)
	require.NoError(t, s.Close())
}
