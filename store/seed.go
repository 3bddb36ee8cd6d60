package store

import (
	"context"
	"fmt"
	"strconv"

	"tallystick/calc/pool"
)

// A SeedSale is an invented sale of an invented maker.
type SeedSale struct {
	// Maker tells invented makers apart.
	Maker string
	// Since is the maker's first day; of several, the first given holds.
	Since pool.Day
	Sale  Sale
}

// Seed replaces all invented sales of a practice community and leaves what
// members shared there. The same sales again are the same records, so that a
// release sees no change. In a community that is not for practice it is
// ErrConflict: invented and real prices never mix.
func (s *Store) Seed(ctx context.Context, community string, sales []SeedSale) error {
	return s.writeAlone(ctx, "seeding", func(tx *transaction) error {
		settings, err := s.ensureCommunity(ctx, tx, community)
		if err != nil {
			return err
		}
		if !settings.Practice {
			return fmt.Errorf("invented sales outside a practice community: %w", ErrConflict)
		}
		_, err = execute(ctx, tx, "DELETE FROM contributor WHERE community = ? AND seeded = 1", s.communityID(community))
		if err != nil {
			return err
		}
		numbers := make(map[string]int)
		for _, one := range sales {
			numbers[one.Maker]++
			if err := s.seedOne(ctx, tx, community, one, numbers[one.Maker]); err != nil {
				return err
			}
		}
		return nil
	})
}

func (s *Store) seedOne(ctx context.Context, tx *transaction, community string, one SeedSale, number int) error {
	tag := s.seedTag(community, one.Maker)
	if err := contribute(ctx, tx, tag, s.communityID(community), one.Since, true); err != nil {
		return err
	}
	name := []string{"seed", community, one.Maker, strconv.Itoa(number), fmt.Sprint(one.Sale.columns()...)}
	// The code of an invented sale is told to nobody.
	return insertRecord(ctx, tx, recordID(s.keys.mac(tags, append(name, "id")...)), tag, number,
		s.keys.mac(withdrawals, append(name, "hash")...), one.Sale)
}
