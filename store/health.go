package store

import (
	"context"
	"database/sql"
	"time"

	"tallystick/calc/pool"
)

// Answers tells whether the database can be read: nil when it can.
func (s *Store) Answers(ctx context.Context) error {
	return s.read(ctx, "looking whether the database answers", func(tx *transaction) error {
		var one int
		return tx.QueryRowContext(ctx, "SELECT one FROM house").Scan(&one)
	})
}

// LastRelease gives the day of the newest release of the community that has waited
// longest for another, as its start in universal time, and false where none ever
// had one.
func (s *Store) LastRelease(ctx context.Context) (time.Time, bool, error) {
	var day sql.Null[pool.Day]
	err := s.read(ctx, "looking for the last release", func(tx *transaction) error {
		return tx.QueryRowContext(ctx, "SELECT min(newest) FROM (SELECT max(day) AS newest FROM release GROUP BY community)").Scan(&day)
	})
	return day.V.Time(), err == nil && day.Valid, err
}
