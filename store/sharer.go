package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// A sharer is who shares a draft, as hashes, and which.
type sharer struct {
	Who
	member, tag []byte
	// receipt is what the sale keeps of the delivery.
	receipt []byte
	// code is the draft's, withdrawal the sale's, and codeHash what is kept of that.
	code, withdrawal string
	codeHash         []byte
	// id is the record's.
	id int64
}

func (s *Store) sharer(who Who, delivery, code string) sharer {
	by := sharer{Who: who, member: s.memberID(who), tag: s.tag(who), receipt: s.shareReceipt(who, delivery)[:shareReceiptBytes],
		code: plainCode(code), id: randomID()}
	by.withdrawal = s.saleCode(who, by.tag, by.code)
	by.codeHash = s.codeHash(who.Community, by.withdrawal)
	return by
}

// errNoDraft is that there is no such draft, or no longer.
var errNoDraft = errors.New("no such draft")

// shareDraft is ShareDraft for who has the turn at writing.
func (s *Store) shareDraft(ctx context.Context, tx *transaction, by sharer, wording int, now time.Time) (number int, err error) {
	number, err = s.admitSale(ctx, tx, by, wording, now)
	if err != nil {
		return 0, err
	}
	// Where the draft is not there the statement is refused, and nothing was written that
	// would have to be taken back.
	_, err = tx.ExecContext(ctx, "INSERT INTO record (id, tag, number, code_hash, receipt, "+saleColumns+") SELECT ?, ?, ?, ?, ?, "+saleColumns+
		" FROM (SELECT 1) LEFT JOIN draft ON substr(member, 1, 3) = ? AND code = ? AND member = ? AND expires > ?",
		by.id, by.tag, number, by.codeHash, by.receipt, by.member[:3], by.code, by.member, now.Unix())
	if isMissing(err) {
		return 0, errNoDraft
	}
	if err == nil {
		_, err = tx.ExecContext(ctx, "DELETE FROM draft WHERE substr(member, 1, 3) = ? AND code = ?", by.member[:3], by.code)
	}
	if err == nil {
		s.makers.keep(by.tag, maker{number + 1, wording})
	}
	return number, err
}

// admitSale sees to all that has to be before a sale of the maker is written, and gives
// its number. Where the draft is not there it may say so.
func (s *Store) admitSale(ctx context.Context, tx *transaction, by sharer, wording int, now time.Time) (number int, err error) {
	if m, known := s.makers[string(by.tag)]; known && m.wording == wording && m.next <= SaleLimit {
		s.commits.certain()
		return m.next, nil
	}
	as, err := s.lookAt(ctx, tx, by, now)
	if err != nil {
		return 0, err
	}
	if !as.draft {
		return 0, errNoDraft
	}
	if err := salesWithin(ctx, tx, by.tag, as.next); err != nil {
		return 0, err
	}
	if as.known && as.wording == wording {
		s.commits.certain()
		return as.next, nil
	}
	return as.next, errors.Join(agree(ctx, tx, by.member, wording, now),
		contribute(ctx, tx, by.tag, s.communityID(by.Community), waitFrom(now), false))
}

// nextNumber is the number that the next sale of the maker ?4 gets: behind their newest,
// and behind those that are gone.
const nextNumber = `max(1 + coalesce((SELECT max(number) FROM record WHERE tag = ?4), 0),
	coalesce((SELECT next FROM numbering WHERE sharer = ?5), 1), coalesce((SELECT next FROM numbering WHERE sharer = ?6), 1))`

// A sharing is what is looked at before a draft is shared.
type sharing struct {
	// draft: it is there, so it was not shared, for its code is not drawn again.
	draft bool
	// known: the maker has shared before.
	known bool
	// next is the number the sale gets, wording the one that was agreed to, or -1.
	next, wording int
}

func (s *Store) lookAt(ctx context.Context, tx *transaction, by sharer, now time.Time) (as sharing, err error) {
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM draft WHERE `+draftOf+` AND code = ?2 AND expires > ?3),
		EXISTS (SELECT 1 FROM contributor WHERE tag = ?4),
		`+nextNumber+`,
		coalesce((SELECT wording FROM consent WHERE member = ?1), -1)`, by.member, by.code, now.Unix(), by.tag, s.floorID(by.tag), s.sharerID(by.Who)).
		Scan(&as.draft, &as.known, &as.next, &as.wording)
	return as, err
}

// salesWithin refuses one more sale than is kept. Numbers are given upwards, so that
// the next one bounds how many there are without counting.
func salesWithin(ctx context.Context, tx *transaction, tag []byte, next int) error {
	if next <= SaleLimit {
		return nil
	}
	var sales int
	err := tx.QueryRowContext(ctx, "SELECT count(*) FROM record WHERE tag = ?", tag).Scan(&sales)
	if err == nil && sales >= SaleLimit {
		err = &FullError{Of: FullSales}
	}
	return err
}

// sharedBefore gives the answer that the delivery got when it shared the draft. A draft
// that another one shared is an *AlreadyShared, and one that was never shared ErrNotFound.
// The sale itself knows, or what it left when it was withdrawn; of the sales of before
// migration 7 there are receipts.
func (s *Store) sharedBefore(ctx context.Context, tx *transaction, by sharer, delivery string) (shared Shared, err error) {
	byDelivery := s.shareReceipt(by.Who, delivery)
	var again, old bool
	err = tx.QueryRowContext(ctx, `SELECT number, receipt = ?3 AS again, 0 AS old FROM record WHERE tag = ?1 AND code_hash = ?2
		UNION ALL SELECT number, receipt = ?4 OR by = ?3, receipt = ?4 FROM receipt WHERE receipt IN (?4, ?5, ?6)
		ORDER BY again DESC LIMIT 1`, by.tag, by.codeHash, by.receipt, byDelivery, s.draftReceipt(by.Who, by.code), s.goneReceipt(by.codeHash)).
		Scan(&shared.Number, &again, &old)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return Shared{}, ErrNotFound
	case err == nil && !again:
		return Shared{}, &AlreadyShared{Number: shared.Number}
	}
	if shared.Withdrawal = by.withdrawal; old {
		shared.Withdrawal = s.oldSaleCode(by.Who, delivery)
	}
	return shared, err
}
