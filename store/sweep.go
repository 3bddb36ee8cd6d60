package store

import (
	"context"
	"database/sql"
	"errors"
	"math"
	"time"

	"tallystick/calc/pool"
)

// sweepSlice is how many rows are looked at in one turn: a few milliseconds.
const sweepSlice = 4096

// sweep forgets the drafts and receipts whose time is over. It looks at all of them,
// a slice a turn, so that nobody waits long for it.
func (s *Store) sweep(ctx context.Context, now time.Time) error {
	for _, one := range []struct {
		end, forget string
		over        int64
		first, last any // before the first key, and behind the last
	}{
		{"SELECT id FROM draft WHERE id > ? ORDER BY id LIMIT 1 OFFSET ?",
			"DELETE FROM draft WHERE id > ? AND id <= ? AND expires <= ?", now.Unix(), int64(0), int64(math.MaxInt64)},
		{"SELECT receipt FROM receipt WHERE receipt > ? ORDER BY receipt LIMIT 1 OFFSET ?",
			"DELETE FROM receipt WHERE receipt > ? AND receipt <= ? AND expires <= ?", int64(pool.DayAt(now)), []byte{}, lastHash},
	} {
		for at := one.first; at != nil; {
			err := s.write(ctx, "forgetting what is over", func(tx *transaction) error {
				var next any
				last := false
				err := tx.QueryRowContext(ctx, one.end, at, sweepSlice).Scan(&next)
				if errors.Is(err, sql.ErrNoRows) {
					next, last, err = one.last, true, nil
				}
				if err != nil {
					return err
				}
				if _, err = tx.ExecContext(ctx, one.forget, at, next, one.over); err != nil {
					return err
				}
				if at = next; last {
					at = nil
				}
				return nil
			})
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// lastHash is behind every hash.
var lastHash = func() []byte {
	all := make([]byte, 33)
	for i := range all {
		all[i] = 0xff
	}
	return all
}()
