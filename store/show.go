package store

import (
	"cmp"
	"context"
	"database/sql"
	"slices"

	"tallystick/calc/pool"
)

// readShows gives what each cut last showed and of whom. The lines of the states
// are not read: the next release does not look at them.
func readShows(ctx context.Context, tx *transaction, id []byte) ([]pool.State, error) {
	entries, err := readLedgers(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	rows, err := tx.QueryContext(ctx,
		"SELECT cut, series, like_series, as_of, makers, low, high FROM show WHERE community = ? ORDER BY cut, series", id)
	if err != nil {
		return nil, err
	}
	var states []pool.State
	err = each(rows, func() error {
		var cut pool.Cut
		var show pool.Show
		var like pool.Series
		if err := rows.Scan(&cut, &show.Series, &like, &show.AsOf, &show.Makers, &show.Low, &show.High); err != nil {
			return err
		}
		show.Ledger = entries[ledgerKey{cut, cmp.Or(like, show.Series)}]
		if n := len(states); n == 0 || states[n-1].Cut != cut {
			states = append(states, pool.State{Line: pool.Line{Cut: cut}})
		}
		last := &states[len(states)-1]
		last.Shows = append(last.Shows, show)
		return nil
	})
	return states, err
}

type ledgerKey struct {
	cut    pool.Cut
	series pool.Series
}

func readLedgers(ctx context.Context, tx *transaction, id []byte) (map[ledgerKey][]pool.Entry, error) {
	rows, err := tx.QueryContext(ctx, "SELECT cut, series, entries FROM ledger WHERE community = ?", id)
	if err != nil {
		return nil, err
	}
	ledgers := make(map[ledgerKey][]pool.Entry)
	err = each(rows, func() error {
		var key ledgerKey
		var entries sql.RawBytes
		err := rows.Scan(&key.cut, &key.series, &entries)
		ledgers[key] = unpacked(string(entries))
		return err
	})
	return ledgers, err
}

// Bytes of a maker's tag and of an entry, which is a tag and a mark.
const (
	tagBytes   = 32
	entryBytes = 2 * tagBytes
)

// packed gives a ledger as it is kept: entry after entry.
func packed(entries []pool.Entry) []byte {
	all := make([]byte, 0, entryBytes*len(entries))
	for _, entry := range entries {
		all = append(all, entry.Maker...)
		all = append(all, entry.Records[:]...)
	}
	return all
}

// unpacked reads what packed wrote. The tags are parts of the one text.
func unpacked(all string) []pool.Entry {
	entries := make([]pool.Entry, 0, len(all)/entryBytes)
	for ; len(all) >= entryBytes; all = all[entryBytes:] {
		entry := pool.Entry{Maker: all[:tagBytes]}
		copy(entry.Records[:], all[tagBytes:entryBytes])
		entries = append(entries, entry)
	}
	return entries
}

// writeShows replaces what the cuts last showed. A show that is only kept has its
// ledger in the file already.
func writeShows(ctx context.Context, tx *transaction, id []byte, states []pool.State) error {
	kept, err := readKept(ctx, tx, id)
	if err != nil {
		return err
	}
	for _, state := range states {
		for i, show := range state.Shows {
			like := likeOf(show, state.Shows[:i])
			_, err := execute(ctx, tx, `INSERT INTO show (community, cut, series, like_series, as_of, makers, low, high)
				VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO UPDATE SET like_series = excluded.like_series,
				as_of = excluded.as_of, makers = excluded.makers, low = excluded.low, high = excluded.high`,
				id, string(state.Cut), string(show.Series), string(like),
				int(show.AsOf), int(show.Makers), int64(show.Low), int64(show.High))
			if err != nil {
				return err
			}
			key := ledgerKey{state.Cut, show.Series}
			was := kept[key]
			delete(kept, key)
			switch {
			case like != "" && was.ownLedger:
				_, err = execute(ctx, tx, "DELETE FROM ledger WHERE community = ? AND cut = ? AND series = ?",
					id, string(state.Cut), string(show.Series))
			case like == "" && !(was.ownLedger && was.asOf == show.AsOf):
				_, err = execute(ctx, tx, `INSERT INTO ledger (community, cut, series, entries) VALUES (?, ?, ?, ?)
					ON CONFLICT DO UPDATE SET entries = excluded.entries`,
					id, string(state.Cut), string(show.Series), packed(show.Ledger))
			}
			if err != nil {
				return err
			}
		}
	}
	for key := range kept { // no longer of the log
		if _, err := execute(ctx, tx, "DELETE FROM show WHERE community = ? AND cut = ? AND series = ?",
			id, string(key.cut), string(key.series)); err != nil {
			return err
		}
	}
	return nil
}

// A keptShow is the day of a show in the file, and whether it has a ledger of its
// own there.
type keptShow struct {
	asOf      pool.Day
	ownLedger bool
}

func readKept(ctx context.Context, tx *transaction, id []byte) (map[ledgerKey]keptShow, error) {
	rows, err := tx.QueryContext(ctx, "SELECT cut, series, as_of, like_series = '' FROM show WHERE community = ?", id)
	if err != nil {
		return nil, err
	}
	kept := make(map[ledgerKey]keptShow)
	err = each(rows, func() error {
		var key ledgerKey
		var show keptShow
		err := rows.Scan(&key.cut, &key.series, &show.asOf, &show.ownLedger)
		kept[key] = show
		return err
	})
	return kept, err
}

// likeOf gives the first of the shows before that has the same ledger, "" for none.
func likeOf(show pool.Show, before []pool.Show) pool.Series {
	for _, other := range before {
		if same(other.Ledger, show.Ledger) {
			return other.Series
		}
	}
	return ""
}

// same says whether two ledgers are alike. Those of the same sales are mostly one.
func same(a, b []pool.Entry) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0] || slices.Equal(a, b))
}
