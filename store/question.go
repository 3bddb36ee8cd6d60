package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

const (
	// questionLife is how long a question is kept to go on from.
	questionLife = 7 * 24 * time.Hour
	// questionLimit is how many a member has at most; the oldest goes.
	questionLimit = 20
)

// SaveQuestion keeps what the member told of a piece, for 7 days and for them alone,
// and gives the code it goes by. An empty code begins a new one, which the same
// delivery always gets again; a code that the member has is written over. A member
// has at most 20; the oldest makes room.
func (s *Store) SaveQuestion(ctx context.Context, who Who, delivery, code string, told map[string]string, now time.Time) (string, error) {
	text, err := json.Marshal(told)
	if err != nil {
		return "", fmt.Errorf("writing question: %w", err)
	}
	if code = plainCode(code); code == "" {
		code = shortCode(s.keys.mac(members, "question code", who.Community, who.Member, delivery))
	}
	err = s.write(ctx, "saving question", func(tx *transaction) error {
		if err := sweepQuestions(ctx, tx, now); err != nil {
			return err
		}
		member := s.questionerID(who)
		_, err := tx.ExecContext(ctx, `INSERT INTO question (member, code, expires, told) VALUES (?, ?, ?, ?)
			ON CONFLICT DO UPDATE SET expires = excluded.expires, told = excluded.told`, member, code, now.Add(questionLife).Unix(), string(text))
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM question WHERE member = ?1 AND code NOT IN
			(SELECT code FROM question WHERE member = ?1 ORDER BY code = ?2 DESC, expires DESC LIMIT ?3)`, member, code, questionLimit)
		return err
	})
	return code, err
}

// Question gives what the member told under the code, or ErrNotFound.
func (s *Store) Question(ctx context.Context, who Who, code string, now time.Time) (map[string]string, error) {
	var told map[string]string
	err := s.read(ctx, "reading question", func(tx *transaction) error {
		var text string
		err := tx.QueryRowContext(ctx, "SELECT told FROM question WHERE member = ? AND code = ? AND expires > ?",
			s.questionerID(who), plainCode(code), now.Unix()).Scan(&text)
		if errors.Is(err, sql.ErrNoRows) {
			return ErrNotFound
		}
		return errors.Join(err, json.Unmarshal([]byte(text), &told))
	})
	return told, err
}

// DropQuestions deletes every question of the member, and says whether there was
// one.
func (s *Store) DropQuestions(ctx context.Context, who Who) (bool, error) {
	var n int
	err := s.write(ctx, "dropping questions", func(tx *transaction) (err error) {
		n, err = execute(ctx, tx, "DELETE FROM question WHERE member = ?", s.questionerID(who))
		return err
	})
	if err != nil {
		return false, err
	}
	s.empty(ctx)
	return n > 0, nil
}

// questionerID names a member beside their questions. It has a part more than the
// hash beside consent and settings, so that the two do not lead to one another.
func (s *Store) questionerID(w Who) []byte {
	return s.keys.mac(members, "questions", w.Community, w.Member)
}

// shortCode makes a code of a hash.
func shortCode(mac []byte) string { return crockford.EncodeToString(mac)[:draftCodeLength] }

func sweepQuestions(ctx context.Context, tx *transaction, now time.Time) error {
	_, err := tx.ExecContext(ctx, "DELETE FROM question WHERE expires <= ?", now.Unix())
	return err
}
