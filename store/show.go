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
func readShows(ctx context.Context, tx *sql.Tx, id []byte) ([]pool.State, error) {
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

func readLedgers(ctx context.Context, tx *sql.Tx, id []byte) (map[ledgerKey][]pool.Entry, error) {
	rows, err := tx.QueryContext(ctx,
		"SELECT cut, series, maker, records FROM ledger WHERE community = ? ORDER BY cut, series, maker", id)
	if err != nil {
		return nil, err
	}
	entries := make(map[ledgerKey][]pool.Entry)
	err = each(rows, func() error {
		var key ledgerKey
		var maker, records []byte
		if err := rows.Scan(&key.cut, &key.series, &maker, &records); err != nil {
			return err
		}
		entries[key] = append(entries[key], pool.Entry{Maker: string(maker), Records: [32]byte(records)})
		return nil
	})
	return entries, err
}

// writeShows replaces what the cuts last showed.
func writeShows(ctx context.Context, tx *sql.Tx, id []byte, states []pool.State) error {
	if _, err := execute(ctx, tx, "DELETE FROM show WHERE community = ?", id); err != nil {
		return err
	}
	shows, err := tx.PrepareContext(ctx,
		"INSERT INTO show (community, cut, series, like_series, as_of, makers, low, high) VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
	if err != nil {
		return err
	}
	defer shows.Close()
	ledger, err := tx.PrepareContext(ctx,
		"INSERT INTO ledger (community, cut, series, maker, records) VALUES (?, ?, ?, ?, ?)")
	if err != nil {
		return err
	}
	defer ledger.Close()
	for _, state := range states {
		for i, show := range state.Shows {
			like := likeOf(show, state.Shows[:i])
			_, err := shows.ExecContext(ctx, id, string(state.Cut), string(show.Series), string(like),
				int(show.AsOf), int(show.Makers), int64(show.Low), int64(show.High))
			if err != nil {
				return err
			}
			if like != "" {
				continue
			}
			for _, entry := range show.Ledger {
				_, err := ledger.ExecContext(ctx, id, string(state.Cut), string(show.Series),
					[]byte(entry.Maker), entry.Records[:])
				if err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// likeOf gives the first of the shows before that has the same ledger, "" for none.
func likeOf(show pool.Show, before []pool.Show) pool.Series {
	for _, other := range before {
		if slices.Equal(other.Ledger, show.Ledger) {
			return other.Series
		}
	}
	return ""
}
