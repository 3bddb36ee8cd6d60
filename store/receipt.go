package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"tallystick/calc/pool"
)

// receiptLife is how many days a delivery is remembered: much longer than any
// transport repeats one.
const receiptLife = 30

// shareReceiptBytes is how much of a delivery's hash a shared sale keeps: it is compared
// with one other at most.
const shareReceiptBytes = 8

// Each kind of receipt has a word of its own before its parts, so that one
// delivery may stand for different acts.

func (s *Store) shareReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "share", w.Community, w.Member, delivery)
}

// draftReceipt is what a shared draft left before sales were receipts themselves.
func (s *Store) draftReceipt(w Who, code string) []byte {
	return s.keys.mac(receipts, "draft", w.Community, w.Member, plainCode(code))
}

// goneReceipt is what a sale leaves when it is withdrawn, found by the hash of its code.
func (s *Store) goneReceipt(codeHash []byte) []byte {
	return s.keys.mac(receipts, "gone", string(codeHash))
}

func (s *Store) withdrawReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "withdraw", w.Community, w.Member, delivery)
}

func (s *Store) codeReceipt(community, delivery string) []byte {
	return s.keys.mac(receipts, "code", community, delivery)
}

func (s *Store) allReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "all", w.Community, w.Member, delivery)
}

func (s *Store) optOutReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "opt out", w.Community, w.Member, delivery)
}

func (s *Store) removeReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "remove", w.Community, w.Member, delivery)
}

func (s *Store) settingsReceipt(w Who, delivery string) []byte {
	return s.keys.mac(receipts, "settings", w.Community, w.Member, delivery)
}

// done gives the number a receipt was left with, and false when there is none.
func done(ctx context.Context, tx *transaction, receipt []byte) (int, bool, error) {
	var number int
	err := tx.QueryRowContext(ctx, "SELECT number FROM receipt WHERE receipt = ?", receipt).Scan(&number)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, false, nil
	}
	return number, err == nil, err
}

// doneEither is done for two receipts at once.
func doneEither(ctx context.Context, tx *transaction, a, b []byte) (numberA int, hasA bool, numberB int, hasB bool, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT receipt = ?1, number FROM receipt WHERE receipt IN (?1, ?2)", a, b)
	if err != nil {
		return 0, false, 0, false, err
	}
	err = each(rows, func() error {
		var isA bool
		var number int
		err := rows.Scan(&isA, &number)
		if isA {
			numberA, hasA = number, true
		} else {
			numberB, hasB = number, true
		}
		return err
	})
	return numberA, hasA, numberB, hasB, err
}

// leave leaves a receipt.
func leave(ctx context.Context, tx *transaction, receipt []byte, number int, now time.Time) error {
	return leaveBy(ctx, tx, receipt, number, []byte{}, now)
}

// leaveBy leaves a receipt of what another delivery did.
func leaveBy(ctx context.Context, tx *transaction, receipt []byte, number int, by []byte, now time.Time) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO receipt (receipt, number, expires, by) VALUES (?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET number = excluded.number, expires = excluded.expires, by = excluded.by`,
		receipt, number, int(pool.DayAt(now))+receiptLife, by)
	return err
}
