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
	member, tag := s.memberID(who), s.tag(who)
	return s.write(ctx, "noting consent", func(tx *sql.Tx) error {
		s.makers.drop(tag)
		return agree(ctx, tx, member, wording, now)
	})
}

// ShareDraft puts the draft into the shared log and notes the consent to the
// wording. The same delivery of the same code again gets the same answer and has no
// effect. A draft that another delivery has shared is an *AlreadyShared; one that does
// not exist, or no longer, is ErrNotFound. A member who shares SaleLimit sales already
// is an ErrFull.
func (s *Store) ShareDraft(ctx context.Context, who Who, delivery, code string, wording int, now time.Time) (Shared, error) {
	// Hashed before the turn comes, so that nobody waits for it.
	by := s.sharer(who, delivery, code)
	shared := Shared{Withdrawal: by.withdrawal}
	err := s.write(ctx, "sharing sale", func(tx *sql.Tx) (err error) {
		ctx := context.WithoutCancel(ctx) // short, and watching a context costs more
		shared.Number, err = s.shareDraft(ctx, tx, by, wording, now)
		if errors.Is(err, errNoDraft) { // it may have been shared
			shared, err = s.sharedBefore(ctx, tx, who, delivery, by)
		}
		return err
	})
	if err != nil {
		return Shared{}, err
	}
	return shared, nil
}

// shareDraft is ShareDraft for who has the turn at writing.
func (s *Store) shareDraft(ctx context.Context, tx *sql.Tx, by sharer, wording int, now time.Time) (number int, err error) {
	number, err = s.admitSale(ctx, tx, by, wording, now)
	if err != nil {
		return 0, err
	}
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
func (s *Store) admitSale(ctx context.Context, tx *sql.Tx, by sharer, wording int, now time.Time) (number int, err error) {
	if m, known := s.makers[string(by.tag)]; known && m.wording == wording && m.next <= SaleLimit {
		s.commits.certain()
		return m.next, nil
	}
	as, err := by.look(ctx, tx, now)
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
		contribute(ctx, tx, by.tag, by.community, waitFrom(now), false))
}

// nextNumber is the number that the next sale of the maker ?4 gets: behind their newest,
// and behind those that are gone.
const nextNumber = `max(1 + coalesce((SELECT max(number) FROM record WHERE tag = ?4), 0),
	coalesce((SELECT next FROM numbering WHERE sharer = ?5), 1), coalesce((SELECT next FROM numbering WHERE sharer = ?6), 1))`

// A sharer is who shares a draft, as hashes, and which.
type sharer struct {
	member, tag, community []byte
	// floor and before are where the numbers stand that are not given again.
	floor, before []byte
	// receipt is what the sale keeps of the delivery.
	receipt []byte
	// code is the draft's, withdrawal the sale's, and codeHash what is kept of that.
	code, withdrawal string
	codeHash         []byte
	// id is the record's.
	id int64
}

func (s *Store) sharer(who Who, delivery, code string) sharer {
	by := sharer{member: s.memberID(who), tag: s.tag(who), community: s.communityID(who.Community), before: s.sharerID(who),
		receipt: s.shareReceipt(who, delivery)[:shareReceiptBytes], code: plainCode(code), id: randomID()}
	by.floor = s.floorID(by.tag)
	by.withdrawal = s.saleCode(who, by.tag, by.code)
	by.codeHash = s.codeHash(who.Community, by.withdrawal)
	return by
}

// errNoDraft is that there is no such draft, or no longer.
var errNoDraft = errors.New("no such draft")

// A sharing is what is looked at before a draft is shared.
type sharing struct {
	// draft: it is there, so it was not shared, for its code is not drawn again.
	draft bool
	// known: the maker has shared before.
	known bool
	// next is the number the sale gets, wording the one that was agreed to, or -1.
	next, wording int
}

func (by sharer) look(ctx context.Context, tx *sql.Tx, now time.Time) (as sharing, err error) {
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM draft WHERE `+draftOf+` AND code = ?2 AND expires > ?3),
		EXISTS (SELECT 1 FROM contributor WHERE tag = ?4),
		`+nextNumber+`,
		coalesce((SELECT wording FROM consent WHERE member = ?1), -1)`, by.member, by.code, now.Unix(), by.tag, by.floor, by.before).
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

// sharedBefore gives the answer that the delivery got when it shared the draft. A draft
// that another one shared is an *AlreadyShared, and one that was never shared ErrNotFound.
// The sale itself knows, or what it left when it was withdrawn; of the sales of before
// migration 7 there are receipts.
func (s *Store) sharedBefore(ctx context.Context, tx *sql.Tx, who Who, delivery string, by sharer) (shared Shared, err error) {
	byDelivery := s.shareReceipt(who, delivery)
	var again, old bool
	err = tx.QueryRowContext(ctx, `SELECT number, receipt = ?3 AS again, 0 AS old FROM record WHERE tag = ?1 AND code_hash = ?2
		UNION ALL SELECT number, receipt = ?4 OR by = ?3, receipt = ?4 FROM receipt WHERE receipt IN (?4, ?5, ?6)
		ORDER BY again DESC LIMIT 1`, by.tag, by.codeHash, by.receipt, byDelivery, s.draftReceipt(who, by.code), s.goneReceipt(by.codeHash)).
		Scan(&shared.Number, &again, &old)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return Shared{}, ErrNotFound
	case err == nil && !again:
		return Shared{}, &AlreadyShared{Number: shared.Number}
	}
	if shared.Withdrawal = by.withdrawal; old {
		shared.Withdrawal = s.oldSaleCode(who, delivery)
	}
	return shared, err
}

// agree notes the wording agreed to, if it is another than before.
func agree(ctx context.Context, tx *sql.Tx, member []byte, wording int, now time.Time) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO consent (member, wording, given) VALUES (?, ?, ?)
		ON CONFLICT DO UPDATE SET wording = excluded.wording, given = excluded.given WHERE wording <> excluded.wording`,
		member, wording, int(pool.DayAt(now)))
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
