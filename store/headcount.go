package store

import (
	"context"
	"database/sql"
	"errors"

	"tallystick/calc/pool"
)

// A Headcount is how many there were at a release, as a host may know it: in
// bands, 0 for fewer than 8, and not while it changes, so that nobody's sharing
// is seen in it.
type Headcount struct {
	AsOf          pool.Day
	Makers, Sales pool.Band
}

// Headcount gives the counts of the newest release, and false before the first.
func (s *Store) Headcount(ctx context.Context, community string) (Headcount, bool, error) {
	var h Headcount
	err := s.read(ctx, "reading headcount", func(tx *transaction) error {
		return tx.QueryRowContext(ctx, "SELECT day, makers, sales FROM headcount WHERE community = ?", s.communityID(community)).
			Scan(&h.AsOf, &h.Makers, &h.Sales)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return Headcount{}, false, nil
	}
	return h, err == nil, err
}

func countHeads(ctx context.Context, tx *transaction, id []byte, day pool.Day, makers, sales int) error {
	_, err := execute(ctx, tx, `INSERT INTO headcount (community, day, makers, sales) VALUES (?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET day = excluded.day, makers = excluded.makers, sales = excluded.sales`,
		id, int(day), int(pool.BandOf(makers)), int(pool.BandOf(sales)))
	return err
}
