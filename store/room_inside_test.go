package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

// inFile looks for an answer in the raw bytes of the database and its journal, as
// SQLite writes it: the number without its leading noughts.
func inFile(t *testing.T, path string, answer pool.Micros) bool {
	t.Helper()
	var raw [8]byte
	binary.BigEndian.PutUint64(raw[:], uint64(answer))
	found := false
	for _, beside := range []string{"", "-wal"} {
		content, err := os.ReadFile(path + beside)
		require.NoError(t, err)
		found = found || bytes.Contains(content, bytes.TrimLeft(raw[:], "\x00"))
	}
	return found
}

func TestNoSingleAnswerIsLeftInTheFileOnceARoomIsClosed(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(s *Store, code string) error{
		"by the sweep": func(s *Store, _ string) error {
			_, err := s.CloseRooms(t.Context(), march.Add(72*time.Hour))
			return err
		},
		"by the asker": func(s *Store, code string) error { _, err := s.CloseRoom(t.Context(), ann, code, march); return err },
		"by a late answer": func(s *Store, code string) error {
			_, err := s.AnswerRoom(t.Context(), Who{ann.Community, "late"}, code, 777_777_777, march.Add(73*time.Hour))
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, path := inside(t)
			room, err := s.OpenRoom(t.Context(), ann, "delivery", Room{Currency: "USD", Card: map[string]string{"piece": "bench"}, Closes: march.Add(72 * time.Hour)}, march)
			require.NoError(t, err)
			answers := []pool.Micros{431_170_001, 389_230_003, 517_290_007, 298_310_011, 607_370_013}
			const changed = pool.Micros(455_410_017)
			for i, a := range answers {
				_, err := s.AnswerRoom(t.Context(), Who{ann.Community, fmt.Sprint("member", i)}, room.Code, a, march)
				require.NoError(t, err)
			}
			_, err = s.AnswerRoom(t.Context(), Who{ann.Community, "sixth"}, room.Code, changed, march)
			require.NoError(t, err)
			_, err = s.AnswerRoom(t.Context(), Who{ann.Community, "sixth"}, room.Code, changed+2, march)
			require.NoError(t, err)
			for _, a := range answers {
				require.True(t, inFile(t, path, a), "an open room holds %d, or this test looks for the wrong bytes", a)
			}
			require.NoError(t, end(s, room.Code))
			for _, a := range append(answers, changed, changed+2, 777_777_777) {
				assert.False(t, inFile(t, path, a), "%d is left", a)
			}
			for _, member := range []string{"member0", "sixth", ann.Member} {
				for _, beside := range []string{"", "-wal"} {
					content, err := os.ReadFile(path + beside)
					require.NoError(t, err)
					assert.NotContains(t, string(content), member)
				}
			}
			closed, err := s.Room(t.Context(), ann, room.Code, march)
			require.NoError(t, err)
			assert.True(t, closed.Closed)
			assert.Equal(t, 6, closed.Answers)
			// Type 7 of the six: the median half-way between 431.17 and 455.41.
			assert.Equal(t, pool.Whole(450), closed.Median)
		})
	}
}

func TestOneMembersAnswersDoNotLeadFromRoomToRoom(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	assert.NotEqual(t, s.answererID(ann, "AAAAAA"), s.answererID(ann, "BBBBBB"))
	assert.NotEqual(t, s.memberID(ann), s.questionerID(ann))
	assert.NotEqual(t, s.memberID(ann), s.askerID(ann))
}
