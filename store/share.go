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
	err := s.read(ctx, "reading consent", func(tx *transaction) error {
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
	return s.write(ctx, "noting consent", func(tx *transaction) error {
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
	err := s.write(ctx, "sharing sale", func(tx *transaction) (err error) {
		ctx := context.WithoutCancel(ctx) // short, and watching a context costs more
		shared.Number, err = s.shareDraft(ctx, tx, by, wording, now)
		if errors.Is(err, errNoDraft) { // it may have been shared
			shared, err = s.sharedBefore(ctx, tx, by, delivery)
		}
		return err
	})
	if err != nil {
		return Shared{}, err
	}
	return shared, nil
}

// agree notes the wording agreed to, if it is another than before.
func agree(ctx context.Context, tx *transaction, member []byte, wording int, now time.Time) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO consent (member, wording, given) VALUES (?, ?, ?)
		ON CONFLICT DO UPDATE SET wording = excluded.wording, given = excluded.given WHERE wording <> excluded.wording`,
		member, wording, int(pool.DayAt(now)))
	return err
}

// contribute makes the maker known from the day, if it was not.
func contribute(ctx context.Context, tx *transaction, tag, community []byte, since pool.Day, seeded bool) error {
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

func insertRecord(ctx context.Context, tx *transaction, id int64, tag []byte, number int, codeHash []byte, sale Sale) error {
	row := append([]any{id, tag, number, codeHash}, sale.columns()...)
	_, err := tx.ExecContext(ctx, "INSERT INTO record (id, tag, number, code_hash, "+saleColumns+
		") VALUES (?, ?, ?, ?, "+saleMarks+")", row...)
	return err
}
