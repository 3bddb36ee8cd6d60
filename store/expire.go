package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"slices"
	"strings"

	"tallystick/calc/pool"
)

// lastExpired gives the newest month whose sales have left the window on the day.
func lastExpired(rules pool.Rules, day pool.Day) pool.Month {
	month := day.Month()
	for !rules.Expired(month, day) {
		month--
	}
	return month
}

// expire deletes the records of the makers that are of the month or older. They leave
// their numbers, and no receipt: what is 24 months old was hardly shared just now.
func (s *Store) expire(ctx context.Context, tx *transaction, makers [][]byte, month pool.Month) error {
	for _, tag := range makers {
		if _, err := s.deleteSales(ctx, tx, "tag = ? AND sold <= ?", tag, int(month)); err != nil {
			return err
		}
	}
	return forgetMakers(ctx, tx, makers...)
}

// forgetMakers deletes those of the makers who have no record left. What the
// last release showed of them stays in its ledger, so that they count as changed
// in the next, under a name that nobody has.
func forgetMakers(ctx context.Context, tx *transaction, makers ...[]byte) error {
	leave, err := tx.PrepareContext(ctx, `DELETE FROM contributor WHERE tag = ?1
		AND NOT EXISTS (SELECT 1 FROM record WHERE tag = ?1) RETURNING community`)
	if err != nil {
		return err
	}
	defer leave.Close()
	gone := make(map[string]map[string]bool) // by community
	for _, tag := range makers {
		var community []byte
		err := leave.QueryRowContext(ctx, tag).Scan(&community)
		if errors.Is(err, sql.ErrNoRows) {
			continue
		}
		if err != nil {
			return err
		}
		if gone[string(community)] == nil {
			gone[string(community)] = make(map[string]bool)
		}
		gone[string(community)][string(tag)] = true
	}
	for community, tags := range gone {
		if err := renameInLedgers(ctx, tx, []byte(community), tags); err != nil {
			return err
		}
	}
	return nil
}

// renameInLedgers gives the makers a drawn name in all ledgers of a community, and
// the place of that name: their old place would tell between whom they stood.
func renameInLedgers(ctx context.Context, tx *transaction, id []byte, gone map[string]bool) error {
	rows, err := tx.QueryContext(ctx, "SELECT cut, series FROM ledger WHERE community = ?", id)
	if err != nil {
		return err
	}
	var keys []ledgerKey
	err = each(rows, func() error {
		var key ledgerKey
		err := rows.Scan(&key.cut, &key.series)
		keys = append(keys, key)
		return err
	})
	if err != nil {
		return err
	}
	for _, key := range keys {
		var all []byte
		err := tx.QueryRowContext(ctx, "SELECT entries FROM ledger WHERE community = ? AND cut = ? AND series = ?",
			id, string(key.cut), string(key.series)).Scan(&all)
		if err != nil {
			return err
		}
		entries := unpacked(string(all))
		renamed := false
		for i := range entries {
			if gone[entries[i].Maker] {
				entries[i].Maker, renamed = drawnName(), true
			}
		}
		if !renamed {
			continue
		}
		slices.SortFunc(entries, func(a, b pool.Entry) int { return strings.Compare(a.Maker, b.Maker) })
		_, err = execute(ctx, tx, "UPDATE ledger SET entries = ? WHERE community = ? AND cut = ? AND series = ?",
			packed(entries), id, string(key.cut), string(key.series))
		if err != nil {
			return err
		}
	}
	return nil
}

// drawnName draws a name that no maker has.
func drawnName() string {
	var name [tagBytes]byte
	_, _ = rand.Read(name[:]) // fills it or ends the program
	return string(name[:])
}
