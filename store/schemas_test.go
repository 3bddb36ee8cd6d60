package store_test

import (
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

// An old schema is a database that the program of its time made and filled, with
// that program's own words for what it holds. The third schema was never on
// anybody's disk without the fourth.
type oldSchema struct {
	newest         int    // the last migration it had
	question, room string // the codes that were given in it
}

var oldSchemas = []oldSchema{{newest: 1}, {newest: 2}, {newest: 4}, {5, "DW34S8", "K11TVM"}, {6, "42BTCF", "X3KH4E"}, {7, "EYJYV0", "2Y6HXT"}}

var (
	oldAnn = store.Who{Community: "guild", Member: "ann"}
	oldNow = time.Date(2026, time.March, 2, 12, 0, 0, 0, time.UTC)
)

// unpack puts the old database and its keys into a folder of its own, and gives
// what it holds.
func (o oldSchema) unpack(t *testing.T) (store.Config, string) {
	t.Helper()
	base := filepath.Join("testdata", "schemas", fmt.Sprintf("%05d", o.newest))
	folder := t.TempDir()
	config := store.Config{Path: filepath.Join(folder, "old.db"), KeysPath: filepath.Join(folder, "old.keys")}
	packed, err := os.Open(base + ".db.gz")
	require.NoError(t, err)
	defer func() { require.NoError(t, packed.Close()) }()
	from, err := gzip.NewReader(packed)
	require.NoError(t, err)
	whole, err := io.ReadAll(from)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(config.Path, whole, 0o600))
	keys, err := os.ReadFile(base + ".keys")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(config.KeysPath, keys, 0o600))
	told, err := os.ReadFile(base + ".txt")
	require.NoError(t, err)
	return config, string(told)
}

// tell says in words what the store holds of what was in a database of that age.
func (o oldSchema) tell(t *testing.T, s *store.Store) string {
	t.Helper()
	var b strings.Builder
	add := func(text string, err error) {
		require.NoError(t, err)
		b.WriteString(text)
	}
	add(tellSharing(t.Context(), s, oldAnn))
	if o.newest >= 2 {
		add(tellSettings(t.Context(), s, oldAnn))
	}
	if o.newest >= 4 {
		add(tellSheets(t.Context(), s, oldAnn))
	}
	if o.newest >= 5 {
		add(tellAsked(t.Context(), s, oldAnn, o.question, o.room))
	}
	return b.String()
}

func TestADatabaseThatAnOlderProgramLeftHoldsAfterwardsWhatThatProgramSaid(t *testing.T) {
	t.Parallel()
	for _, o := range oldSchemas {
		t.Run(fmt.Sprintf("%05d", o.newest), func(t *testing.T) {
			t.Parallel()
			config, told := o.unpack(t)
			for range 2 { // when it is brought up to date, and when it is opened again
				s, err := store.Open(t.Context(), config)
				require.NoError(t, err)
				assert.Equal(t, told, o.tell(t, s))
				require.NoError(t, s.Close())
				require.NoError(t, store.Audit(t.Context(), config, func(f store.Finding) { assert.NoError(t, f.Problem, f.Check) }))
			}
			require.NoError(t, store.Backup(t.Context(), config, filepath.Join(t.TempDir(), "copy.db"), false, func(int, int) {}))
		})
	}
}

func TestWhatWasDeliveredToAnOlderProgramIsNotDoneAgain(t *testing.T) {
	t.Parallel()
	for _, o := range oldSchemas {
		t.Run(fmt.Sprintf("%05d", o.newest), func(t *testing.T) {
			t.Parallel()
			config, told := o.unpack(t)
			s, err := store.Open(t.Context(), config)
			require.NoError(t, err)
			defer func() { require.NoError(t, s.Close()) }()
			require.NoError(t, s.Withdraw(t.Context(), oldAnn, "withdraw", 2, oldNow))
			if o.newest >= 4 {
				write := func(delivery string) int {
					e, err := s.WriteBook(t.Context(), oldAnn, delivery, oldNow, func(*store.Book) (price.Entry, error) {
						return price.Entry{Kind: price.EntryTime, Piece: 1, Seconds: 60, At: oldNow.Unix(), Day: int(pool.DayAt(oldNow))}, nil
					})
					require.NoError(t, err)
					return e.Number
				}
				assert.Equal(t, 4, write("entry 3"))
				require.NoError(t, s.DeletePiece(t.Context(), oldAnn, "delete", 3, oldNow))
				assert.Equal(t, told, o.tell(t, s))
				assert.Equal(t, 7, write("a new one"), "the numbers of what was deleted do not come again")
				return
			}
			assert.Equal(t, told, o.tell(t, s))
		})
	}
}
