package store

import (
	"context"
	"database/sql"
	"strings"

	"tallystick/calc/pool"
)

// A Sale is what leaves for the shared log, and all that does.
type Sale struct {
	// Category is needed; SpeciesGroup and Region may be empty.
	Category, SpeciesGroup, Region string
	// Sold is the month of the sale.
	Sold pool.Month
	// Values has the Price, in the community's currency, and of the other
	// figures those the sale has. They are kept to three significant figures.
	Values pool.Values
}

// A SharedSale is one of a member's own shared sales.
type SharedSale struct {
	// Number counts the member's sales. It stays with the sale, and is not given
	// again when the sale is withdrawn.
	Number int
	Sale   Sale
}

// saleFigures are the figures in the order of saleColumns.
var saleFigures = [...]pool.Figure{
	pool.PricePerBoardFoot, pool.PricePerSquareFoot, pool.Price,
	pool.RealisedHourly, pool.SoldToAsked, pool.DaysToSell,
}

const saleColumns = "category, species_group, region, sold, " +
	"price_per_board_foot, price_per_square_foot, price, realised_hourly, sold_to_asked, days_to_sell"

// saleMarks stand for the values of saleColumns.
var saleMarks = strings.Repeat("?, ", 4+len(saleFigures)-1) + "?"

// Rounded gives the sale with its values as they will be kept: what a preview
// has to show.
func (s Sale) Rounded() Sale {
	for _, f := range saleFigures {
		if v, ok := s.Values.Of(f); ok {
			s.Values = s.Values.With(f, pool.ThreeFigures(v))
		}
	}
	return s
}

// columns gives the rounded sale in the order of saleColumns.
func (s Sale) columns() []any {
	s = s.Rounded()
	list := []any{s.Category, s.SpeciesGroup, s.Region, int(s.Sold)}
	for _, f := range saleFigures {
		v, ok := s.Values.Of(f)
		list = append(list, sql.NullInt64{Int64: int64(v), Valid: ok})
	}
	return list
}

// scanSale reads saleColumns, and before them the columns given.
func scanSale(scan func(...any) error, before ...any) (Sale, error) {
	var s Sale
	var values [len(saleFigures)]sql.NullInt64
	into := append(before, &s.Category, &s.SpeciesGroup, &s.Region, &s.Sold)
	for i := range values {
		into = append(into, &values[i])
	}
	if err := scan(into...); err != nil {
		return Sale{}, err
	}
	for i, f := range saleFigures {
		if values[i].Valid {
			s.Values = s.Values.With(f, pool.Micros(values[i].Int64))
		}
	}
	return s, nil
}

// Sales gives the member's own shared sales in order of number.
func (s *Store) Sales(ctx context.Context, who Who) ([]SharedSale, error) {
	var list []SharedSale
	err := s.read(ctx, "reading own sales", func(tx *transaction) (err error) {
		list, err = readSales(ctx, tx, s.tag(who))
		return err
	})
	return list, err
}

func readSales(ctx context.Context, tx *transaction, tag []byte) ([]SharedSale, error) {
	rows, err := tx.QueryContext(ctx, "SELECT number, "+saleColumns+" FROM record WHERE tag = ? ORDER BY number", tag)
	if err != nil {
		return nil, err
	}
	var list []SharedSale
	err = each(rows, func() error {
		var one SharedSale
		one.Sale, err = scanSale(rows.Scan, &one.Number)
		list = append(list, one)
		return err
	})
	return list, err
}

// Similar says whether the member has already shared a sale that is the same in
// everything that is kept: perhaps the same one.
func (s *Store) Similar(ctx context.Context, who Who, sale Sale) (bool, error) {
	sales, err := s.Sales(ctx, who)
	if err != nil {
		return false, err
	}
	sale = sale.Rounded()
	for _, one := range sales {
		if one.Sale == sale {
			return true, nil
		}
	}
	return false, nil
}
