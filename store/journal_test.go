package store

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// journalOf gives a moment with so many shared sales, of which all but the first are
// in the journal, and where in it each transaction ends.
func journalOf(t *testing.T, sales int) (m moment, ends []int) {
	t.Helper()
	s, _ := inside(t)
	shareNow(t, s, ann, "0", stool(100))
	require.NoError(t, s.checkpoint(t.Context()))
	for i := range sales - 1 {
		shareNow(t, s, ann, strconv.Itoa(i+1), stool(100+i))
	}
	m = momentOf(t, s)
	for at := journalHead; at < len(m["-wal"]); at += frameHead + 4096 {
		if committed(m["-wal"][at:]) != 0 {
			ends = append(ends, at+frameHead+4096)
		}
	}
	require.Equal(t, len(m["-wal"]), ends[len(ends)-1])
	return m, ends
}

// unnoted is a moment after a loss of power, at which the note had not reached the
// disk.
func (m moment) unnoted() moment {
	content := bytes.Clone(m[".sums"])
	copy(content[noteAt:], noteText(mark{}, 0))
	return m.with(".sums", content)
}

func TestNoBitOfAnAnsweredTransactionInTheJournalIsLostUnseen(t *testing.T) {
	t.Parallel()
	m, ends := journalOf(t, 4)
	noted, unnoted := m.files(t).Path, m.unnoted().files(t).Path
	random := rand.New(rand.NewPCG(3, 4))
	frame := frameHead + 4096
	refused := func(path string, at int) bool {
		file, err := os.OpenFile(path+"-wal", os.O_WRONLY, 0)
		require.NoError(t, err)
		turned := m["-wal"][at/8] ^ 1<<(at%8)
		_, err = file.WriteAt([]byte{turned}, int64(at/8))
		require.NoError(t, err)
		sound, err := weighedAt(t, path)
		require.Equal(t, sound, err == nil)
		_, is := errors.AsType[*OpenError](err)
		_, err = file.WriteAt(m["-wal"][at/8:at/8+1], int64(at/8))
		require.NoError(t, errors.Join(err, file.Close()))
		return is
	}
	for at := range 8 * journalHead {
		assert.True(t, refused(noted, at), "bit %d of the head", at)
		assert.True(t, refused(unnoted, at), "bit %d of the head, without the note", at)
	}
	// Without the note, what another transaction stands behind is known to have been
	// on the disk. Of the last nobody can say.
	last := ends[len(ends)-2]
	unseen := 0
	for start := journalHead; start < len(m["-wal"]); start += frame {
		bits := []int{}
		for range 30 {
			bits = append(bits, 8*start+random.IntN(8*frame))
		}
		for bit := range 8 * frameHead {
			bits = append(bits, 8*start+bit)
		}
		for _, at := range bits {
			assert.True(t, refused(noted, at), "bit %d of the frame at %d", at-8*start, start)
			if !refused(unnoted, at) {
				unseen++
				assert.GreaterOrEqual(t, start, last, "bit %d, without the note", at-8*start)
			}
		}
	}
	assert.Positive(t, unseen)
}

func TestAJournalThatIsGoneOrShorterThanWasAnsweredIsRefused(t *testing.T) {
	t.Parallel()
	m, ends := journalOf(t, 4)
	for _, end := range ends[:len(ends)-1] {
		_, err := m.with("-wal", m["-wal"][:end]).weighed(t)
		var refused *OpenError
		require.ErrorAs(t, err, &refused, "cut at %d", end)
		assert.Equal(t, Damaged, refused.Refusal)
		assert.Contains(t, refused.Error(), "-wal\" is not as it was written")
		assert.Contains(t, refused.Error(), "delete")
	}
	c := m.with("-wal", nil).files(t)
	_, err := Open(t.Context(), c)
	require.ErrorContains(t, err, "is damaged")

	require.NoError(t, os.Remove(c.Path+".sums"))
	s, err := Open(t.Context(), c)
	require.NoError(t, err, "its owner may take it as it is")
	assert.Len(t, salesOf(t, s, ann), 1)
	require.NoError(t, s.Close())
}

// A loss of power leaves any part of the last transaction; one that nobody was
// answered for is left out, and that is said.
func TestWhatWasNotFinishedWhenThePowerWentIsLeftOut(t *testing.T) {
	t.Parallel()
	m, ends := journalOf(t, 4)
	frame := frameHead + 4096
	last := ends[len(ends)-2]
	noted := bytes.Clone(m[".sums"])
	before, _ := parseMark(noted[noteAt:])
	before.frames = uint32((last - journalHead) / frame)
	copy(noted[noteAt:], noteText(before, 0))
	m = m.with(".sums", noted)
	require.Greater(t, len(m["-wal"])-last, frame, "it has several frames")
	for at := last; at < len(m["-wal"]); at += frame {
		journal := bytes.Clone(m["-wal"])
		clear(journal[at : at+frame])
		c := m.with("-wal", journal).files(t)
		var told []string
		c.Notice = func(text string) { told = append(told, text) }
		s, err := Open(t.Context(), c)
		require.NoError(t, err)
		assert.Len(t, salesOf(t, s, ann), 3)
		require.NoError(t, s.Close())
		assert.Equal(t, []string{"the journal ends in a transaction that was not finished and not answered: it is left out"}, told)
	}
}
