package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"tallystick/calc/pool"
)

// RunRelease makes the release of a day from the sales of the community, adds it
// to the log, and deletes the sales that have left the window. Once made, a
// release is not made again; a day before the newest release is ErrConflict, and
// rules looser than the standard ones are refused.
func (s *Store) RunRelease(ctx context.Context, community string, day pool.Day, rules pool.Rules) error {
	if err := rules.Stricter(pool.StandardRules()); err != nil {
		return fmt.Errorf("making release: %w", err)
	}
	id := s.communityID(community)
	defer s.published.clear()
	err := s.writeAlone(ctx, "making release", func(tx *transaction) error {
		if _, err := s.ensureCommunity(ctx, tx, community); err != nil {
			return err
		}
		return s.release(ctx, tx, id, day, rules)
	})
	if err != nil {
		return err
	}
	s.empty(ctx)
	return nil
}

// ReleaseDue makes, in every community, the release of the 1st of now's month,
// unless it is made. A community that never had one gets it when it has a sale.
// It gives the number of releases made, and also forgets drafts and receipts whose time is
// over, so it wants to be called at the start and every day. When it has made one
// it rebuilds the file.
func (s *Store) ReleaseDue(ctx context.Context, now time.Time) (ran int, err error) {
	day := pool.DayAt(now).Month().First()
	due, err := s.due(ctx, day)
	if err != nil {
		return 0, err
	}
	defer s.published.clear()
	var failures error
	for _, id := range due {
		err := s.writeAlone(ctx, "making due release", func(tx *transaction) error { return s.release(ctx, tx, id, day, s.rules) })
		if err != nil {
			failures = errors.Join(failures, err)
			continue
		}
		ran++
	}
	failures = errors.Join(failures, s.sweep(ctx, now))
	if ran == 0 {
		s.empty(ctx)
		return 0, failures
	}
	// Once a month the file is rebuilt, so that what was deleted is not even in
	// pages that nobody reads.
	if err := s.Vacuum(ctx); err != nil && !errors.Is(err, errInTheWay) {
		failures = errors.Join(failures, err)
	}
	return ran, failures
}

// due gives the communities without a release of the day.
func (s *Store) due(ctx context.Context, day pool.Day) ([][]byte, error) {
	var list [][]byte
	err := s.read(ctx, "finding due releases", func(tx *transaction) error {
		rows, err := tx.QueryContext(ctx, `SELECT community FROM community c
			WHERE NOT EXISTS (SELECT 1 FROM release r WHERE r.community = c.community AND r.day >= ?)
			AND (EXISTS (SELECT 1 FROM release r WHERE r.community = c.community)
				OR EXISTS (SELECT 1 FROM contributor m WHERE m.community = c.community))
			ORDER BY community`, int(day))
		if err != nil {
			return err
		}
		return each(rows, func() error {
			var id []byte
			list = append(list, nil)
			err := rows.Scan(&id)
			list[len(list)-1] = id
			return err
		})
	})
	return list, err
}

// release makes one release.
func (s *Store) release(ctx context.Context, tx *transaction, id []byte, day pool.Day, rules pool.Rules) error {
	newest, any, err := newestRelease(ctx, tx, id)
	switch {
	case err != nil:
		return err
	case any && newest == day:
		return nil
	case any && newest > day:
		return fmt.Errorf("a release of %s after that of %s: %w", day, newest, ErrConflict)
	}
	settings, err := readCommunity(ctx, tx, id)
	if err != nil {
		return err
	}
	if settings.Rules != (pool.Rules{}) {
		rules = rules.Tightened(settings.Rules)
	}
	before, err := readShows(ctx, tx, id)
	if err != nil {
		return err
	}
	listed := listedCuts(settings)
	in := intake{expired: lastExpired(rules, day)}
	states := pool.ReleaseOf(day, in.records(ctx, tx, id), withListed(before, listed), rules, s.subsampler())
	if in.err != nil {
		return in.err
	}
	if err := writeShows(ctx, tx, id, states); err != nil {
		return err
	}
	if err := publish(ctx, tx, id, day, states, listed); err != nil {
		return err
	}
	if err := countHeads(ctx, tx, id, day, in.makers, in.sales); err != nil {
		return err
	}
	return s.expire(ctx, tx, in.leaving, in.expired)
}

func newestRelease(ctx context.Context, tx *transaction, id []byte) (pool.Day, bool, error) {
	var day sql.Null[int]
	err := tx.QueryRowContext(ctx, "SELECT max(day) FROM release WHERE community = ?", id).Scan(&day)
	return pool.Day(day.V), day.Valid, err
}

// listedCuts are the cuts a host has named, and Everything. That they are
// listed says nothing about the sales in them.
func listedCuts(settings Community) map[pool.Cut]bool {
	listed := map[pool.Cut]bool{pool.Everything: true}
	for _, category := range settings.Categories {
		listed[pool.CategoryCut(category)] = true
	}
	for _, region := range settings.Regions {
		listed[pool.RegionCut(region)] = true
	}
	return listed
}

// withListed adds an empty state for each listed cut that has none, so that the
// release speaks of it.
func withListed(states []pool.State, listed map[pool.Cut]bool) []pool.State {
	has := make(map[pool.Cut]bool, len(states))
	for _, state := range states {
		has[state.Cut] = true
	}
	for cut := range listed {
		if !has[cut] {
			states = append(states, pool.State{Line: pool.Line{Cut: cut}})
		}
	}
	return states
}
