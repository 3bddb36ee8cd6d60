package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"tallystick/calc/pool"
)

// A Community is a community's settings.
type Community struct {
	// Currency is the ISO 4217 code of all its prices.
	Currency string
	// Categories and Regions are the words a sale may be filed under, in the
	// order in which they are offered.
	Categories, Regions []string
	// Practice is true where the log is filled with invented sales to try the
	// bot out.
	Practice bool
	// Access says who may use the log.
	Access Access
	// Rules are the release rules where the host made them stricter; zero is the
	// standard ones.
	Rules pool.Rules
}

// Access says who may share with a log and read it.
type Access string

// The kinds of access.
const (
	// Everybody in the community.
	Everybody Access = ""
	// Sharers are the members who agreed to the sharing, and hosts.
	Sharers Access = "sharers"
	// HostOnly is nobody but hosts: a log at rest.
	HostOnly Access = "host"
)

// Community gives the settings of a community, making them from the defaults at
// first use.
func (s *Store) Community(ctx context.Context, community string) (Community, error) {
	c, err := s.communities.get(community, func() (Community, error) { return s.makeCommunity(ctx, community) })
	c.Categories, c.Regions = slices.Clone(c.Categories), slices.Clone(c.Regions)
	return c, err
}

// makeCommunity reads the settings from the file, and makes them where there are none.
func (s *Store) makeCommunity(ctx context.Context, community string) (Community, error) {
	const doing = "reading community"
	var c Community
	err := s.read(ctx, doing, func(tx *transaction) (err error) {
		c, err = readCommunity(ctx, tx, s.communityID(community))
		return err
	})
	if !errors.Is(err, ErrNotFound) {
		return c, err
	}
	err = s.write(ctx, doing, func(tx *transaction) (err error) {
		c, err = s.ensureCommunity(ctx, tx, community)
		return err
	})
	return c, err
}

// SetCommunity replaces the settings. While there are sales or drafts in the
// community, another currency or another Practice is an ErrConflict: prices of
// two kinds would mix. Rules looser than the standard ones are a
// *pool.LooserError.
func (s *Store) SetCommunity(ctx context.Context, community string, settings Community) error {
	if settings.Rules != (pool.Rules{}) {
		if err := settings.Rules.Stricter(pool.StandardRules()); err != nil {
			return failed("setting community", err)
		}
	}
	defer s.communities.forget(community)
	return s.write(ctx, "setting community", func(tx *transaction) error {
		old, err := s.ensureCommunity(ctx, tx, community)
		if err != nil {
			return err
		}
		id := s.communityID(community)
		if old.Currency != settings.Currency || old.Practice != settings.Practice {
			var inUse bool
			err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM contributor WHERE community = ?1)
				OR EXISTS (SELECT 1 FROM draft WHERE community = ?1)`, id).Scan(&inUse)
			if err != nil {
				return err
			}
			if inUse {
				return fmt.Errorf("changing what its prices mean: %w", ErrConflict)
			}
		}
		return writeCommunity(ctx, tx, id, settings)
	})
}

// ensureCommunity reads the settings, or makes them.
func (s *Store) ensureCommunity(ctx context.Context, tx *transaction, community string) (Community, error) {
	id := s.communityID(community)
	c, err := readCommunity(ctx, tx, id)
	if errors.Is(err, ErrNotFound) {
		return s.defaults, writeCommunity(ctx, tx, id, s.defaults)
	}
	return c, err
}

func readCommunity(ctx context.Context, tx *transaction, id []byte) (Community, error) {
	var c Community
	err := tx.QueryRowContext(ctx, "SELECT currency, practice, access FROM community WHERE community = ?", id).
		Scan(&c.Currency, &c.Practice, &c.Access)
	if errors.Is(err, sql.ErrNoRows) {
		return c, ErrNotFound
	}
	if err != nil {
		return c, err
	}
	if c.Rules, err = readRules(ctx, tx, id); err != nil {
		return c, err
	}
	rows, err := tx.QueryContext(ctx, "SELECT kind, word FROM community_word WHERE community = ? ORDER BY kind, place", id)
	if err != nil {
		return c, err
	}
	return c, each(rows, func() error {
		var kind, word string
		if err := rows.Scan(&kind, &word); err != nil {
			return err
		}
		if kind == "category" {
			c.Categories = append(c.Categories, word)
		} else {
			c.Regions = append(c.Regions, word)
		}
		return nil
	})
}

func writeCommunity(ctx context.Context, tx *transaction, id []byte, c Community) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO community (community, currency, practice, access) VALUES (?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET currency = excluded.currency, practice = excluded.practice, access = excluded.access`,
		id, c.Currency, c.Practice, string(c.Access))
	if err != nil {
		return err
	}
	if err := writeRules(ctx, tx, id, c.Rules); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM community_word WHERE community = ?", id); err != nil {
		return err
	}
	for kind, words := range map[string][]string{"category": c.Categories, "region": c.Regions} {
		for place, word := range words {
			_, err := tx.ExecContext(ctx, "INSERT INTO community_word (community, kind, place, word) VALUES (?, ?, ?, ?)",
				id, kind, place, word)
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// readRules gives the rules of the community, zero where it has the standard
// ones. A rule that is not kept for it is the standard one.
func readRules(ctx context.Context, tx *transaction, id []byte) (pool.Rules, error) {
	rows, err := tx.QueryContext(ctx, "SELECT rule, value FROM community_rule WHERE community = ?", id)
	if err != nil {
		return pool.Rules{}, err
	}
	rules := pool.Rules{}
	err = each(rows, func() error {
		var name string
		var value int64
		if err := rows.Scan(&name, &value); err != nil {
			return err
		}
		if rules == (pool.Rules{}) {
			rules = pool.StandardRules()
		}
		known := false
		if rules, known = rules.With(name, value); !known {
			return fmt.Errorf("unknown rule %q", name)
		}
		return nil
	})
	return rules, err
}

func writeRules(ctx context.Context, tx *transaction, id []byte, rules pool.Rules) error {
	if _, err := tx.ExecContext(ctx, "DELETE FROM community_rule WHERE community = ?", id); err != nil || rules == (pool.Rules{}) {
		return err
	}
	for _, name := range pool.RuleNames() {
		value, _ := rules.Of(name)
		if _, err := tx.ExecContext(ctx, "INSERT INTO community_rule (community, rule, value) VALUES (?, ?, ?)", id, name, value); err != nil {
			return err
		}
	}
	return nil
}

// each calls f for each row and closes the rows.
func each(rows *sql.Rows, f func() error) error {
	defer rows.Close()
	for rows.Next() {
		if err := f(); err != nil {
			return err
		}
	}
	return rows.Err()
}
