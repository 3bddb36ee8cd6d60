package store_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

// asked opens a room of ann's for three days.
func asked(t *testing.T, s *store.Store) store.Room {
	t.Helper()
	room, err := s.OpenRoom(t.Context(), ann, "delivery", store.Room{Currency: "CAD", Card: map[string]string{"piece": "bench"}, Closes: noon.Add(72 * time.Hour)}, noon)
	require.NoError(t, err)
	return room
}

// answer gives an answer in whole dollars.
func answer(t *testing.T, s *store.Store, room store.Room, member string, dollars int) store.Room {
	t.Helper()
	room, err := s.AnswerRoom(t.Context(), store.Who{Community: ann.Community, Member: member}, room.Code, pool.Whole(dollars), noon)
	require.NoError(t, err)
	return room
}

func TestARoomShowsNothingBeforeItsFifthAnswerAndThenTheMiddle(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	for i, dollars := range []int{431, 389, 517, 298} {
		room = answer(t, s, room, fmt.Sprint("member ", i), dollars)
		assert.Equal(t, i+1, room.Answers)
		assert.False(t, room.Shown)
		assert.Zero(t, room.Median)
	}
	room = answer(t, s, room, "member 4", 607)
	// 298 389 431 517 607: type 7 gives 389, 431 and 517; of the R20 numbers 355,
	// 450 and 560 are the next below, the nearest, and the next above.
	assert.True(t, room.Shown)
	assert.Equal(t, pool.Whole(450), room.Median)
	assert.Equal(t, pool.Whole(355), room.Low)
	assert.Equal(t, pool.Whole(560), room.High)
}

func TestAnAnswerIsChangedAndNotCountedTwice(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	for i, dollars := range []int{300, 310, 320, 900, 910} {
		room = answer(t, s, room, fmt.Sprint("member ", i), dollars)
	}
	assert.Equal(t, pool.Whole(315), room.Median)
	room = answer(t, s, room, "member 5", 920)
	assert.Equal(t, 6, room.Answers)
	assert.Equal(t, pool.Whole(630), room.Median, "half-way between 320 and 900 is 610")
	room = answer(t, s, room, "member 5", 305)
	assert.Equal(t, 6, room.Answers)
	assert.Equal(t, pool.Whole(315), room.Median)
}

func TestAnAnswerIsChangedFiveTimesAndNoMore(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	for i := range store.RoomChanges + 1 {
		answer(t, s, room, "bert", 400+i)
		answer(t, s, room, "bert", 400+i) // the same again is no change
	}
	_, err := s.AnswerRoom(t.Context(), bert, room.Code, pool.Whole(500), noon)
	require.ErrorIs(t, err, store.ErrConflict)
	room = answer(t, s, room, "bert", 400+store.RoomChanges)
	assert.Equal(t, 1, room.Answers)
}

func TestARoomClosesByItselfAtTheNextTouchAndKeepsItsFigures(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	for i := range 5 {
		room = answer(t, s, room, fmt.Sprint("member ", i), 400)
	}
	after := noon.Add(72 * time.Hour)
	late, err := s.AnswerRoom(t.Context(), bert, room.Code, pool.Whole(9000), after)
	require.NoError(t, err)
	assert.True(t, late.Closed)
	assert.Equal(t, 5, late.Answers)
	assert.Equal(t, pool.Whole(400), late.Median)
	again, err := s.Room(t.Context(), bert, room.Code, after.Add(time.Hour))
	require.NoError(t, err)
	assert.Equal(t, late, again)
}

func TestASweepClosesEveryRoomThatIsDueAndForgetsOldCards(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s := open(t, c)
	room := asked(t, s)
	n, err := s.CloseRooms(t.Context(), noon.Add(71*time.Hour))
	require.NoError(t, err)
	assert.Zero(t, n)
	n, err = s.CloseRooms(t.Context(), noon.Add(72*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	n, err = s.CloseRooms(t.Context(), noon.Add(73*time.Hour))
	require.NoError(t, err)
	assert.Zero(t, n, "what is closed is not closed again")
	room, err = s.Room(t.Context(), bert, room.Code, noon.Add(80*time.Hour))
	require.NoError(t, err)
	assert.True(t, room.Closed)
	assert.False(t, room.Shown)
	_, err = s.CloseRooms(t.Context(), noon.Add((90*24+72)*time.Hour))
	require.NoError(t, err)
	_, err = s.Room(t.Context(), bert, room.Code, noon.Add((90*24+72)*time.Hour))
	assert.ErrorIs(t, err, store.ErrNotFound)
}

func TestARoomAndItsAnswersSurviveARestart(t *testing.T) {
	t.Parallel()
	c := config(t.TempDir())
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	room := asked(t, s)
	answer(t, s, room, "bert", 400)
	require.NoError(t, s.Close())
	s = open(t, c)
	room, err = s.Room(t.Context(), ann, room.Code, noon)
	require.NoError(t, err)
	assert.Equal(t, 1, room.Answers)
	assert.Equal(t, map[string]string{"piece": "bench"}, room.Card)
	assert.True(t, room.Own)
	assert.Equal(t, noon.Add(72*time.Hour), room.Closes)
}

func TestTheSameDeliveryOpensOneRoom(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	assert.Equal(t, asked(t, s), asked(t, s))
}

func TestTheAskerNeitherAnswersNorMayAnotherClose(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	_, err := s.AnswerRoom(t.Context(), ann, room.Code, pool.One, noon)
	assert.ErrorIs(t, err, store.ErrOwnRoom)
	_, err = s.CloseRoom(t.Context(), bert, room.Code, noon)
	assert.ErrorIs(t, err, store.ErrNotFound)
	room, err = s.CloseRoom(t.Context(), ann, room.Code, noon)
	require.NoError(t, err)
	assert.True(t, room.Closed)
}

func TestARoomIsOfOneCommunity(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	_, err := s.Room(t.Context(), store.Who{Community: "another", Member: "bert"}, room.Code, noon)
	assert.ErrorIs(t, err, store.ErrNotFound)
}

func TestAMemberHasNoMoreThanTenOpenRooms(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	var last store.Room
	for i := range store.RoomLimit {
		room, err := s.OpenRoom(t.Context(), ann, fmt.Sprint(i), store.Room{Currency: "CAD", Closes: noon.Add(time.Hour)}, noon)
		require.NoError(t, err)
		last = room
	}
	_, err := s.OpenRoom(t.Context(), ann, "one more", store.Room{Currency: "CAD", Closes: noon.Add(time.Hour)}, noon)
	assert.ErrorIs(t, err, store.ErrConflict)
	_, err = s.CloseRoom(t.Context(), ann, last.Code, noon)
	require.NoError(t, err)
	_, err = s.OpenRoom(t.Context(), ann, "one more", store.Room{Currency: "CAD", Closes: noon.Add(time.Hour)}, noon)
	assert.NoError(t, err)
}

func TestDroppingRoomsTakesTheAskedAndTheOwnOpenAnswers(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	room := asked(t, s)
	answer(t, s, room, "bert", 400)
	answer(t, s, room, "cleo", 500)
	any, err := s.DropRooms(t.Context(), bert)
	require.NoError(t, err)
	assert.True(t, any)
	room, err = s.Room(t.Context(), ann, room.Code, noon)
	require.NoError(t, err)
	assert.Equal(t, 1, room.Answers)
	any, err = s.DropRooms(t.Context(), ann)
	require.NoError(t, err)
	assert.True(t, any)
	_, err = s.Room(t.Context(), ann, room.Code, noon)
	assert.ErrorIs(t, err, store.ErrNotFound)
	any, err = s.DropRooms(t.Context(), ann)
	require.NoError(t, err)
	assert.False(t, any)
}

func TestAQuestionIsKeptForItsAskerAloneAndForSevenDays(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	told := map[string]string{"about": `bench, 84 "materials"`, "hours": "7h30"}
	code, err := s.SaveQuestion(t.Context(), ann, "delivery", "", told, noon)
	require.NoError(t, err)
	again, err := s.SaveQuestion(t.Context(), ann, "delivery", "", told, noon)
	require.NoError(t, err)
	assert.Equal(t, code, again, "the same delivery has the same code")
	got, err := s.Question(t.Context(), ann, code, noon)
	require.NoError(t, err)
	assert.Equal(t, told, got)
	_, err = s.Question(t.Context(), bert, code, noon)
	require.ErrorIs(t, err, store.ErrNotFound)
	_, err = s.Question(t.Context(), ann, code, noon.Add(7*24*time.Hour))
	require.ErrorIs(t, err, store.ErrNotFound)
	_, err = s.SaveQuestion(t.Context(), ann, "another", code, map[string]string{"about": "stool"}, noon)
	require.NoError(t, err)
	got, err = s.Question(t.Context(), ann, code, noon)
	require.NoError(t, err)
	assert.Equal(t, map[string]string{"about": "stool"}, got)
	any, err := s.DropQuestions(t.Context(), ann)
	require.NoError(t, err)
	assert.True(t, any)
	_, err = s.Question(t.Context(), ann, code, noon)
	assert.ErrorIs(t, err, store.ErrNotFound)
}

func TestAMemberKeepsTwentyQuestionsTheNewest(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	var codes []string
	for i := range 22 {
		code, err := s.SaveQuestion(t.Context(), ann, fmt.Sprint(i), "", map[string]string{"about": fmt.Sprint(i)}, noon.Add(time.Duration(i)*time.Minute))
		require.NoError(t, err)
		codes = append(codes, code)
	}
	kept := 0
	for _, code := range codes {
		if _, err := s.Question(t.Context(), ann, code, noon); err == nil {
			kept++
		}
	}
	assert.Equal(t, 20, kept)
	_, err := s.Question(t.Context(), ann, codes[21], noon)
	assert.NoError(t, err)
}
