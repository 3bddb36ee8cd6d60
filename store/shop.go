package store

import (
	"context"
)

// JoinShop says that the member shares a shop with everybody in the community who
// says the same word: from the next release on they count as one maker. The word
// is not kept, only its hash.
func (s *Store) JoinShop(ctx context.Context, who Who, word string) error {
	return s.write(ctx, "joining shop", func(tx *transaction) error {
		if _, err := s.ensureCommunity(ctx, tx, who.Community); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO shop (tag, community, shop) VALUES (?, ?, ?)
			ON CONFLICT DO UPDATE SET shop = excluded.shop`, s.tag(who), s.communityID(who.Community), s.shopID(who.Community, word))
		return err
	})
}

// LeaveShop says that the member counts alone again; ErrNotFound when they do.
func (s *Store) LeaveShop(ctx context.Context, who Who) error {
	return s.write(ctx, "leaving shop", func(tx *transaction) error {
		n, err := execute(ctx, tx, "DELETE FROM shop WHERE tag = ?", s.tag(who))
		if err == nil && n == 0 {
			return ErrNotFound
		}
		return err
	})
}
