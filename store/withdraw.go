package store

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"time"
)

// Withdraw deletes one of the member's own sales. The same delivery again does
// nothing; a number the member has not is ErrNotFound.
func (s *Store) Withdraw(ctx context.Context, who Who, delivery string, number int, now time.Time) error {
	return s.withdraw(ctx, s.withdrawReceipt(who, delivery), now, "tag = ? AND number = ?", s.tag(who), number)
}

// WithdrawByCode deletes the sale that the withdrawal code was given for, for
// whoever holds it. The same delivery again does nothing; a code of no sale is
// ErrNotFound.
func (s *Store) WithdrawByCode(ctx context.Context, community, delivery, code string, now time.Time) error {
	receipt, hash := s.codeReceipt(community, delivery), s.codeHash(community, code)
	told, ok := codeBytes(code)
	if !ok {
		told = make([]byte, withdrawalCodeBytes) // it is none, and not found
	}
	place := s.placeOf(community, told)
	return s.withdraw(ctx, receipt, now, `(tag, number) = (SELECT tag, number FROM record WHERE code_hash = ?1 AND receipt = x''
		UNION ALL SELECT tag, number FROM record WHERE tag BETWEEN ?2 AND ?3 AND code_hash = ?1 LIMIT 1)`,
		hash, place, append(bytes.Clone(place), lastHash...))
}

// withdraw deletes the one sale that is so.
func (s *Store) withdraw(ctx context.Context, receipt []byte, now time.Time, which string, args ...any) error {
	err := s.write(ctx, "withdrawing sale", func(tx *transaction) error {
		if _, again, err := done(ctx, tx, receipt); err != nil || again {
			return err
		}
		gone, err := s.removeSales(ctx, tx, now, which, args...)
		if err == nil && len(gone) == 0 {
			err = ErrNotFound
		}
		if err != nil {
			return err
		}
		return errors.Join(forgetMakers(ctx, tx, gone[0].tag), leave(ctx, tx, receipt, 1, now))
	})
	if err != nil {
		return err
	}
	s.empty(ctx)
	return nil
}

// empty clears what was deleted out of the journal too. Where a long reader is
// in the way, the next to empty it does: the deletion itself is done, and is not
// to be told as a failure.
func (s *Store) empty(ctx context.Context) { _ = s.checkpoint(ctx) }

// A trace is a statement that deletes what there is of a member under one id.
type trace struct {
	statement string
	id        []byte
	sales     bool // it is the shared sales, and no statement
	ledger    bool // it is of the job sheets
}

// pooled are the traces of a member in the shared log, the sales first.
func (s *Store) pooled(who Who) []trace {
	return []trace{
		{sales: true, id: s.tag(who)},
		{statement: "DELETE FROM consent WHERE member = ?", id: s.memberID(who)},
		{statement: "DELETE FROM draft WHERE " + draftOf, id: s.memberID(who)},
	}
}

// traces are all there is of a member, the shared sales first. What else comes to
// be kept of a member has its line here.
func (s *Store) traces(who Who) []trace {
	return append(s.pooled(who),
		trace{statement: "DELETE FROM numbering WHERE sharer = ?", id: s.floorID(s.tag(who))},
		trace{statement: "DELETE FROM numbering WHERE sharer = ?", id: s.sharerID(who)},
		trace{statement: "DELETE FROM shop WHERE tag = ?", id: s.tag(who)},
		trace{statement: "DELETE FROM setting WHERE member = ?", id: s.memberID(who)},
		trace{statement: "DELETE FROM entry WHERE owner = ?", id: s.ownerID(who), ledger: true},
		trace{statement: "DELETE FROM book WHERE owner = ?", id: s.ownerID(who), ledger: true},
	)
}

// WithdrawAll deletes all there is of the member: the sales, of which it gives
// the number, the consent, the drafts, the shop, the settings and the job sheets.
// Numbers begin at 1 again if
// they ever come back. The same delivery again gives the same number and does
// nothing; a member of whom there is nothing is ErrNotFound.
func (s *Store) WithdrawAll(ctx context.Context, who Who, delivery string, now time.Time) (n int, err error) {
	return s.erase(ctx, who, s.allReceipt(who, delivery), s.traces(who), now)
}

// OptOut takes the consent back, and with it the member's sales, of which it gives
// the number, and drafts. Deliveries and who has nothing are as in WithdrawAll.
func (s *Store) OptOut(ctx context.Context, who Who, delivery string, now time.Time) (n int, err error) {
	return s.erase(ctx, who, s.optOutReceipt(who, delivery), s.pooled(who), now)
}

// RemoveMember withdraws all sales and drafts of a member in the name of the host,
// who is not told whether there were any. The same delivery again does nothing.
func (s *Store) RemoveMember(ctx context.Context, who Who, delivery string, now time.Time) error {
	_, err := s.erase(ctx, who, s.removeReceipt(who, delivery), []trace{s.pooled(who)[0], s.pooled(who)[2]}, now)
	if errors.Is(err, ErrNotFound) {
		return nil
	}
	return err
}

// erase runs the traces once for a receipt and gives how many rows the first
// deleted. Where there is nothing to delete it is ErrNotFound.
func (s *Store) erase(ctx context.Context, who Who, receipt []byte, traces []trace, now time.Time) (n int, err error) {
	defer s.settings.forget(who) // where they are among the traces
	err = s.write(ctx, "erasing", func(tx *transaction) error {
		number, again, err := done(ctx, tx, receipt)
		if err != nil || again {
			n = number
			return err
		}
		if slices.ContainsFunc(traces, func(one trace) bool { return one.ledger }) {
			if err := s.leaveLedger(ctx, tx, s.ownerID(who), now); err != nil {
				return err
			}
		}
		found := 0
		for i, one := range traces {
			var count int
			if one.sales {
				var gone []goneSale
				gone, err = s.removeSales(ctx, tx, now, "tag = ?", one.id)
				count = len(gone)
			} else {
				count, err = execute(ctx, tx, one.statement, one.id)
			}
			if err != nil {
				return err
			}
			if i == 0 {
				n = count
			}
			found += count
		}
		if found == 0 {
			return ErrNotFound
		}
		return errors.Join(forgetMakers(ctx, tx, s.tag(who)), leave(ctx, tx, receipt, n, now))
	})
	if err != nil {
		return 0, err
	}
	s.empty(ctx)
	return n, nil
}

// execute runs a statement and gives the number of rows it changed.
func execute(ctx context.Context, tx *transaction, statement string, args ...any) (int, error) {
	result, err := tx.ExecContext(ctx, statement, args...)
	if err != nil {
		return 0, err
	}
	n, err := result.RowsAffected()
	return int(n), err
}
