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

// draftOf is the condition that a draft is of the member ?1. What finds it holds a few
// bytes of the hash.
const draftOf = "substr(member, 1, 3) = substr(?1, 1, 3) AND member = ?1"

// SaveDraft keeps a preview for the member alone, for 7 days, and gives the code
// by which it is shared. A member has at most 20; the oldest makes room.
func (s *Store) SaveDraft(ctx context.Context, who Who, sale Sale, now time.Time) (code string, err error) {
	err = s.write(ctx, "saving draft", func(tx *transaction) error {
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
		_, err = tx.ExecContext(ctx, "DELETE FROM draft WHERE "+draftOf+" AND code NOT IN (SELECT code FROM draft WHERE "+draftOf+
			" ORDER BY code = ?2 DESC, expires DESC LIMIT ?3)", member, code, draftLimit)
		return err
	})
	if err != nil {
		return "", err
	}
	return code, nil
}

// freeDraftCode draws a code that the member has not, and has not just had.
func (s *Store) freeDraftCode(ctx context.Context, tx *transaction, who Who) (string, error) {
	for {
		code := newDraftCode()
		taken, err := s.draftCodeTaken(ctx, tx, who, code)
		if err != nil || !taken {
			return code, err
		}
	}
}

// draftCodeTaken says whether there is a draft of the code, or a sale that was one, or was
// not long ago.
func (s *Store) draftCodeTaken(ctx context.Context, tx *transaction, who Who, code string) (taken bool, err error) {
	tag, member := s.tag(who), s.memberID(who)
	hash := s.codeHash(who.Community, s.saleCode(who, tag, code))
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM draft WHERE substr(member, 1, 3) = ? AND code = ?)
		OR EXISTS (SELECT 1 FROM record WHERE tag = ? AND code_hash = ?) OR EXISTS (SELECT 1 FROM receipt WHERE receipt IN (?, ?))`,
		member[:3], code, tag, hash, s.draftReceipt(who, code), s.goneReceipt(hash)).Scan(&taken)
	return taken, err
}

// Draft gives the member's draft with the code, as it was rounded, or
// ErrNotFound.
func (s *Store) Draft(ctx context.Context, who Who, code string) (Sale, error) {
	var sale Sale
	err := s.read(ctx, "reading draft", func(tx *transaction) (err error) {
		sale, err = s.readDraft(ctx, tx, who, code)
		return err
	})
	return sale, err
}

func (s *Store) readDraft(ctx context.Context, tx *transaction, who Who, code string) (Sale, error) {
	row := tx.QueryRowContext(ctx, "SELECT "+saleColumns+" FROM draft WHERE "+draftOf+" AND code = ?2",
		s.memberID(who), plainCode(code))
	sale, err := scanSale(row.Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return sale, ErrNotFound
	}
	return sale, err
}
