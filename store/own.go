package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"tallystick/calc/pool"
)

// Own is all that is kept of one member of a community around the shared log.
type Own struct {
	// Consent is nil when there is none.
	Consent *Consent
	Sales   []SharedSale
	Drafts  []OwnDraft
	// Shop is true when the member said that they share a shop.
	Shop bool
}

// An OwnDraft is a preview that was not shared yet.
type OwnDraft struct {
	Code    string
	Expires time.Time
	Sale    Sale
}

// Own gives all that is kept of the member around the shared log, and nothing of
// anybody else's.
func (s *Store) Own(ctx context.Context, who Who) (Own, error) {
	var own Own
	err := s.read(ctx, "reading what is a member's own", func(tx *transaction) error {
		var c Consent
		var given pool.Day
		err := tx.QueryRowContext(ctx, "SELECT wording, given FROM consent WHERE member = ?", s.memberID(who)).Scan(&c.Wording, &given)
		switch {
		case err == nil:
			c.Given = given.Time()
			own.Consent = &c
		case !errors.Is(err, sql.ErrNoRows):
			return err
		}
		if own.Sales, err = readSales(ctx, tx, s.tag(who)); err != nil {
			return err
		}
		if own.Drafts, err = readDrafts(ctx, tx, s.memberID(who)); err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM shop WHERE tag = ?)", s.tag(who)).Scan(&own.Shop)
	})
	return own, err
}

func readDrafts(ctx context.Context, tx *transaction, member []byte) ([]OwnDraft, error) {
	rows, err := tx.QueryContext(ctx, "SELECT code, expires, "+saleColumns+" FROM draft WHERE "+draftOf+" ORDER BY expires, code", member)
	if err != nil {
		return nil, err
	}
	var list []OwnDraft
	err = each(rows, func() error {
		var one OwnDraft
		var expires int64
		one.Sale, err = scanSale(rows.Scan, &one.Code, &expires)
		one.Expires = time.Unix(expires, 0).UTC()
		list = append(list, one)
		return err
	})
	return list, err
}
