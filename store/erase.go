package store

import (
	"context"
	"errors"
	"time"
)

// An Erased counts what was erased of a community.
type Erased struct {
	// Sales are shared sales, Previews the drafts of others, and Rooms the questions
	// put to everybody.
	Sales, Previews, Rooms int
}

// EraseCommunity deletes what members of a community have put into what they share:
// sales, previews, questions to the room with their answers, and who shares a shop.
// What only one member sees carries no mark of the community and is not found from
// it: WithdrawAll deletes it for a member. The settings of the community and the log
// of releases, pooled figures of nobody in particular, stay. A community that was
// never there is ErrNotFound.
func (s *Store) EraseCommunity(ctx context.Context, community string, now time.Time) (n Erased, err error) {
	id := s.communityID(community)
	err = s.write(ctx, "erasing community", func(tx *transaction) error {
		if _, err := readCommunity(ctx, tx, id); err != nil {
			return err
		}
		makers, err := readMakers(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, tag := range makers {
			gone, err := s.removeSales(ctx, tx, now, "tag = ?", tag)
			if err != nil {
				return err
			}
			n.Sales += len(gone)
		}
		for _, one := range []struct {
			statement string
			into      *int
		}{
			{"DELETE FROM contributor WHERE community = ?", new(int)},
			{"DELETE FROM draft WHERE community = ?", &n.Previews},
			{"DELETE FROM room WHERE community = ?", &n.Rooms},
			{"DELETE FROM shop WHERE community = ?", new(int)},
			{"DELETE FROM show WHERE community = ?", new(int)},
			{"DELETE FROM headcount WHERE community = ?", new(int)},
		} {
			if *one.into, err = execute(ctx, tx, one.statement, id); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return Erased{}, err
	}
	if err := s.Vacuum(ctx); err != nil && !errors.Is(err, errInTheWay) {
		return n, err
	}
	return n, nil
}

// readMakers gives the makers of a community.
func readMakers(ctx context.Context, tx *transaction, id []byte) (list [][]byte, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT tag FROM contributor WHERE community = ?", id)
	if err != nil {
		return nil, err
	}
	err = each(rows, func() error {
		var tag []byte
		err := rows.Scan(&tag)
		list = append(list, tag)
		return err
	})
	return list, err
}
