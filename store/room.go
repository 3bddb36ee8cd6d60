package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"tallystick/calc/pool"
)

const (
	// RoomLeast is how many answers it takes before a room shows figures.
	RoomLeast = 5
	// RoomLimit is how many open rooms a member may have at once.
	RoomLimit = 10
	// RoomChanges is how often a member may change an answer. Without a limit somebody
	// could move theirs by a cent at a time and watch where the rounded median turns,
	// which tells what the one beside it is.
	RoomChanges = 5
	// roomLife is how long the card of a closed room can still be looked at.
	roomLife = 90 * 24 * time.Hour
)

// ErrOwnRoom says that who asked the room does not answer.
var ErrOwnRoom = errors.New("asker does not answer")

// A Room is a question put to everybody of a community.
type Room struct {
	Code     string
	Currency string
	// Card is what everybody sees of the piece: texts by name. No costs are ever
	// put there.
	Card map[string]string
	// Closes is when it closes by itself, or when it closed; Closed is whether it has.
	Closes time.Time
	Closed bool
	// Answers is how many members have answered.
	Answers int
	// Shown is whether there are figures: the median and the middle half of the
	// answers, rounded to preferred numbers, the half outwards.
	Shown             bool
	Median, Low, High pool.Micros
	// Own is whether the one who looks is the one who asked.
	Own bool
}

// OpenRoom puts a question to the community. The same delivery again gets the same
// room. More than RoomLimit open rooms of one member are an ErrConflict, and more
// than RoomsKept with the closed ones an ErrFull.
func (s *Store) OpenRoom(ctx context.Context, who Who, delivery string, r Room, now time.Time) (Room, error) {
	card, err := json.Marshal(r.Card)
	if err != nil {
		return Room{}, fmt.Errorf("writing card: %w", err)
	}
	err = s.touch(ctx, "opening room", now, func(tx *transaction) error {
		if _, err := s.ensureCommunity(ctx, tx, who.Community); err != nil {
			return err
		}
		community, asker := s.communityID(who.Community), s.askerID(who)
		for n := 0; ; n++ {
			r.Code = shortCode(s.keys.mac(members, "room code", who.Community, who.Member, delivery, strconv.Itoa(n)))
			var other []byte
			err := tx.QueryRowContext(ctx, "SELECT asker FROM room WHERE community = ? AND code = ?", community, r.Code).Scan(&other)
			if errors.Is(err, sql.ErrNoRows) {
				break
			}
			if err != nil {
				return err
			}
			if bytes.Equal(other, asker) { // the delivery came before
				r, err = s.readRoom(ctx, tx, who, r.Code)
				return err
			}
		}
		var open, kept int
		err := tx.QueryRowContext(ctx, "SELECT count(*) FILTER (WHERE closed = 0), count(*) FROM room WHERE community = ? AND asker = ?", community, asker).Scan(&open, &kept)
		if err != nil {
			return err
		}
		if kept >= RoomsKept {
			return &FullError{Of: FullRooms}
		}
		if open >= RoomLimit {
			return fmt.Errorf("opening room %d: %w", open+1, ErrConflict)
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO room (community, code, asker, currency, card, closes, closed, answers)
			VALUES (?, ?, ?, ?, ?, ?, 0, 0)`, community, r.Code, asker, r.Currency, string(card), r.Closes.Unix())
		if err != nil {
			return err
		}
		r, err = s.readRoom(ctx, tx, who, r.Code)
		return err
	})
	if err != nil {
		return Room{}, err
	}
	return r, nil
}

// Room gives a room of the community as it stands now, closed if its time is over.
// One that is not there, or no longer, is ErrNotFound.
func (s *Store) Room(ctx context.Context, who Who, code string, now time.Time) (r Room, err error) {
	err = s.touch(ctx, "reading room", now, func(tx *transaction) (err error) {
		r, err = s.readRoom(ctx, tx, who, code)
		return err
	})
	return r, err
}

// AnswerRoom keeps the member's one answer, over an earlier one. A closed room
// takes no answer and is given back as it is; the asker's is ErrOwnRoom, and a
// change more than RoomChanges an ErrConflict.
func (s *Store) AnswerRoom(ctx context.Context, who Who, code string, price pool.Micros, now time.Time) (r Room, err error) {
	err = s.touch(ctx, "answering room", now, func(tx *transaction) (err error) {
		if r, err = s.readRoom(ctx, tx, who, code); err != nil || r.Closed {
			return err
		}
		if r.Own {
			return ErrOwnRoom
		}
		n, err := execute(ctx, tx, `INSERT INTO room_answer (community, code, who, price, changes) VALUES (?, ?, ?, ?, 0)
			ON CONFLICT DO UPDATE SET changes = changes + (price <> excluded.price), price = excluded.price
			WHERE changes < ? OR price = excluded.price`,
			s.communityID(who.Community), r.Code, s.answererID(who, r.Code), int64(price), RoomChanges)
		if err != nil {
			return err
		}
		if n == 0 {
			return fmt.Errorf("changing an answer again: %w", ErrConflict)
		}
		r, err = s.readRoom(ctx, tx, who, code)
		return err
	})
	return r, err
}

// CloseRoom closes the member's own room before its time. Closing it twice does no
// harm; a room of somebody else is ErrNotFound.
func (s *Store) CloseRoom(ctx context.Context, who Who, code string, now time.Time) (r Room, err error) {
	err = s.touch(ctx, "closing room", now, func(tx *transaction) (err error) {
		if r, err = s.readRoom(ctx, tx, who, code); err != nil || r.Closed {
			return err
		}
		if !r.Own {
			return ErrNotFound
		}
		if err := closeRoom(ctx, tx, s.communityID(who.Community), r.Code, now); err != nil {
			return err
		}
		r, err = s.readRoom(ctx, tx, who, code)
		return err
	})
	if err == nil {
		s.empty(ctx)
	}
	return r, err
}

// readRoom reads a room with the figures of its answers.
func (s *Store) readRoom(ctx context.Context, tx *transaction, who Who, code string) (Room, error) {
	r := Room{Code: plainCode(code)}
	community := s.communityID(who.Community)
	var asker []byte
	var card string
	var closes int64
	var median, low, high sql.Null[int64]
	err := tx.QueryRowContext(ctx, `SELECT asker, currency, card, closes, closed, answers, median, low, high
		FROM room WHERE community = ? AND code = ?`, community, r.Code).
		Scan(&asker, &r.Currency, &card, &closes, &r.Closed, &r.Answers, &median, &low, &high)
	if errors.Is(err, sql.ErrNoRows) {
		return Room{}, ErrNotFound
	}
	if err != nil {
		return Room{}, err
	}
	if err := json.Unmarshal([]byte(card), &r.Card); err != nil {
		return Room{}, err
	}
	r.Closes, r.Own = time.Unix(closes, 0).UTC(), bytes.Equal(asker, s.askerID(who))
	r.Shown, r.Median, r.Low, r.High = median.Valid, pool.Micros(median.V), pool.Micros(low.V), pool.Micros(high.V)
	if r.Closed {
		return r, nil
	}
	answers, err := readAnswers(ctx, tx, community, r.Code)
	r.Answers = len(answers)
	r.Median, r.Low, r.High, r.Shown = roomFigures(answers)
	return r, err
}

func readAnswers(ctx context.Context, tx *transaction, community []byte, code string) ([]pool.Micros, error) {
	rows, err := tx.QueryContext(ctx, "SELECT price FROM room_answer WHERE community = ? AND code = ? ORDER BY price", community, code)
	if err != nil {
		return nil, err
	}
	var answers []pool.Micros
	return answers, each(rows, func() error {
		var price pool.Micros
		err := rows.Scan(&price)
		answers = append(answers, price)
		return err
	})
}

// roomFigures are the median and the middle half of sorted answers, rounded to
// preferred numbers, as those of the shared log are: the half outwards.
func roomFigures(answers []pool.Micros) (median, low, high pool.Micros, shown bool) {
	if len(answers) < RoomLeast {
		return 0, 0, 0, false
	}
	middle, _ := pool.Quantile7(answers, 1, 2)
	lower, _ := pool.Quantile7(answers, 1, 4)
	upper, _ := pool.Quantile7(answers, 3, 4)
	return pool.Preferred(middle, pool.Nearest), pool.Preferred(lower, pool.Down), pool.Preferred(upper, pool.Up), true
}
