package store_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

var (
	ann  = store.Who{Community: "guild", Member: "ann"}
	bert = store.Who{Community: "guild", Member: "bert"}
	noon = time.Date(2026, time.March, 5, 12, 0, 0, 0, time.UTC)
)

func config(folder string) store.Config {
	return store.Config{
		Path:     filepath.Join(folder, "data", "tallystick.db"),
		KeysPath: filepath.Join(folder, "secrets", "tallystick.keys"),
		Defaults: store.Community{Currency: "CAD", Categories: []string{"bench", "box"}, Regions: []string{"coast"}},
	}
}

// open opens a store that is closed with the test.
func open(t *testing.T, c store.Config) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func fresh(t *testing.T) *store.Store {
	t.Helper()
	return open(t, config(t.TempDir()))
}

// bench is a sale with every field.
func bench(dollars int) store.Sale {
	return store.Sale{
		Category: "bench", SpeciesGroup: "oak", Region: "coast", Sold: pool.MonthOf(2025, time.October),
		Values: pool.Values{}.
			With(pool.PricePerBoardFoot, 14_200_000).
			With(pool.PricePerSquareFoot, 31_500_000).
			With(pool.Price, pool.Whole(dollars)).
			With(pool.RealisedHourly, -3_250_000).
			With(pool.SoldToAsked, 925_000).
			With(pool.DaysToSell, pool.Whole(19)),
	}
}

// share drafts and shares a sale in one delivery.
func share(t *testing.T, s *store.Store, who store.Who, delivery string, sale store.Sale) store.Shared {
	t.Helper()
	code, err := s.SaveDraft(t.Context(), who, sale, noon)
	require.NoError(t, err)
	shared, err := s.ShareDraft(t.Context(), who, delivery, code, 1, noon)
	require.NoError(t, err)
	return shared
}

// numbers gives the numbers of a member's sales.
func numbers(t *testing.T, s *store.Store, who store.Who) []int {
	t.Helper()
	sales, err := s.Sales(t.Context(), who)
	require.NoError(t, err)
	list := []int{}
	for _, one := range sales {
		list = append(list, one.Number)
	}
	return list
}

// seeds gives the invented sales of an invented community.
func seeds(makers, each int) []store.SeedSale {
	var list []store.SeedSale
	for m := range makers {
		for n := range each {
			sale := bench(40 + 13*((7*m+3*n)%40))
			sale.Category = []string{"bench", "box", "shelf"}[(m/3+n)%3]
			sale.Region = []string{"coast", "hills", ""}[m%3]
			sale.Sold = pool.MonthOf(2026, time.February) - pool.Month((m+5*n)%20)
			list = append(list, store.SeedSale{Maker: fmt.Sprint("maker ", m), Since: pool.DayOf(2024, time.January, 1), Sale: sale})
		}
	}
	return list
}

// practice makes a practice community with seeds.
func practice(t *testing.T, s *store.Store, community string, sales []store.SeedSale) {
	t.Helper()
	require.NoError(t, s.SetCommunity(t.Context(), community, store.Community{
		Currency: "CAD", Categories: []string{"bench", "box", "shelf"}, Practice: true,
	}))
	require.NoError(t, s.Seed(t.Context(), community, sales))
}

func published(ctx context.Context, t *testing.T, s *store.Store, community string) map[pool.Cut]pool.Line {
	t.Helper()
	lines, err := s.Published(ctx, community)
	require.NoError(t, err)
	cuts := make(map[pool.Cut]pool.Line)
	for _, l := range lines {
		cuts[l.Cut] = l
	}
	require.Len(t, cuts, len(lines), "one line a cut")
	return cuts
}
