package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/binary"
	"errors"
	"time"

	"tallystick/calc/pool"
)

// A Consent is what a member agreed to.
type Consent struct {
	// Wording is the version of the words agreed to.
	Wording int
	// Given is the day, as its start in universal time.
	Given time.Time
}

// A Shared is what the sharer is told.
type Shared struct {
	// Number is the sale's number among the member's own.
	Number int
	// Withdrawal is a code that withdraws the sale without the account. It is
	// told now or never: only its hash is kept.
	Withdrawal string
}

// Consent gives what the member agreed to last, and false when nothing.
func (s *Store) Consent(ctx context.Context, who Who) (Consent, bool, error) {
	var c Consent
	var given pool.Day
	err := s.read(ctx, "reading consent", func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, "SELECT wording, given FROM consent WHERE member = ?", s.memberID(who)).
			Scan(&c.Wording, &given)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return Consent{}, false, nil
	}
	c.Given = given.Time()
	return c, err == nil, err
}

// OptIn notes that the member agrees to the wording, before any sale is shared.
func (s *Store) OptIn(ctx context.Context, who Who, wording int, now time.Time) error {
	return s.write(ctx, "noting consent", func(tx *sql.Tx) error { return agree(ctx, tx, s.memberID(who), wording, now) })
}

// ShareDraft puts the draft into the shared log and notes the consent to the
// wording. The same delivery again gets the same answer and has no effect. A
// draft that another delivery has shared is an *AlreadyShared; one that does not
// exist, or no longer, is ErrNotFound. A member who shares SaleLimit sales already is
// an ErrFull.
func (s *Store) ShareDraft(ctx context.Context, who Who, delivery, code string, wording int, now time.Time) (Shared, error) {
	shared := Shared{Withdrawal: s.withdrawalCode(who, delivery)}
	// Hashed before the turn comes, so that nobody waits for it.
	byDelivery, byDraft := s.shareReceipt(who, delivery), s.draftReceipt(who, code)
	member, tag, sharer, community := s.memberID(who), s.tag(who), s.sharerID(who), s.communityID(who.Community)
	hash := s.codeHash(who.Community, shared.Withdrawal)
	err := s.write(ctx, "sharing sale", func(tx *sql.Tx) error {
		ctx := context.WithoutCancel(ctx) // short, and watching a context costs more
		as, err := readSharing(ctx, tx, member, plainCode(code), tag, sharer, now)
		if err != nil {
			return err
		}
		if !as.draft { // it may have been shared
			shared.Number, err = sharedBefore(ctx, tx, byDelivery, byDraft)
			return err
		}
		if err := salesWithin(ctx, tx, tag, as.next); err != nil {
			return err
		}
		if as.known && as.wording == wording {
			s.commits.certain()
		} else if err := errors.Join(agree(ctx, tx, member, wording, now), contribute(ctx, tx, tag, community, waitFrom(now), false)); err != nil {
			return err
		}
		shared.Number = as.next
		_, err = tx.ExecContext(ctx, "INSERT INTO record (id, tag, number, code_hash, "+saleColumns+") SELECT ?, ?, ?, ?, "+saleColumns+
			" FROM draft WHERE member = ? AND code = ?", randomID(), tag, shared.Number, hash, member, plainCode(code))
		if isTaken(err) { // the delivery has shared another draft before
			return tx.QueryRowContext(ctx, "SELECT number FROM record WHERE code_hash = ?", hash).Scan(&shared.Number)
		}
		if err == nil {
			err = setNumber(ctx, tx, sharer, shared.Number+1)
		}
		if err == nil {
			err = dropDraft(ctx, tx, member, code)
		}
		if err == nil {
			err = leaveShare(ctx, tx, byDraft, byDelivery, shared.Number, now)
		}
		return err
	})
	if err != nil {
		return Shared{}, err
	}
	return shared, nil
}

// A sharing is what is looked at before a draft is shared.
type sharing struct {
	// draft: it is there, so it was not shared, for its code is not drawn again.
	draft bool
	// known: the maker has shared before.
	known bool
	// next is the number the sale gets, wording the one that was agreed to, or -1.
	next, wording int
}

func readSharing(ctx context.Context, tx *sql.Tx, member []byte, code string, tag, sharer []byte, now time.Time) (as sharing, err error) {
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM draft WHERE member = ?1 AND code = ?2 AND expires > ?3),
		EXISTS (SELECT 1 FROM contributor WHERE tag = ?4),
		coalesce((SELECT next FROM numbering WHERE sharer = ?5), 1),
		coalesce((SELECT wording FROM consent WHERE member = ?1), -1)`, member, code, now.Unix(), tag, sharer).
		Scan(&as.draft, &as.known, &as.next, &as.wording)
	return as, err
}

// salesWithin refuses one more sale than is kept. Numbers are given upwards, so that
// the next one bounds how many there are without counting.
func salesWithin(ctx context.Context, tx *sql.Tx, tag []byte, next int) error {
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

// sharedBefore gives the number of a sale that the delivery shared before. A draft that
// another one shared is an *AlreadyShared, and one that was never shared ErrNotFound.
func sharedBefore(ctx context.Context, tx *sql.Tx, byDelivery, byDraft []byte) (number int, err error) {
	var again bool
	err = tx.QueryRowContext(ctx, `SELECT number, receipt = ?1 OR by = ?1 AS again FROM receipt WHERE receipt IN (?1, ?2)
		ORDER BY again DESC LIMIT 1`, byDelivery, byDraft).Scan(&number, &again)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, ErrNotFound
	case err == nil && !again:
		return 0, &AlreadyShared{Number: number}
	}
	return number, err
}

// agree notes the wording agreed to, if it is another than before.
func agree(ctx context.Context, tx *sql.Tx, member []byte, wording int, now time.Time) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO consent (member, wording, given) VALUES (?, ?, ?)
		ON CONFLICT DO UPDATE SET wording = excluded.wording, given = excluded.given WHERE wording <> excluded.wording`,
		member, wording, int(pool.DayAt(now)))
	return err
}

// setNumber says which number comes next.
func setNumber(ctx context.Context, tx *sql.Tx, sharer []byte, next int) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO numbering (sharer, next) VALUES (?, ?) ON CONFLICT DO UPDATE SET next = excluded.next", sharer, next)
	return err
}

// contribute makes the maker known from the day, if it was not.
func contribute(ctx context.Context, tx *sql.Tx, tag, community []byte, since pool.Day, seeded bool) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO contributor (tag, community, since, seeded) VALUES (?, ?, ?, ?)
		ON CONFLICT DO NOTHING`, tag, community, int(since), seeded)
	return err
}

// waitFrom gives the day from which a new account is counted: its first day,
// moved later to the last that lets it into the same release on the 1st of a
// month. The day itself would say which consent was given on it.
func waitFrom(now time.Time) pool.Day {
	wait := pool.Day(pool.StandardRules().NewAccount)
	counts := pool.DayAt(now) + wait
	first := counts.Month().First()
	if first < counts {
		first = (counts.Month() + 1).First()
	}
	return first - wait
}

// randomID draws a record's id. It is never the id of another, and does not say
// which record came first.
func randomID() int64 {
	var random [8]byte
	_, _ = rand.Read(random[:])
	return recordID(random[:])
}

// recordID makes an id above zero of eight bytes.
func recordID(random []byte) int64 { return max(1, int64(binary.BigEndian.Uint64(random)>>1)) }

func insertRecord(ctx context.Context, tx *sql.Tx, id int64, tag []byte, number int, codeHash []byte, sale Sale) error {
	row := append([]any{id, tag, number, codeHash}, sale.columns()...)
	_, err := tx.ExecContext(ctx, "INSERT INTO record (id, tag, number, code_hash, "+saleColumns+
		") VALUES (?, ?, ?, ?, "+saleMarks+")", row...)
	return err
}
