package store

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

// An oldEntry is a row of the ledger as it was kept before a ledger was one row.
type oldEntry struct {
	cut, series    string
	maker, records []byte
}

func TestADatabaseWithALedgerRowAMakerGoesOnAsItWas(t *testing.T) {
	t.Parallel()
	ctx, folder := context.Background(), t.TempDir()
	c := Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")}
	k, err := createKeys(c.KeysPath)
	require.NoError(t, err)
	db, err := connect(ctx, c.Path, 1, false)
	require.NoError(t, err)
	files, err := fs.Sub(migrationFiles, "migrations")
	require.NoError(t, err)
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = provider.UpTo(ctx, 5)
	require.NoError(t, err)

	old := Store{keys: k}
	id := old.communityID(ann.Community)
	insert := func(statement string, args ...any) {
		_, err := db.ExecContext(ctx, statement, args...)
		require.NoError(t, err, statement)
	}
	insert("INSERT INTO community (community, currency, practice) VALUES (?, 'EUR', 0)", id)
	want := make(map[string][]SharedSale)
	var entries []oldEntry
	for i := range 40 {
		who := Who{ann.Community, fmt.Sprint("member ", i)}
		tag := old.tag(who)
		insert("INSERT INTO contributor (tag, community, since, seeded) VALUES (?, ?, 20000, 0)", tag, id)
		for n := range 1 + i%3 {
			sale := stool(100 + 10*i + n)
			sale.Region, sale.SpeciesGroup = []string{"", "coast"}[n%2], "oak"
			insert("INSERT INTO record (id, tag, number, code_hash, "+saleColumns+") VALUES (?, ?, ?, ?, "+saleMarks+")",
				append([]any{1 + (i*7919+n*104_729)%1_000_003, tag, n + 1, old.codeHash(ann.Community, fmt.Sprint(i, " ", n))}, sale.columns()...)...)
			want[who.Member] = append(want[who.Member], SharedSale{n + 1, sale.Rounded()})
		}
		mark := bytes.Repeat([]byte{byte(i)}, 32)
		entries = append(entries, oldEntry{"all", "whole", tag, mark})
		if i%2 == 0 {
			entries = append(entries, oldEntry{"category:stool", "price", tag, mark})
		}
	}
	for _, show := range [][3]string{{"all", "whole", ""}, {"all", "price", "whole"}, {"category:stool", "price", ""}} {
		insert("INSERT INTO show (community, cut, series, like_series, as_of, makers, low, high) VALUES (?, ?, ?, ?, 20000, 25, 5, 5)",
			id, show[0], show[1], show[2])
	}
	for _, e := range entries {
		insert("INSERT INTO ledger (community, cut, series, maker, records) VALUES (?, ?, ?, ?, ?)", id, e.cut, e.series, e.maker, e.records)
	}
	require.NoError(t, db.Close())

	s, err := Open(ctx, c)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for member, sales := range want {
		got, err := s.Sales(ctx, Who{ann.Community, member})
		require.NoError(t, err)
		assert.Equal(t, sales, got, member)
	}
	shown := func(cut, series string) []pool.Entry {
		var list []pool.Entry
		for _, e := range entries {
			if e.cut == cut && e.series == series {
				list = append(list, pool.Entry{Maker: string(e.maker), Records: [32]byte(e.records)})
			}
		}
		slices.SortFunc(list, func(a, b pool.Entry) int { return strings.Compare(a.Maker, b.Maker) })
		return list
	}
	states := readStates(t, s)
	require.Len(t, states, 2)
	for _, show := range states[0].Shows {
		assert.Equal(t, shown("all", "whole"), show.Ledger, "%s", show.Series)
	}
	assert.Equal(t, shown("category:stool", "price"), states[1].Shows[0].Ledger)

	// What is kept is still found: by code, by number, and in the ledgers.
	require.NoError(t, s.WithdrawByCode(ctx, ann.Community, "1", "0 0", march))
	_, err = s.WithdrawAll(ctx, Who{ann.Community, "member 4"}, "2", march)
	require.NoError(t, err)
	for _, state := range readStates(t, s) {
		for _, show := range state.Shows {
			for _, gone := range []string{"member 0", "member 4"} {
				tag := string(s.tag(Who{ann.Community, gone}))
				assert.False(t, slices.ContainsFunc(show.Ledger, func(e pool.Entry) bool { return e.Maker == tag }), gone)
			}
		}
	}
	require.NoError(t, s.RunRelease(ctx, ann.Community, pool.DayAt(march), pool.StandardRules()))
	_, err = s.writer.ExecContext(ctx, "INSERT INTO record (id, tag, number, code_hash, "+saleColumns+") SELECT id + 1, tag, number + 10, code_hash, "+saleColumns+" FROM record LIMIT 1")
	assert.ErrorContains(t, err, "UNIQUE", "a code is of one sale")
}

// What a release shows comes back as it was written, whatever is renewed, kept, or
// has the ledger of another series.
func TestWhatIsShownComesBackAsItWasWritten(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	require.NoError(t, s.SetCommunity(t.Context(), ann.Community, Community{Currency: "USD"}))
	id := s.communityID(ann.Community)
	ledgerOf := func(kind, makers int) []pool.Entry {
		var list []pool.Entry
		for i := range makers {
			list = append(list, pool.Entry{Maker: fmt.Sprintf("%032d", i), Records: [32]byte{byte(kind), byte(i)}})
		}
		return list
	}
	show := func(series pool.Series, day pool.Day, kind int) pool.Show {
		return pool.Show{Series: series, AsOf: day, Makers: pool.Makers8, Low: pool.Micros(day), High: pool.Micros(day) + 1, Ledger: ledgerOf(kind, 9+kind)}
	}
	for i, shows := range [][]pool.Show{
		{show("price", 1, 1), show("whole", 1, 1)},                                                          // one ledger for both
		{show("days_to_sell", 2, 2), show("price", 1, 1), show("whole", 2, 2)},                              // price is kept, the others renewed
		{show("days_to_sell", 3, 3), show("price", 3, 3), show("whole", 3, 3)},                              // all alike again
		{show("days_to_sell", 3, 3), show("price", 4, 4), show("whole", 4, 4)},                              // price becomes the first of its own
		{show("days_to_sell", 3, 3), show("price", 4, 4), show("whole", 4, 4)},                              // nothing is renewed
		{show("days_to_sell", 5, 4), show("price", 4, 4), show("sold_to_asked", 5, 0), show("whole", 5, 5)}, // like an older one
	} {
		states := []pool.State{{Line: pool.Line{Cut: pool.Everything}, Shows: shows}, {Line: pool.Line{Cut: "region:coast"}, Shows: shows[:1]}}
		require.NoError(t, s.write(t.Context(), "test", func(tx *transaction) error { return writeShows(t.Context(), tx, id, states) }))
		assert.Equal(t, states, readStates(t, s), "step %d", i+1)
		var spare int
		require.NoError(t, s.reader.QueryRowContext(t.Context(),
			"SELECT count(*) FROM ledger JOIN show USING (community, cut, series) WHERE like_series <> ''").Scan(&spare))
		assert.Zero(t, spare, "no ledger is kept twice")
	}
}
