package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

const (
	// draftLife is how long a preview is kept.
	draftLife = 7 * 24 * time.Hour
	// draftLimit is how many previews a member has at most; the oldest goes.
	draftLimit = 20
)

// SaveDraft keeps a preview for the member alone, for 7 days, and gives the code
// by which it is shared. A member has at most 20; the oldest makes room.
func (s *Store) SaveDraft(ctx context.Context, who Who, sale Sale, now time.Time) (code string, err error) {
	err = s.write(ctx, "saving draft", func(tx *sql.Tx) error {
		if _, err := s.ensureCommunity(ctx, tx, who.Community); err != nil {
			return err
		}
		member := s.memberID(who)
		if code, err = s.freeDraftCode(ctx, tx, who); err != nil {
			return err
		}
		row := append([]any{member, code, s.communityID(who.Community), now.Add(draftLife).Unix()}, sale.columns()...)
		_, err := tx.ExecContext(ctx, "INSERT INTO draft (member, code, community, expires, "+saleColumns+
			") VALUES (?, ?, ?, ?, "+saleMarks+")", row...)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM draft WHERE member = ?1 AND code NOT IN
			(SELECT code FROM draft WHERE member = ?1 ORDER BY code = ?2 DESC, expires DESC LIMIT ?3)`, member, code, draftLimit)
		return err
	})
	if err != nil {
		return "", err
	}
	return code, nil
}

// freeDraftCode draws a code that the member has not, and has not just had.
func (s *Store) freeDraftCode(ctx context.Context, tx *sql.Tx, who Who) (string, error) {
	for {
		code := newDraftCode()
		var taken bool
		err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM draft WHERE member = ? AND code = ?)
			OR EXISTS (SELECT 1 FROM receipt WHERE receipt = ?)`, s.memberID(who), code, s.draftReceipt(who, code)).Scan(&taken)
		if err != nil || !taken {
			return code, err
		}
	}
}

// Draft gives the member's draft with the code, as it was rounded, or
// ErrNotFound.
func (s *Store) Draft(ctx context.Context, who Who, code string) (Sale, error) {
	var sale Sale
	err := s.read(ctx, "reading draft", func(tx *sql.Tx) (err error) {
		sale, err = s.readDraft(ctx, tx, who, code)
		return err
	})
	return sale, err
}

func (s *Store) readDraft(ctx context.Context, tx *sql.Tx, who Who, code string) (Sale, error) {
	row := tx.QueryRowContext(ctx, "SELECT "+saleColumns+" FROM draft WHERE member = ? AND code = ?",
		s.memberID(who), plainCode(code))
	sale, err := scanSale(row.Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return sale, ErrNotFound
	}
	return sale, err
}

func dropDraft(ctx context.Context, tx *sql.Tx, member []byte, code string) error {
	_, err := tx.ExecContext(ctx, "DELETE FROM draft WHERE member = ? AND code = ?", member, plainCode(code))
	return err
}
