package store

import (
	"bytes"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAtEachMomentOfACheckpointAKillLeavesAFileThatIsKnownToBeSound(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	random := rand.New(rand.NewPCG(1, 2))
	for round, rows := range []int{0, 40, 0, 300} {
		bulk(t, s, rows)
		if round == 2 {
			require.NoError(t, s.Vacuum(t.Context()))
			momentOf(t, s).isSound(t, "after a vacuum", round)
		}
		shareNow(t, s, ann, strconv.Itoa(round), stool(100+round))
		before := momentOf(t, s)
		before.isSound(t, "before it", round+1)

		record(t, s)
		recorded := momentOf(t, s)
		recorded.isSound(t, "when the sums are recorded", round+1)
		content := recorded[".sums"]
		for cut := len(before[".sums"]); cut < len(content); cut += 1 + random.IntN(40) {
			sound, err := recorded.with(".sums", content[:cut]).weighed(t)
			require.NoError(t, err, "cut at %d of %d", cut, len(content))
			assert.True(t, sound, "cut at %d of %d", cut, len(content))
		}

		require.NoError(t, moving(t, s, "PASSIVE"))
		moved := momentOf(t, s)
		moved.isSound(t, "when all is moved", round+1)
		_, err := moved.with(".sums", content[:len(before[".sums"])]).weighed(t)
		require.NoError(t, err, "that the record is gone is seen")
		for range 10 { // the system writes pages in any order, and not all of them before the end
			torn := bytes.Clone(moved[""])
			for at := 0; at+4096 <= len(recorded[""]); at += 4096 {
				if at+4096 > len(torn) || random.IntN(2) == 0 {
					torn = append(torn[:min(at, len(torn))], append(bytes.Clone(recorded[""][at:at+4096]), torn[min(at+4096, len(torn)):]...)...)
				}
			}
			sound, err := recorded.with("", torn).weighed(t)
			require.NoError(t, err)
			assert.True(t, sound, "when some is moved")
		}

		_, err = s.SaveDraft(t.Context(), ann, stool(1), march)
		require.NoError(t, err)
		begun := momentOf(t, s)
		_, err = begun.with(".sums", begun[".sums"][:len(before[".sums"])]).weighed(t)
		require.NoError(t, err, "that the record is gone is seen")
		begun.isSound(t, "when the journal begins anew", round+1)
		require.NoError(t, moving(t, s, "TRUNCATE"))
		emptied := momentOf(t, s)
		assert.Empty(t, emptied["-wal"])
		emptied.isSound(t, "when it is emptied", round+1)
	}
}

func TestAReaderInTheWayOfACheckpointLeavesAFileThatIsKnownToBeSound(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "0", stool(100))
	bulk(t, s, 50)
	require.NoError(t, moving(t, s, "TRUNCATE"))
	bulk(t, s, 20)
	reader, err := beginRead(t.Context(), s.reader)
	require.NoError(t, err)
	var rows int
	require.NoError(t, reader.QueryRowContext(t.Context(), "SELECT count(*) FROM question").Scan(&rows))
	for round := range 4 {
		bulk(t, s, round%2*100)
		shareNow(t, s, ann, strconv.Itoa(round+1), stool(100+round))
		_ = moving(t, s, "PASSIVE") // some of it
		momentOf(t, s).isSound(t, "with a reader in the way", round+2)
	}
	require.NoError(t, reader.QueryRowContext(t.Context(), "SELECT count(*) FROM question").Scan(&rows))
	assert.Equal(t, 70, rows, "the reader reads what it read")
	require.NoError(t, reader.rollback())
	require.NoError(t, moving(t, s, "PASSIVE"))
	momentOf(t, s).isSound(t, "when the reader is gone", 5)
}

func TestTheJournalIsMovedByItself(t *testing.T) {
	t.Parallel()
	s, path := inside(t)
	for i := range 12 {
		bulk(t, s, 120)
		if i%4 == 3 {
			momentOf(t, s).isSound(t, "at work", 0)
		}
	}
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Greater(t, info.Size(), int64(4<<20), "most is in the file")
	info, err = os.Stat(path + "-wal")
	require.NoError(t, err)
	assert.Less(t, info.Size(), int64(8<<20), "and the journal begins anew")
}

// What was written and taken back stays in the journal until it is written over.
func TestWhatWasTakenBackInTheJournalAccusesNobody(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	tx, err := beginWrite(t.Context(), s.writer, nil)
	require.NoError(t, err)
	_, err = tx.ExecContext(t.Context(), `INSERT INTO question WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2000)
		SELECT randomblob(32), 'ABCDEF', 4000000000, '"' || hex(randomblob(2000)) || '"' FROM n`)
	require.NoError(t, err)
	require.NoError(t, tx.rollback())
	require.Greater(t, len(momentOf(t, s)["-wal"]), 4<<20, "it did not fit into memory")
	for i := range 3 {
		momentOf(t, s).isSound(t, "after it was taken back", i+1)
		shareNow(t, s, ann, strconv.Itoa(i+2), stool(100))
	}
	var told []string
	c := momentOf(t, s).files(t)
	c.Notice = func(text string) { told = append(told, text) }
	other, err := Open(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, other.Close())
	assert.Equal(t, []string{"the journal ends in a transaction that was not finished and not answered: it is left out"}, told)
}

func TestAFileWithoutSumsIsExaminedAndHasThemThen(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	old := momentOf(t, s)
	for what, sums := range map[string][]byte{"none": nil, "empty": {}, "of another kind": bytes.Repeat([]byte("sums of tomorrow"), 100)} {
		c := old.with(".sums", sums).files(t)
		if what == "none" {
			require.NoError(t, os.Remove(c.Path+".sums"))
		}
		s, err := Open(t.Context(), c)
		require.NoError(t, err, what)
		shareNow(t, s, ann, "2", stool(200))
		momentOf(t, s).isSound(t, what, 2)
		require.NoError(t, s.Close())
		info, err := os.Stat(c.Path + ".sums")
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}
}

// An earlier version of the program takes the seal away and knows nothing of sums.
func TestSumsOfAFileThatWasWrittenToWithoutThemAreNotAsked(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	c := momentOf(t, s).files(t)
	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.NoError(t, os.Remove(sealPath(c.Path)))
	db, err := sql.Open("sqlite", "file:"+escaped(c.Path))
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "UPDATE record SET sold = sold - 1")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	s, err = Open(t.Context(), c)
	require.NoError(t, err)
	momentOf(t, s).isSound(t, "with sums of its own again", 1)
	require.NoError(t, s.Close())
}

func TestWithoutRoomForTheSumsNothingIsMovedAndNothingLost(t *testing.T) {
	t.Parallel()
	full, err := os.OpenFile("/dev/full", os.O_RDWR, 0)
	if err != nil {
		t.Skip("this system has no file that is always full")
	}
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	before := momentOf(t, s)
	real := s.sums.file
	s.sums.file = full
	bulk(t, s, 1200) // it is time to move it, and cannot be
	shareNow(t, s, ann, "2", stool(200))
	require.ErrorIs(t, s.trouble(moving(t, s, "TRUNCATE")), ErrNoRoom)
	after := momentOf(t, s)
	assert.Equal(t, before[""], after[""])
	after.isSound(t, "without room", 2)
	s.sums.file = real
	shareNow(t, s, ann, "3", stool(300))
	require.NoError(t, moving(t, s, "TRUNCATE"))
	momentOf(t, s).isSound(t, "when there is room", 3)

	shareNow(t, s, ann, "4", stool(400))
	other, err := Open(t.Context(), momentOf(t, s).files(t))
	require.NoError(t, err)
	real = other.sums.file
	other.sums.file = full
	require.Error(t, other.Close(), "what is in the journal cannot be moved")
	require.NoError(t, real.Close())
	other, err = Open(t.Context(), Config{Path: other.path, KeysPath: keysOf(other.path)})
	require.NoError(t, err, "and is there at the next start")
	assert.Len(t, salesOf(t, other, ann), 4)
	require.NoError(t, other.Close())
}

func TestManyStartsDoNotMakeTheSumsGrow(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	c := momentOf(t, s).files(t)
	for range 3 {
		other, err := Open(t.Context(), c)
		require.NoError(t, err)
		for range 5000 {
			require.NoError(t, other.sums.add(recordOpened, nil, false))
		}
		shareNow(t, other, ann, fmt.Sprint(other.sums.end), stool(100))
		require.NoError(t, other.Close())
		info, err := os.Stat(c.Path + ".sums")
		require.NoError(t, err)
		assert.Less(t, info.Size(), int64(recordsMost))
	}
	other, err := Open(t.Context(), c)
	require.NoError(t, err)
	require.NotNil(t, other.sums)
	momentOf(t, other).isSound(t, "after many", 3)
	require.NoError(t, other.Close())
}
