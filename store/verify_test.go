package store

import (
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// large gives a closed database that is compared with its seal while work goes on.
func large(t *testing.T) Config {
	t.Helper()
	folder := t.TempDir()
	c := Config{Path: folder + "/a.db", KeysPath: folder + "/a.keys"}
	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	shareNow(t, s, ann, "1", stool(100))
	_, err = s.writer.ExecContext(t.Context(), `INSERT INTO question WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 3000)
		SELECT randomblob(32), 'ABCDEF', 4000000000, '"' || hex(randomblob(2000)) || '"' FROM n`)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	size, err := Size(c.Path)
	require.NoError(t, err)
	require.Greater(t, size, int64(summedAtOnce))
	return c
}

func TestALargeFileThatRottedUnderItsSealIsFoundAtWork(t *testing.T) {
	t.Parallel()
	c := large(t)
	info, err := os.Stat(c.Path)
	require.NoError(t, err)
	file, err := os.OpenFile(c.Path, os.O_RDWR, 0)
	require.NoError(t, err)
	b := make([]byte, 1)
	_, err = file.ReadAt(b, info.Size()-2000)
	require.NoError(t, err)
	_, err = file.WriteAt([]byte{b[0] ^ 1}, info.Size()-2000)
	require.NoError(t, err)
	require.NoError(t, file.Close())
	require.NoError(t, os.Chtimes(c.Path, time.Time{}, info.ModTime()), "a disk that rots changes no time")

	lost := make(chan error, 2)
	c.Lost = func(cause error) { lost <- cause }
	s, err := Open(t.Context(), c)
	require.NoError(t, err, "the first answer does not wait")
	require.ErrorContains(t, <-lost, "is not as it was when it was closed")
	_, err = s.Sales(t.Context(), ann)
	var refused *OpenError
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, Altered, refused.Refusal)
	require.ErrorAs(t, s.OptIn(t.Context(), ann, 2, march), &refused)
	require.Error(t, s.Close())
	_, sealed, err := readSeal(c.Path)
	require.NoError(t, err)
	assert.False(t, sealed, "damage is not sealed")
	assert.Empty(t, lost, "it is told once")
}

func TestALargeFileIsWrittenToWhileItIsCompared(t *testing.T) {
	t.Parallel()
	c := large(t)
	c.Lost = func(cause error) { t.Error(cause) }
	for round := range 3 {
		s, err := Open(t.Context(), c)
		require.NoError(t, err)
		require.NotNil(t, s.trial)
		for i := range 20 {
			shareNow(t, s, ann, fmt.Sprint(round, i), stool(100+i))
		}
		if round == 1 { // what is deleted is not to wait in the journal
			require.NoError(t, s.Withdraw(t.Context(), ann, "gone", 5, march))
			left, err := journalled(c.Path)
			require.NoError(t, err)
			assert.False(t, left)
		}
		require.NoError(t, s.Close())
		_, sealed, err := readSeal(c.Path)
		require.NoError(t, err)
		assert.True(t, sealed)
	}
	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	assert.Len(t, salesOf(t, s, ann), 60)
	require.NoError(t, s.trial.finish(t.Context()))
	require.NoError(t, s.Close())
}

func TestALargeFileOfBeforeThereWereSumsHasThemWhenItIsCompared(t *testing.T) {
	t.Parallel()
	c := large(t)
	require.NoError(t, os.Remove(sumsPath(c.Path)))
	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	require.Nil(t, s.sums)
	shareNow(t, s, ann, "2", stool(100))
	require.NoError(t, s.checkpoint(t.Context()))
	require.NotNil(t, s.sums)
	shareNow(t, s, ann, "3", stool(100))
	m := momentOf(t, s)
	require.NoError(t, s.Close())
	sound, err := m.weighed(t)
	require.NoError(t, err)
	assert.True(t, sound)

	m[""][len(m[""])-2000] ^= 1
	_, err = m.weighed(t)
	require.ErrorContains(t, err, "is damaged")
}
