package main

import (
	"context"
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tallystick/calc/pool"
	"tallystick/store"
)

// practiceLog is an invented log of sold pieces, so that every command has
// something to show before anybody has shared a sale.
//
//go:embed practice.csv
var practiceLog string

// practiceStale is how many days old the newest figures of the practice community
// may grow before its log is filled anew: longer than a figure is kept before it
// may be renewed.
const practiceStale = 370

func practiceCommunity() store.Community {
	return store.Community{
		Currency:   "USD",
		Categories: []string{"bench", "bookcase", "keepsake-box", "planter", "side-table", "stool", "other"},
		Regions:    []string{"harbour", "river-towns", "uplands"},
		Practice:   true,
	}
}

// fillPractice puts the invented log into the practice community as if it had
// grown there until now, and publishes its figures. A member's own practice sales
// stay.
func fillPractice(ctx context.Context, s *store.Store, now time.Time) error {
	today := pool.DayOf(now.UTC().Year(), now.UTC().Month(), now.UTC().Day())
	lines, err := s.Published(ctx, practice)
	if err != nil {
		return fmt.Errorf("reading the practice figures: %w", err)
	}
	for _, l := range lines {
		if l.Shown && today-l.AsOf < practiceStale {
			return nil
		}
	}
	sales, err := practiceSales(practiceLog, pool.MonthOf(now.UTC().Year(), now.UTC().Month()))
	if err != nil {
		return err
	}
	if _, err := s.Community(ctx, practice); err != nil { // made at first use
		return fmt.Errorf("opening the practice community: %w", err)
	}
	if err := s.Seed(ctx, practice, sales); err != nil {
		return fmt.Errorf("filling the practice community: %w", err)
	}
	if err := s.RunRelease(ctx, practice, today, pool.StandardRules()); err != nil {
		return fmt.Errorf("publishing the practice figures: %w", err)
	}
	return nil
}

// practiceSales reads the invented log, counting its months back from this one.
func practiceSales(text string, current pool.Month) ([]store.SeedSale, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("reading the practice log: %w", err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	var sales []store.SeedSale
	for n, row := range rows[1:] {
		ago, err := strconv.Atoi(row[column["sold_months_ago"]])
		if err != nil {
			return nil, fmt.Errorf("practice log, row %d: %w", n+1, err)
		}
		sale := store.Sale{
			Category: row[column["category"]], Region: row[column["region"]], SpeciesGroup: row[column["species_group"]],
			Sold: current - pool.Month(ago),
		}
		for name, f := range map[string]pool.Figure{
			"price": pool.Price, "per_board_foot": pool.PricePerBoardFoot, "per_square_foot": pool.PricePerSquareFoot,
			"realised_hourly": pool.RealisedHourly, "sold_to_asked": pool.SoldToAsked, "days_to_sell": pool.DaysToSell,
		} {
			cell := row[column[name]]
			if cell == "" {
				continue
			}
			d, err := decimal.NewFromString(cell)
			if err != nil {
				return nil, fmt.Errorf("practice log, row %d, %s: %w", n+1, name, err)
			}
			sale.Values = sale.Values.With(f, pool.Micros(d.Shift(6).IntPart()))
		}
		sales = append(sales, store.SeedSale{Maker: row[column["maker"]], Since: (current - 30).First(), Sale: sale})
	}
	return sales, nil
}
