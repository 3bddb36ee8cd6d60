package store

import (
	"context"
	"database/sql"
	"iter"
	"strings"

	"tallystick/calc/pool"
)

// An intake hands the records of a community to a release, one by one, and notes
// on the way what the release does not look at.
type intake struct {
	// expired is the newest month whose records have left the window.
	expired pool.Month
	// makers and sales are how many there were.
	makers, sales int
	// leaving are the makers who have an expired record.
	leaving [][]byte
	err     error
}

// released are the figures that a release may speak of. Each is the name of its
// column.
var released = pool.Figures(pool.Everything)

func releasedColumns() string {
	names := make([]string, len(released))
	for i, f := range released {
		names[i] = "r." + f.String()
	}
	return strings.Join(names, ", ")
}

// records gives the records in the order in which they lie, which is that of their
// makers, and with each the first day of its maker. What goes wrong is in err.
func (in *intake) records(ctx context.Context, tx *transaction, id []byte) iter.Seq2[pool.Record, pool.Day] {
	return func(yield func(pool.Record, pool.Day) bool) {
		shops, err := readShops(ctx, tx, id)
		if err != nil {
			in.err = err
			return
		}
		rows, err := tx.QueryContext(ctx, "SELECT c.tag, c.since, r.id, r.category, r.region, r.sold, "+releasedColumns()+
			" FROM contributor c CROSS JOIN record r ON r.tag = c.tag WHERE c.community = ? ORDER BY c.tag", id)
		if err != nil {
			in.err = err
			return
		}
		defer rows.Close()
		var tag sql.RawBytes
		var r pool.Record
		// Whole numbers are taken as the driver gives them: any other target costs
		// more than the reading.
		var numbers [3]any
		values := make([]any, len(released))
		into := []any{&tag, &numbers[0], &numbers[1], &r.Category, &r.Region, &numbers[2]}
		for i := range values {
			into = append(into, &values[i])
		}
		for rows.Next() {
			if in.err = rows.Scan(into...); in.err != nil {
				return
			}
			if string(tag) != r.Maker {
				r.Maker = string(tag)
				r.Shop = shops[r.Maker]
				in.makers++
			}
			in.sales++
			joined, _ := numbers[0].(int64)
			r.ID, _ = numbers[1].(int64)
			sold, _ := numbers[2].(int64)
			r.Sold = pool.Month(sold)
			if n := len(in.leaving); r.Sold <= in.expired && (n == 0 || string(in.leaving[n-1]) != r.Maker) {
				in.leaving = append(in.leaving, []byte(r.Maker))
			}
			r.Values = pool.Values{}
			for i, f := range released {
				if v, has := values[i].(int64); has {
					r.Values = r.Values.With(f, pool.Micros(v))
				}
			}
			if !yield(r, pool.Day(joined)) {
				break
			}
		}
		in.err = rows.Err()
	}
}

// readShops gives the shop of each maker who has one.
func readShops(ctx context.Context, tx *transaction, id []byte) (map[string]string, error) {
	rows, err := tx.QueryContext(ctx, "SELECT tag, shop FROM shop WHERE community = ?", id)
	if err != nil {
		return nil, err
	}
	shops := make(map[string]string)
	err = each(rows, func() error {
		var tag, shop sql.RawBytes
		err := rows.Scan(&tag, &shop)
		shops[string(tag)] = string(shop)
		return err
	})
	return shops, err
}
