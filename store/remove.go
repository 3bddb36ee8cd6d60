package store

import (
	"context"
	"time"
)

// A goneSale is what is still to be known of a sale that was deleted. It has no receipt
// where it is of before migration 7, which left receipts and a number of its own, or
// invented.
type goneSale struct {
	tag               []byte
	number            int
	codeHash, receipt []byte
}

// removeSales deletes those sales of one maker that are so. A draft whose sale is gone is
// still known as shared, and by what delivery.
func (s *Store) removeSales(ctx context.Context, tx *transaction, now time.Time, which string, args ...any) ([]goneSale, error) {
	gone, err := s.deleteSales(ctx, tx, which, args...)
	for _, one := range gone {
		if err != nil {
			return nil, err
		}
		if len(one.receipt) > 0 {
			err = leaveBy(ctx, tx, s.goneReceipt(one.codeHash), one.number, one.receipt, now)
		}
	}
	return gone, err
}

// deleteSales deletes those sales of one maker that are so, and sees to it that their
// numbers are not given again.
func (s *Store) deleteSales(ctx context.Context, tx *transaction, which string, args ...any) (gone []goneSale, err error) {
	rows, err := tx.QueryContext(ctx, "DELETE FROM record WHERE "+which+" RETURNING tag, number, code_hash, receipt", args...)
	if err != nil {
		return nil, err
	}
	newest := 0
	err = each(rows, func() error {
		var one goneSale
		err := rows.Scan(&one.tag, &one.number, &one.codeHash, &one.receipt)
		s.makers.drop(one.tag)
		if gone = append(gone, one); len(one.receipt) > 0 {
			newest = max(newest, one.number)
		}
		return err
	})
	if err != nil || newest == 0 {
		return gone, err
	}
	// While the maker has a newer one, that says as much.
	_, err = execute(ctx, tx, `INSERT INTO numbering (sharer, next) SELECT ?1, ?2 + 1
		WHERE NOT EXISTS (SELECT 1 FROM record WHERE tag = ?3 AND number > ?2)
		ON CONFLICT DO UPDATE SET next = max(next, excluded.next)`, s.floorID(gone[0].tag), newest, gone[0].tag)
	return gone, err
}
