package store

import (
	"context"
	"slices"

	"tallystick/calc/price"
)

// A Clock is a clock that runs, with the piece that it runs for.
type Clock struct {
	price.Clock
	Piece Piece
}

// Clocks lists the member's running clocks: their own first, then the helpers' by
// name.
func (b *Book) Clocks(ctx context.Context) ([]Clock, error) {
	if b.tally == nil {
		return b.readClocks(ctx)
	}
	if !b.tally.clocksKnown {
		list, err := b.readClocks(ctx)
		if err != nil {
			return nil, err
		}
		b.tally.clocks, b.tally.clocksKnown = list, true
	}
	return slices.Clone(b.tally.clocks), nil
}

func (b *Book) readClocks(ctx context.Context) ([]Clock, error) {
	rows, err := b.tx.QueryContext(ctx, `SELECT p.number, p.name, p.category, p.status, c.number
		FROM clock c JOIN piece p ON p.owner = c.owner AND p.number = c.piece WHERE c.owner = ? ORDER BY c.person`, b.owner)
	if err != nil {
		return nil, err
	}
	var list []Clock
	err = each(rows, func() error {
		var c Clock
		err := rows.Scan(&c.Piece.Number, &c.Piece.Name, &c.Piece.Category, &c.Piece.Status, &c.Entry)
		list = append(list, c)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i := range list {
		e, err := b.Entry(ctx, list[i].Entry)
		if err != nil {
			return nil, err
		}
		list[i].Person, list[i].Stage = e.Facts[price.FactPerson], e.Facts[price.FactStage]
		list[i].Began, list[i].Pay = e.Facts.Number(price.FactBegan), e.Facts.Number(price.FactPay)
	}
	return list, nil
}
