package store

import (
	"bytes"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	sqlite3 "modernc.org/sqlite/lib"

	"tallystick/calc/pool"
)

// The tests here look at what no caller may see.

var (
	march = time.Date(2026, time.March, 5, 12, 0, 0, 0, time.UTC)
	ann   = Who{Community: "guild-987654321098765432", Member: "ann-account-123456789012345678"}
)

func inside(t *testing.T) (*Store, string) {
	t.Helper()
	folder := t.TempDir()
	path := filepath.Join(folder, "tallystick.db")
	s, err := Open(t.Context(), Config{Path: path, KeysPath: filepath.Join(folder, "tallystick.keys")})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s, path
}

func stool(dollars int) Sale {
	return Sale{Category: "stool", Sold: pool.MonthOf(2025, time.September), Values: pool.Values{}.
		With(pool.Price, pool.Whole(dollars)).With(pool.PricePerBoardFoot, pool.Whole(dollars)/10)}
}

func shareNow(t *testing.T, s *Store, who Who, delivery string, sale Sale) Shared {
	t.Helper()
	code, err := s.SaveDraft(t.Context(), who, sale, march)
	require.NoError(t, err)
	shared, err := s.ShareDraft(t.Context(), who, delivery, code, 1, march)
	require.NoError(t, err)
	return shared
}

// raw gives all bytes on the disk.
func raw(t *testing.T, path string) []byte {
	t.Helper()
	var all []byte
	for _, beside := range []string{"", "-wal", "-shm"} {
		content, err := os.ReadFile(path + beside)
		require.NoError(t, err)
		all = append(all, content...)
	}
	return all
}

func TestNoIDIsOnTheDisk(t *testing.T) {
	t.Parallel()
	s, path := inside(t)
	shared := shareNow(t, s, ann, "delivery-777777777777777777", stool(100))
	require.NoError(t, s.SetCommunity(t.Context(), ann.Community, Community{Currency: "USD", Categories: []string{"stool"}}))
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, pool.DayAt(march), pool.StandardRules()))
	content := raw(t, path)
	for _, id := range []string{
		ann.Member, ann.Community, "123456789012345678", "987654321098765432", "delivery-777777777777777777",
		shared.Withdrawal, plainCode(shared.Withdrawal),
	} {
		assert.False(t, bytes.Contains(content, []byte(id)), "%s", id)
	}
	assert.True(t, bytes.Contains(content, s.tag(ann)), "the tag is there, so the search finds what is")
	assert.True(t, bytes.Contains(content, []byte("stool")))
	for p, key := range s.keys {
		assert.False(t, bytes.Contains(content, key[:]), "key of %s", purposeNames[p])
	}
}

func TestAWithdrawnSaleLeavesNoTrace(t *testing.T) {
	t.Parallel()
	s, path := inside(t)
	var others []Who
	for i := range 30 {
		who := Who{Community: ann.Community, Member: fmt.Sprint("member ", i)}
		sale := stool(100 + i)
		sale.Category = fmt.Sprint("stool ", i) // only everything has enough makers
		shareNow(t, s, who, "1", sale)
		others = append(others, who)
	}
	sale := stool(123)
	sale.SpeciesGroup = "zebrawood"
	shared := shareNow(t, s, ann, "1", sale)
	may, june := pool.DayOf(2026, time.May, 1), pool.DayOf(2027, time.June, 1)
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, may, pool.StandardRules()))
	lines, err := s.Published(t.Context(), ann.Community)
	require.NoError(t, err)
	require.True(t, lines[0].Shown)

	require.NoError(t, s.Withdraw(t.Context(), ann, "2", shared.Number, march))
	traces := map[string][]byte{
		"the tag":           s.tag(ann),
		"the code's hash":   s.codeHash(ann.Community, shared.Withdrawal),
		"the species group": []byte("zebrawood"),
	}
	for what, trace := range traces {
		assert.False(t, bytes.Contains(raw(t, path), trace), "%s, as soon as it is withdrawn", what)
	}
	require.NoError(t, s.Vacuum(t.Context()))
	for what, trace := range traces {
		assert.False(t, bytes.Contains(raw(t, path), trace), "%s, after rebuilding", what)
	}

	// A maker who is gone still counts as changed; with four others that is five.
	for _, who := range others[:4] {
		_, err := s.WithdrawAll(t.Context(), who, "2", march)
		require.NoError(t, err)
		assert.False(t, bytes.Contains(raw(t, path), s.tag(who)))
		assert.False(t, bytes.Contains(raw(t, path), s.memberID(who)))
		assert.False(t, bytes.Contains(raw(t, path), s.floorID(s.tag(who))))
	}
	before := readStates(t, s)
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, june, pool.StandardRules()))
	gone := 0
	for _, who := range append(others[:4:4], ann) {
		if s.subsample(string(pool.Everything), string(s.tag(who))) < pool.StandardRules().Share {
			gone++
		}
	}
	lines, err = s.Published(t.Context(), ann.Community)
	require.NoError(t, err)
	want := before[0].Shows[len(before[0].Shows)-1].AsOf
	if gone >= pool.StandardRules().Changed {
		want = june
	}
	assert.Equal(t, want, lines[0].AsOf, "%d of the gone were in the figure", gone)
}

func TestAForgottenMemberLeavesNoTrace(t *testing.T) {
	t.Parallel()
	s, path := inside(t)
	ben := Who{Community: ann.Community, Member: "ben-account-234567890123456789"}
	for _, who := range []Who{ann, ben} {
		require.NoError(t, s.OptIn(t.Context(), who, 2, march))
		require.NoError(t, s.JoinShop(t.Context(), who, "the word of the "+who.Member))
		sale := stool(123)
		sale.SpeciesGroup = "zebrawood of " + who.Member[:3]
		shareNow(t, s, who, "1", sale)
		gone := shareNow(t, s, who, "gone", stool(100))
		require.NoError(t, s.Withdraw(t.Context(), who, "withdraw", gone.Number, march))
		sale.Region = "draft of " + who.Member[:3]
		_, err := s.SaveDraft(t.Context(), who, sale, march)
		require.NoError(t, err)
	}
	_, err := s.WithdrawAll(t.Context(), ann, "2", march)
	require.NoError(t, err)
	require.NoError(t, s.Vacuum(t.Context()))
	content := raw(t, path)
	traces := func(who Who) map[string][]byte {
		return map[string][]byte{
			"consent": s.memberID(who), "tag": s.tag(who), "numbers": s.floorID(s.tag(who)),
			"shop": s.shopID(who.Community, "the word of the "+who.Member),
			"sale": []byte("zebrawood of " + who.Member[:3]), "draft": []byte("draft of " + who.Member[:3]),
		}
	}
	for what, trace := range traces(ann) {
		assert.False(t, bytes.Contains(content, trace), "ann's %s", what)
	}
	for what, trace := range traces(ben) {
		assert.True(t, bytes.Contains(content, trace), "ben's %s is found, so the search finds what is", what)
	}
	assert.False(t, bytes.Contains(content, []byte("the word of the")), "the word itself is never kept")
}

func readStates(t *testing.T, s *Store) []pool.State {
	t.Helper()
	var states []pool.State
	require.NoError(t, s.read(t.Context(), "test", func(tx *transaction) (err error) {
		states, err = readShows(t.Context(), tx, s.communityID(ann.Community))
		return err
	}))
	return states
}

func TestConsentAndRecordsShareNoKey(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	ids := map[string]string{}
	for what, id := range map[string][]byte{
		"community": s.communityID(ann.Community), "member": s.memberID(ann), "tag": s.tag(ann),
		"sharer": s.sharerID(ann), "floor": s.floorID(s.tag(ann)), "seed": s.seedTag(ann.Community, ann.Member),
	} {
		assert.Len(t, id, 32)
		assert.NotContains(t, ids, string(id), what)
		ids[string(id)] = what
	}
	// Length prefixes keep ("ab", "c") and ("a", "bc") apart.
	assert.NotEqual(t, s.tag(Who{"ab", "c"}), s.tag(Who{"a", "bc"}))
}

func TestThePooledTablesHoldNoTimeOfSharing(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	var since int
	require.NoError(t, s.writer.QueryRowContext(t.Context(), "SELECT since FROM contributor").Scan(&since))
	wait := pool.StandardRules().NewAccount
	year, month, day := pool.Day(since + wait).Date()
	assert.Equal(t, []int{2026, int(time.May), 1}, []int{year, int(month), day}, "the same for all who joined from 3 March to 1 April")
	var given int
	require.NoError(t, s.writer.QueryRowContext(t.Context(), "SELECT given FROM consent").Scan(&given))
	assert.NotEqual(t, given, since)
}

func TestEveryTableOfOursIsStrict(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	rows, err := s.reader.QueryContext(t.Context(), "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table'")
	require.NoError(t, err)
	strict := map[string]bool{}
	require.NoError(t, each(rows, func() error {
		var name string
		var is bool
		err := rows.Scan(&name, &is)
		strict[name] = is
		return err
	}))
	for name, is := range strict {
		if !strings.HasPrefix(name, "sqlite_") && name != "goose_db_version" {
			assert.True(t, is, "%s", name)
		}
	}
	for _, name := range []string{
		"house", "community", "community_word", "consent", "draft", "numbering", "contributor", "record",
		"receipt", "show", "ledger", "release", "published_line", "published_figure", "community_rule", "shop", "headcount",
	} {
		assert.Contains(t, strict, name)
	}
	var broken int
	require.NoError(t, s.reader.QueryRowContext(t.Context(), "SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken))
	assert.Zero(t, broken)
}

func TestADatabaseOfANewerProgramIsRefused(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	c := Config{Path: filepath.Join(folder, "tallystick.db"), KeysPath: filepath.Join(folder, "tallystick.keys")}
	s, err := Open(t.Context(), c)
	require.NoError(t, err)
	_, err = s.writer.ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)")
	require.NoError(t, err)
	require.NoError(t, s.Close())
	_, err = Open(t.Context(), c)
	var refused *OpenError
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, Newer, refused.Refusal)
	assert.Contains(t, refused.Error(), "newer version")
}

func TestReadersCannotWrite(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	_, err := s.reader.ExecContext(t.Context(), "DELETE FROM house")
	assert.Equal(t, sqlite3.SQLITE_READONLY, sqliteCode(err))
}

func TestEveryConnectionIsSetAsItWasTold(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	require.NoError(t, s.Vacuum(t.Context()), "which sets some for a while")
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, pool.DayAt(march), pool.StandardRules()))
	says := func(db *sql.DB, who string, want map[string]string) {
		conn, err := db.Conn(t.Context())
		require.NoError(t, err)
		t.Cleanup(func() { _ = conn.Close() }) // kept until then, so that the next is another
		for name, value := range want {
			var got string
			require.NoError(t, conn.QueryRowContext(t.Context(), "PRAGMA "+name).Scan(&got))
			assert.Equal(t, value, got, "%s of %s", name, who)
		}
	}
	// A transaction is on the disk when it is told to be: WAL and FULL.
	durable := map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "secure_delete": "1", "busy_timeout": "5000"}
	for i := range readerCount {
		says(s.reader, fmt.Sprint("reader ", i), durable)
	}
	durable["temp_store"] = "2"
	says(s.writer, "the writer", durable)
}

func TestTheLogIsOnlyAddedTo(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, pool.DayAt(march), pool.StandardRules()))
	for _, statement := range []string{
		"DELETE FROM release", "UPDATE release SET day = 1", "DELETE FROM published_line", "UPDATE published_line SET makers = 99",
	} {
		_, err := s.writer.ExecContext(t.Context(), statement)
		require.Error(t, err, statement)
	}
}

// The store is given what pool remembers and gives it back: a log kept in the
// file goes on exactly as one kept in memory.
func TestAReleaseFromTheFileIsTheReleaseFromMemory(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	require.NoError(t, s.SetCommunity(t.Context(), ann.Community, Community{
		Currency: "USD", Categories: []string{"stool", "box"}, Regions: []string{"coast"}, Practice: true,
	}))
	var sales []SeedSale
	for i := range 240 {
		maker := i % 45
		sale := stool(40 + i*37%500)
		sale.Category = []string{"stool", "box"}[i%2]
		sale.Region = []string{"coast", "", "hills"}[maker%3]
		sale.Sold = pool.MonthOf(2026, time.June) - pool.Month(i*7%24)
		sale.Values = sale.Values.With(pool.RealisedHourly, pool.Micros(i*911%40-10)*pool.One).With(pool.DaysToSell, pool.Whole(i%90))
		if i%3 > 0 {
			sale.Values = sale.Values.With(pool.PricePerBoardFoot, pool.Whole(i%30+1)).With(pool.SoldToAsked, pool.Whole(60+i%40)/100)
		}
		sales = append(sales, SeedSale{Maker: fmt.Sprint(maker), Since: pool.DayOf(2024, time.January, 1), Sale: sale})
	}
	var memory []pool.State
	id := s.communityID(ann.Community)
	figures, middles := 0, 0
	for month := range 9 {
		require.NoError(t, s.Seed(t.Context(), ann.Community, sales[:120+month*14]))
		day := (pool.MonthOf(2026, time.January) + pool.Month(month)).First()
		require.NoError(t, s.write(t.Context(), "test", func(tx *transaction) error {
			in := intake{}
			records, since := []pool.Record(nil), make(map[string]pool.Day)
			for r, joined := range in.records(t.Context(), tx, id) {
				records = append(records, r)
				since[r.Maker] = joined
			}
			require.NoError(t, in.err)
			settings, err := readCommunity(t.Context(), tx, id)
			require.NoError(t, err)
			memory = pool.Release(day, records, since, withListed(memory, listedCuts(settings)), pool.StandardRules(), s.subsample)
			return nil
		}))
		require.NoError(t, s.RunRelease(t.Context(), ann.Community, day, pool.StandardRules()))

		lines, err := s.Published(t.Context(), ann.Community)
		require.NoError(t, err)
		var want []pool.Line
		for _, state := range memory {
			if listed := state.Cut != pool.RegionCut("hills"); listed || len(state.Shows) > 0 {
				want = append(want, state.Line)
			}
		}
		require.Equal(t, want, lines, "%s", day)
		for _, l := range lines {
			for _, p := range l.Figures {
				if p.Shown {
					figures++
				}
				if p.Middle != nil {
					middles++
				}
			}
		}
	}
	assert.Positive(t, figures)
	assert.Positive(t, middles)
}

func TestReadingTheReleaseTouchesNoSale(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	require.NoError(t, s.RunRelease(t.Context(), ann.Community, pool.DayAt(march), pool.StandardRules()))
	before, err := s.Published(t.Context(), ann.Community)
	require.NoError(t, err)
	for _, table := range []string{"record", "contributor", "ledger", "show", "consent", "draft"} {
		_, err := s.writer.ExecContext(t.Context(), "DROP TABLE "+table)
		require.NoError(t, err)
	}
	after, err := s.Published(t.Context(), ann.Community)
	require.NoError(t, err)
	assert.NotEmpty(t, after)
	assert.Equal(t, before, after)
}

func TestABusyDatabaseIsAFault(t *testing.T) {
	t.Parallel()
	s, path := inside(t)
	_, err := s.writer.ExecContext(t.Context(), "PRAGMA busy_timeout = 0")
	require.NoError(t, err)
	other, err := connect(t.Context(), path, 1, false)
	require.NoError(t, err)
	defer other.Close()
	held, err := other.BeginTx(t.Context(), nil)
	require.NoError(t, err)
	_, err = s.SaveDraft(t.Context(), ann, stool(100), march)
	assert.Equal(t, sqlite3.SQLITE_BUSY, sqliteCode(err))
	assert.NotErrorIs(t, err, ErrConflict)
	require.NoError(t, held.Rollback())
	_, err = s.SaveDraft(t.Context(), ann, stool(100), march)
	require.NoError(t, err)
}

func TestAPragmaThatDoesNotTakeIsNoticed(t *testing.T) {
	t.Parallel()
	// A database in memory cannot keep a journal beside it.
	_, err := connect(t.Context(), ":memory:", 1, false)
	require.ErrorContains(t, err, "journal_mode")
}
