package store

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
)

// landed are the migrations whose schemas are on people's disks, in order, and what
// a database of each held: the rows that the next must keep.
var landed = []struct{ name, rows string }{
	{"00001_shared_log.sql", `
		INSERT INTO community (community, currency, practice) VALUES (:community, 'CAD', 0);
		INSERT INTO community_word VALUES (:community, 'category', 0, 'stool');
		INSERT INTO consent VALUES (:member, 1, 20000);
		INSERT INTO numbering VALUES (:sharer, 3);
		INSERT INTO contributor VALUES (:tag, :community, 20000, 0);
		INSERT INTO record (id, tag, number, code_hash, category, species_group, region, sold, price_per_board_foot, price, realised_hourly, days_to_sell)
			VALUES (7, :tag, 2, randomblob(32), 'stool', 'oak', '', 24308, 14200000, 430000000, -3250000, 19000000);
		INSERT INTO release VALUES (:community, 20000);
		INSERT INTO published_line VALUES (:community, 20000, 'all', 0, 'too_few_makers', 0, 0);`},
	{"00002_settings.sql", `
		INSERT INTO setting VALUES (:member, 'CAD', 'metric', NULL, NULL, NULL, NULL, NULL, NULL, NULL);
		INSERT INTO setting_amount VALUES (:member, 'rate', 2500, 'CAD');`},
	{"00003_job_sheets.sql", `
		INSERT INTO book (owner, next_entry, next_piece, next_lot) VALUES (:owner, 2, 2, 1);
		INSERT INTO entry (owner, number, piece, lot, kind, at, day, target, amount, currency, seconds, millionths, facts)
			VALUES (:owner, 1, 1, 0, 'open', 1700000000, 19675, 0, 0, 'CAD', 0, 0, '{"name":"Bench"}');
		INSERT INTO piece VALUES (:owner, 1, 'Bench', '', 'open');`},
	{"00004_host_and_shops.sql", `
		INSERT INTO community_rule VALUES (:community, 'makers', 9);`},
	{"00005_room.sql", `
		INSERT INTO question VALUES (:questioner, 'ABCDEF', 4000000000, '{"size":"48x14x18"}');`},
	{"00006_read_in_order.sql", `
		INSERT INTO shop VALUES (:tag, :community, x'00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff');`},
	{"00007_own_receipts.sql", `
		INSERT INTO entry (owner, number, piece, lot, kind, at, day, target, amount, currency, seconds, millionths, facts, receipt)
			VALUES (:owner, 2, 2, 0, 'open', 1700000000, 19675, 0, 0, 'CAD', 0, 0, '{"name":"Shelf"}', x'00112233445566778899aabbccddeeff');
		UPDATE book SET next_entry = 3, next_piece = 3, receipts_until = 19800;
		INSERT INTO stretch SELECT owner, number, piece FROM entry;
		INSERT INTO piece VALUES (:owner, 2, 'Shelf', '', 'open');`},
}

func TestEveryMigrationThatLandedIsTried(t *testing.T) {
	t.Parallel()
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	require.NoError(t, err)
	for i, name := range names {
		if i < len(landed) {
			assert.Equal(t, landed[i].name, filepath.Base(name), "a landed migration never changes its name")
			continue
		}
		t.Errorf("%s wants a line in landed, with rows that the next has to keep", name)
	}
}

// before makes a database as the program with so many migrations left it.
func before(t *testing.T, steps int) Config {
	t.Helper()
	folder := t.TempDir()
	config := Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")}
	k, err := createKeys(config.KeysPath)
	require.NoError(t, err)
	files := fstest.MapFS{}
	var rows []string
	for _, one := range landed[:steps] {
		text, err := fs.ReadFile(migrationFiles, "migrations/"+one.name)
		require.NoError(t, err)
		files[one.name] = &fstest.MapFile{Data: text}
		rows = append(rows, one.rows)
	}
	db, err := sql.Open("sqlite", config.Path)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	old, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = old.Up(t.Context())
	require.NoError(t, err)
	text := strings.Join(rows, "")
	s := &Store{keys: k}
	for name, id := range map[string][]byte{
		":community": s.communityID(ann.Community), ":member": s.memberID(ann), ":sharer": s.sharerID(ann),
		":tag": s.tag(ann), ":owner": s.ownerID(ann), ":questioner": s.questionerID(ann),
	} {
		text = strings.ReplaceAll(text, name, fmt.Sprintf("x'%x'", id))
	}
	_, err = db.ExecContext(t.Context(), text)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	return config
}

func TestADatabaseOfEverySchemaThatLandedIsBroughtUpToDateWithAllInIt(t *testing.T) {
	t.Parallel()
	for steps := 1; steps <= len(landed); steps++ {
		t.Run(landed[steps-1].name, func(t *testing.T) {
			t.Parallel()
			config := before(t, steps)
			s, err := Open(t.Context(), config)
			require.NoError(t, err)
			defer func() { require.NoError(t, s.Close()) }()
			c, err := s.Community(t.Context(), ann.Community)
			require.NoError(t, err)
			assert.Equal(t, []string{"stool"}, c.Categories)
			consent, given, err := s.Consent(t.Context(), ann)
			require.NoError(t, err)
			assert.True(t, given)
			assert.Equal(t, 1, consent.Wording)
			sales := salesOf(t, s, ann)
			require.Len(t, sales, 1)
			assert.Equal(t, 2, sales[0].Number)
			lines, err := s.Published(t.Context(), ann.Community)
			require.NoError(t, err)
			require.Len(t, lines, 1)
			settings, err := s.Settings(t.Context(), ann)
			require.NoError(t, err)
			assert.Equal(t, steps >= 2, settings.Units == "metric")
			require.NoError(t, s.ReadBook(t.Context(), ann, func(b *Book) error {
				pieces, err := b.Pieces(t.Context(), "", 0, 10)
				assert.Equal(t, steps >= 3, slices.ContainsFunc(pieces, func(p Piece) bool { return p.Name == "Bench" }))
				return err
			}))
			if steps >= 4 {
				assert.Equal(t, 9, c.Rules.Makers)
			}
			told, err := s.Question(t.Context(), ann, "ABCDEF", march)
			if steps >= 5 {
				require.NoError(t, err)
				assert.Equal(t, "48x14x18", told["size"])
			}
			// And it works on.
			shareNow(t, s, ann, "next", stool(50))
			_, err = s.WriteBook(t.Context(), ann, "one", time.Unix(0, 0), func(*Book) (price.Entry, error) {
				return price.Entry{Kind: price.EntryOpen, Currency: "CAD", Facts: price.Facts{price.FactName: "Stool"}}, nil
			})
			require.NoError(t, err)
			_, err = s.writer.ExecContext(t.Context(), "UPDATE entry SET amount = 5")
			assert.ErrorContains(t, err, "a ledger is only added to")
		})
	}
}

// dump writes down the whole content of a database, its schema first.
func dump(t *testing.T, db *sql.DB) string {
	t.Helper()
	var b strings.Builder
	tables := queryAll(t, db, "SELECT name, coalesce(sql, '') FROM sqlite_schema ORDER BY name")
	for _, table := range tables {
		fmt.Fprintln(&b, table)
	}
	for _, table := range queryAll(t, db, "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name") {
		for _, row := range queryAll(t, db, `SELECT * FROM "`+table[0]+`" ORDER BY 1, 2`) {
			fmt.Fprintln(&b, table[0], row)
		}
	}
	return b.String()
}

func queryAll(t *testing.T, db *sql.DB, query string) (list [][]string) {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), query)
	if err != nil && strings.HasSuffix(query, "ORDER BY 1, 2") { // a table of one column
		return queryAll(t, db, strings.TrimSuffix(query, ", 2"))
	}
	require.NoError(t, err)
	columns, err := rows.Columns()
	require.NoError(t, err)
	require.NoError(t, each(rows, func() error {
		cells := make([]sql.RawBytes, len(columns))
		into := make([]any, len(columns))
		for i := range cells {
			into[i] = &cells[i]
		}
		err := rows.Scan(into...)
		row := make([]string, len(columns))
		for i, cell := range cells {
			row[i] = string(cell)
		}
		list = append(list, row)
		return err
	}))
	return list
}

func TestAStepThatFailsLeavesTheOldDatabaseWhole(t *testing.T) {
	t.Parallel()
	config := before(t, len(landed))
	db, err := connect(context.Background(), config.Path, 1, false)
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	old := dump(t, db)
	files := fstest.MapFS{"09999_broken.sql": {Data: []byte("-- +goose Up\nDELETE FROM entry;\nDROP TABLE consent;\nALTER TABLE record ADD COLUMN more TEXT;\nINSERT INTO nowhere VALUES (1);\n")}}
	for _, one := range landed {
		text, err := os.ReadFile("migrations/" + one.name)
		require.NoError(t, err)
		files[one.name] = &fstest.MapFile{Data: text}
	}
	require.ErrorContains(t, migrateBy(t.Context(), db, config.Path, files), "nowhere")
	assert.Equal(t, old, dump(t, db))
	require.NoError(t, migrate(t.Context(), db, config.Path), "and the program before it opens it still")
}
