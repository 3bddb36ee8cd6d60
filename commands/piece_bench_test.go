package commands_test

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/commands"
	"tallystick/store"
)

// shelf is a ledger of so many pieces with 50 entries each.
func shelf(pieces int) store.Ledger {
	l := store.Ledger{NextLot: 2}
	next := func(e price.Entry) {
		e.Number = len(l.Entries) + 1
		e.At, e.Day = 1_772_442_000, 20_514
		l.Entries = append(l.Entries, e)
	}
	next(price.Entry{Kind: price.EntryLot, Lot: 1, Currency: "USD", Amount: 900_000, Millionths: int64(pieces) * 2_000_000, Facts: price.Facts{price.FactUnit: price.UnitBoardFeet}})
	for p := 1; p <= pieces; p++ {
		next(price.Entry{Kind: price.EntryOpen, Piece: p, Currency: "USD", Facts: price.Facts{price.FactName: fmt.Sprintf("Piece of work %d", p), price.FactCategory: "bench", price.FactRate: "2500"}})
		for n := range 47 {
			if n%3 == 0 {
				next(price.Entry{Kind: price.EntryCost, Piece: p, Currency: "USD", Amount: int64(100 + n), Facts: price.Facts{price.FactGroup: price.CostPart, price.FactWhat: "a part of it"}})
				continue
			}
			next(price.Entry{Kind: price.EntryTime, Piece: p, Seconds: int64(600 + n), Facts: price.Facts{price.FactStage: fmt.Sprintf("stage %d", n%7)}})
		}
		next(price.Entry{Kind: price.EntryPost, Piece: p, Currency: "USD", Amount: 48_000, Facts: price.Facts{price.FactVenue: "market board"}})
		if p > 1 {
			next(price.Entry{Kind: price.EntrySold, Piece: p, Currency: "USD", Amount: 43_000, Facts: price.Facts{price.FactFee: "0.029"}})
		} else {
			next(price.Entry{Kind: price.EntryTake, Piece: p})
		}
	}
	l.NextEntry, l.NextPiece = len(l.Entries)+1, pieces+1
	return l
}

// stocked is a database with a maker of ten pieces and one of many, and how long a
// question takes each.
func stocked(t testing.TB, many int) (ask func(who, path string, options map[string]string) time.Duration) {
	ctx := context.Background()
	folder := t.TempDir()
	s, err := store.Open(ctx, store.Config{Path: filepath.Join(folder, "b.db"), KeysPath: filepath.Join(folder, "b.keys")})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	set, err := commands.New(commands.Config{Store: s, Log: slog.New(slog.DiscardHandler), Bare: measure.Inch, Reference: func() string { return "F" }})
	require.NoError(t, err)
	now := time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)
	for who, pieces := range map[string]int{"ten": 10, "many": many} {
		_, err := s.ImportLedger(ctx, store.Who{Community: community, Member: who}, who, shelf(pieces), false, now)
		require.NoError(t, err)
	}
	return func(who, path string, options map[string]string) time.Duration {
		begun := time.Now()
		reply := set.Do(ctx, commands.Request{Delivery: "d", Community: community, Member: who, Path: path, Options: options, Time: now})
		took := time.Since(begun)
		require.Equal(t, commands.Answered, reply.Outcome(), reply.Sentence())
		return took
	}
}

var questions = []struct {
	path    string
	options map[string]string
}{{"piece list", nil}, {"piece list", map[string]string{"status": "sold"}}, {"piece show", nil}, {"piece show", map[string]string{"piece": "5"}},
	{"piece show", map[string]string{"piece": "piece of work 7"}}, {"piece trail", map[string]string{"piece": "7"}}}

// A list and a sheet look at what they show, and not at everything there is.
func TestAListAndASheetTakeNoLongerAmongManyPieces(t *testing.T) {
	many := 100
	if raced {
		many = 40
	}
	ask := stocked(t, many)
	for _, q := range questions {
		least := map[string]time.Duration{"ten": time.Hour, "many": time.Hour}
		// The least of many is what it takes on a quiet machine; a busy one needs more.
		for round := range 500 {
			if round >= 20 && least["many"] < 2*least["ten"] {
				break
			}
			for who := range least {
				least[who] = min(least[who], ask(who, q.path, q.options))
			}
		}
		assert.Less(t, least["many"], 2*least["ten"], commands.FormatLine(q.path, q.options))
	}
}

// A maker with 1,000 pieces of 50 entries waits hardly longer for a list or a sheet
// than one with ten: at most twice as long. The benchmark prints the ratio.
func BenchmarkAThousandPiecesAgainstTen(b *testing.B) {
	ask := stocked(b, 1000)
	for _, q := range questions {
		b.Run(commands.FormatLine(q.path, q.options)[1:], func(b *testing.B) {
			took := map[string][]time.Duration{}
			for b.Loop() {
				for _, who := range []string{"ten", "many"} {
					took[who] = append(took[who], ask(who, q.path, q.options))
				}
			}
			median := func(who string) time.Duration {
				slices.Sort(took[who])
				return took[who][len(took[who])/2]
			}
			b.ReportMetric(float64(median("ten").Microseconds()), "µs/ten")
			b.ReportMetric(float64(median("many").Microseconds()), "µs/thousand")
			b.ReportMetric(float64(median("many")*100/median("ten"))/100, "ratio")
		})
	}
}
