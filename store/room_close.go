package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// CloseRooms closes every room whose time is over and deletes its single answers,
// and forgets the cards of rooms that closed long ago and the questions that are
// over. It gives the number of rooms closed, and wants to be called at the start
// and every hour or so; a room is also closed by whoever next looks at it.
func (s *Store) CloseRooms(ctx context.Context, now time.Time) (closed int, err error) {
	err = s.write(ctx, "closing rooms", func(tx *transaction) error {
		closed, err = closeDue(ctx, tx, now)
		return errors.Join(err, sweepQuestions(ctx, tx, now))
	})
	if err != nil {
		return 0, err
	}
	s.empty(ctx)
	return closed, nil
}

// touch does f after the rooms that are due are closed.
func (s *Store) touch(ctx context.Context, doing string, now time.Time, f func(tx *transaction) error) error {
	closed := 0
	var refused error
	err := s.write(ctx, doing, func(tx *transaction) (err error) {
		if closed, err = closeDue(ctx, tx, now); err != nil {
			return err
		}
		// What f finds missing or out of place does not open the rooms again.
		if err = f(tx); errors.Is(err, ErrNotFound) || errors.Is(err, ErrOwnRoom) || errors.Is(err, ErrConflict) {
			refused = err
			return nil
		}
		return err
	})
	if closed > 0 && err == nil {
		s.empty(ctx)
	}
	return errors.Join(err, refused)
}

// closeDue closes the rooms whose time is over.
func closeDue(ctx context.Context, tx *transaction, now time.Time) (int, error) {
	if _, err := execute(ctx, tx, "DELETE FROM room WHERE closed = 1 AND closes <= ?", now.Add(-roomLife).Unix()); err != nil {
		return 0, err
	}
	rows, err := tx.QueryContext(ctx, "SELECT community, code FROM room WHERE closed = 0 AND closes <= ?", now.Unix())
	if err != nil {
		return 0, err
	}
	type id struct {
		community []byte
		code      string
	}
	var due []id
	err = each(rows, func() error {
		var one id
		err := rows.Scan(&one.community, &one.code)
		due = append(due, one)
		return err
	})
	for _, one := range due {
		if err == nil {
			err = closeRoom(ctx, tx, one.community, one.code, now)
		}
	}
	return len(due), err
}

// closeRoom keeps the last figures, rounded, and deletes the single answers.
func closeRoom(ctx context.Context, tx *transaction, community []byte, code string, now time.Time) error {
	answers, err := readAnswers(ctx, tx, community, code)
	if err != nil {
		return err
	}
	median, low, high, shown := roomFigures(answers)
	figure := func(v int64) sql.Null[int64] { return sql.Null[int64]{V: v, Valid: shown} }
	_, err = execute(ctx, tx, `UPDATE room SET closed = 1, answers = ?, median = ?, low = ?, high = ?,
		closes = min(closes, ?) WHERE community = ? AND code = ?`,
		len(answers), figure(int64(median)), figure(int64(low)), figure(int64(high)), now.Unix(), community, code)
	if err != nil {
		return err
	}
	_, err = execute(ctx, tx, "DELETE FROM room_answer WHERE community = ? AND code = ?", community, code)
	return err
}

// DropRooms deletes the rooms that the member asked, with the answers in them, and
// the member's own answers in open rooms of others. It says whether there was
// anything.
func (s *Store) DropRooms(ctx context.Context, who Who) (bool, error) {
	n := 0
	err := s.write(ctx, "dropping rooms", func(tx *transaction) error {
		asked, err := execute(ctx, tx, "DELETE FROM room WHERE asker = ?", s.askerID(who))
		if err != nil {
			return err
		}
		n = asked
		rows, err := tx.QueryContext(ctx, "SELECT code FROM room WHERE community = ? AND closed = 0", s.communityID(who.Community))
		if err != nil {
			return err
		}
		var open []string
		err = each(rows, func() error {
			var code string
			err := rows.Scan(&code)
			open = append(open, code)
			return err
		})
		if err != nil {
			return err
		}
		for _, code := range open {
			gone, err := execute(ctx, tx, "DELETE FROM room_answer WHERE community = ? AND code = ? AND who = ?",
				s.communityID(who.Community), code, s.answererID(who, code))
			if err != nil {
				return err
			}
			n += gone
		}
		return nil
	})
	if err != nil {
		return false, err
	}
	s.empty(ctx)
	return n > 0, nil
}

// askerID names a member beside the rooms they asked.
func (s *Store) askerID(w Who) []byte { return s.keys.mac(members, "asker", w.Community, w.Member) }

// answererID names a member beside their answer in one room. It is another in each,
// so that answers do not lead from room to room.
func (s *Store) answererID(w Who, code string) []byte {
	return s.keys.mac(members, "answerer", code, w.Community, w.Member)
}
