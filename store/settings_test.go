package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/store"
)

var settingsTime = time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)

// openSettings opens a real database in a folder of the test's own.
func openSettings(t *testing.T, folder string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), store.Config{
		Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")})
	require.NoError(t, err)
	return s
}

// everySetting has each field filled, with the largest amounts that are kept.
func everySetting() store.Settings {
	tax, haggle, included := int64(13_000_000_000), int64(99_999_999_999), true
	return store.Settings{
		Currency: "KWD", Units: "metric", Tape: 32,
		Rate: &store.Amount{Minor: 2500, Currency: "USD"}, LowestRate: &store.Amount{Minor: 0, Currency: "USD"},
		Overhead: &store.Amount{Minor: 10_000_000_000_000, Currency: "JPY"}, Step: &store.Amount{Minor: 1, Currency: "KWD"},
		Tax: &tax, Haggle: &haggle, TaxIncluded: &included,
		Delivery: &store.Delivery{Micros: 725_000, Currency: "USD", Per: "mile"},
		Venues: []store.Venue{
			{Name: "fair"},
			{Name: "gallery", Share: 45_000_000_000},
			{Name: "online", Fee: 6_500_000_000, FeeOnTax: true, Fixed: &store.Amount{Minor: 45, Currency: "USD"}},
		},
	}
}

func TestSettingsComeBackAsTheyWereSetAlsoAfterARestart(t *testing.T) {
	t.Parallel()
	ctx, folder, ann := context.Background(), t.TempDir(), store.Who{Community: "workshop", Member: "ann"}
	s := openSettings(t, folder)
	none, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Equal(t, store.Settings{}, none, "nothing is set to begin with")
	want := everySetting()
	require.NoError(t, s.ChangeSettings(ctx, ann, "one", settingsTime, func(got *store.Settings) error { *got = want; return nil }))
	require.NoError(t, s.Close())

	s = openSettings(t, folder)
	defer func() { require.NoError(t, s.Close()) }()
	got, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	for _, other := range []store.Who{{Community: "workshop", Member: "ben"}, {Community: "elsewhere", Member: "ann"}} {
		got, err := s.Settings(ctx, other)
		require.NoError(t, err)
		assert.Equal(t, store.Settings{}, got, "they are %s's alone", ann.Member)
	}
}

func TestAChangeSeesWhatIsSetAndLeavesTheRest(t *testing.T) {
	t.Parallel()
	ctx, ann := context.Background(), store.Who{Community: "workshop", Member: "ann"}
	s := openSettings(t, t.TempDir())
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.ChangeSettings(ctx, ann, "one", settingsTime, func(got *store.Settings) error { *got = everySetting(); return nil }))
	require.NoError(t, s.ChangeSettings(ctx, ann, "two", settingsTime, func(got *store.Settings) error {
		got.Tax, got.Rate.Minor, got.Venues = nil, 3000, got.Venues[:1]
		return nil
	}))
	want := everySetting()
	want.Tax, want.Rate.Minor, want.Venues = nil, 3000, want.Venues[:1]
	got, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

func TestTheSameDeliveryChangesSettingsOnce(t *testing.T) {
	t.Parallel()
	ctx, ann := context.Background(), store.Who{Community: "workshop", Member: "ann"}
	s := openSettings(t, t.TempDir())
	defer func() { require.NoError(t, s.Close()) }()
	set := func(delivery, units string) {
		require.NoError(t, s.ChangeSettings(ctx, ann, delivery, settingsTime, func(got *store.Settings) error { got.Units = units; return nil }))
	}
	set("one", "metric")
	set("two", "imperial")
	set("one", "metric") // it comes again, late
	got, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Equal(t, "imperial", got.Units)
}

func TestAChangeThatFailsKeepsNothing(t *testing.T) {
	t.Parallel()
	ctx, ann := context.Background(), store.Who{Community: "workshop", Member: "ann"}
	s := openSettings(t, t.TempDir())
	defer func() { require.NoError(t, s.Close()) }()
	refused := errors.New("refused")
	err := s.ChangeSettings(ctx, ann, "one", settingsTime, func(got *store.Settings) error { got.Units = "metric"; return refused })
	require.ErrorIs(t, err, refused)
	err = s.ChangeSettings(ctx, ann, "two", settingsTime, func(got *store.Settings) error {
		for i := range store.VenueLimit + 1 {
			got.Venues = append(got.Venues, store.Venue{Name: fmt.Sprintf("stall-%d", i)})
		}
		return nil
	})
	require.ErrorIs(t, err, store.ErrConflict)
	got, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Equal(t, store.Settings{}, got)
}

func TestDroppedSettingsAreGoneAndOthersStay(t *testing.T) {
	t.Parallel()
	ctx, folder := context.Background(), t.TempDir()
	ann, ben := store.Who{Community: "workshop", Member: "ann"}, store.Who{Community: "workshop", Member: "ben"}
	s := openSettings(t, folder)
	for _, who := range []store.Who{ann, ben} {
		require.NoError(t, s.ChangeSettings(ctx, who, "one", settingsTime, func(got *store.Settings) error { *got = everySetting(); return nil }))
	}
	there, err := s.DropSettings(ctx, ann)
	require.NoError(t, err)
	assert.True(t, there)
	there, err = s.DropSettings(ctx, ann)
	require.NoError(t, err)
	assert.False(t, there, "nothing is left to drop")
	got, err := s.Settings(ctx, ben)
	require.NoError(t, err)
	assert.Equal(t, everySetting(), got)
	require.NoError(t, s.Close())

	db, err := sql.Open("sqlite", filepath.Join(folder, "a.db"))
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	for table, want := range map[string]int{"setting": 1, "setting_amount": 4, "venue": 3} {
		var rows int
		require.NoError(t, db.QueryRow("SELECT count(*) FROM "+table).Scan(&rows))
		assert.Equal(t, want, rows, "rows of %s are ben's alone", table)
	}
}

func TestTwoChangesAtOnceAreBothKept(t *testing.T) {
	t.Parallel()
	ctx, ann := context.Background(), store.Who{Community: "workshop", Member: "ann"}
	s := openSettings(t, t.TempDir())
	defer func() { require.NoError(t, s.Close()) }()
	var both sync.WaitGroup
	for i := range store.VenueLimit {
		both.Go(func() {
			assert.NoError(t, s.ChangeSettings(ctx, ann, fmt.Sprint(i), settingsTime, func(got *store.Settings) error {
				got.Venues = append(got.Venues, store.Venue{Name: fmt.Sprintf("stall-%02d", i)})
				return nil
			}))
		})
	}
	both.Wait()
	got, err := s.Settings(ctx, ann)
	require.NoError(t, err)
	assert.Len(t, got.Venues, store.VenueLimit)
}
