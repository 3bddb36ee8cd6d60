package commands_test

import (
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones of the tests, wherever they run

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// weeks is what happened in testdata/conversations/piece-weeks.chat, written down
// once more by hand: when each stretch of work began and ended on the wall clock of
// London, and what was paid. Nothing here goes through the program.
var weeks = struct {
	began, ended []string // work by the clock that counts
	minutes      []int64  // work without one, and what was put right
	paid         []string // amounts on the piece
	lot, share   [2]string
	sold, asked  string
	fee, fixed   string
	rate         string
	estimate     int64 // minutes
	posted, sale string
}{
	began:   []string{"2026-03-02 23:20", "2026-03-08 05:40", "2026-03-09 06:05", "2026-03-13 07:40"},
	ended:   []string{"2026-03-03 01:30", "2026-03-08 08:05", "2026-03-09 07:40", "2026-03-13 08:40"},
	minutes: []int64{75 /* cleaning */, 180 /* joinery, forgotten */, 90 /* finishing, corrected */, 30 /* photographs */, 50 /* selling */},
	paid:    []string{"23.20" /* trip */, "6.20" /* planer: 5 h at 1.24 */, "11.50" /* a quarter of 46 */},
	lot:     [2]string{"160", "20"}, share: [2]string{"10.5", ""},
	sold: "430", asked: "480", fee: "0.029", fixed: "0.30", rate: "25", estimate: 720,
	posted: "2026-03-17", sale: "2026-03-30",
}

func exactly(t *testing.T, text string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(text)
	require.True(t, ok, text)
	return r
}

// slowHours adds the hours up on London's wall clock, minute by minute.
func slowHours(t *testing.T) *big.Rat {
	t.Helper()
	london, err := time.LoadLocation("Europe/London")
	require.NoError(t, err)
	minutes := int64(0)
	for i := range weeks.began {
		from, err := time.ParseInLocation("2006-01-02 15:04", weeks.began[i], london)
		require.NoError(t, err)
		to, err := time.ParseInLocation("2006-01-02 15:04", weeks.ended[i], london)
		require.NoError(t, err)
		for ; from.Before(to); from = from.Add(time.Minute) {
			minutes++
		}
	}
	for _, m := range weeks.minutes {
		minutes += m
	}
	return big.NewRat(minutes, 60)
}

func slowCost(t *testing.T) *big.Rat {
	t.Helper()
	each := new(big.Rat).Quo(exactly(t, weeks.lot[0]), exactly(t, weeks.lot[1]))
	cost := new(big.Rat).Mul(each, exactly(t, weeks.share[0]))
	for _, p := range weeks.paid {
		cost.Add(cost, exactly(t, p))
	}
	return cost
}

func TestTheWeeksOfOnePieceComeToWhatASlowReckoningSays(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(conversations, "piece-weeks.chat"))
	require.NoError(t, err)
	c := newChat(t)
	c.play(string(text))
	figures := figuresOf(t, c.ask("ann", false, "/piece show"))

	hours, cost := slowHours(t), slowCost(t)
	sold, asked, fixed, rate := exactly(t, weeks.sold), exactly(t, weeks.asked), exactly(t, weeks.fixed), exactly(t, weeks.rate)
	kept := new(big.Rat).Sub(big.NewRat(1, 1), exactly(t, weeks.fee))
	left := new(big.Rat).Mul(sold, kept)
	left.Sub(left, fixed).Sub(left, cost)
	needs := new(big.Rat).Add(cost, fixed)
	breakEven := new(big.Rat).Quo(needs, kept)
	target := new(big.Rat).Add(needs, new(big.Rat).Mul(rate, hours))
	target.Quo(target, kept)
	asking := new(big.Rat).Mul(target, new(big.Rat).Quo(asked, sold))

	near := func(key string, exact *big.Rat, slack string) {
		t.Helper()
		got := exactly(t, figures[key].Value)
		off := new(big.Rat).Sub(got, exact)
		assert.LessOrEqual(t, off.Abs(off).Cmp(exactly(t, slack)), 0, "%s is %s, and slowly %s", key, figures[key].Value, exact.FloatString(6))
	}
	upToTheCent := func(key string, exact *big.Rat) {
		t.Helper()
		got := exactly(t, figures[key].Value)
		assert.GreaterOrEqual(t, got.Cmp(exact), 0, "%s is rounded up: %s, and slowly %s", key, figures[key].Value, exact.FloatString(6))
		assert.Negative(t, new(big.Rat).Sub(got, exact).Cmp(exactly(t, "0.01")), "%s by less than a cent", key)
	}
	near("worked", hours, "0.00005")
	near("direct_cost", cost, "0")
	near("left", left, "0.005")
	near("realised_hourly", new(big.Rat).Quo(left, hours), "0.005")
	near("sold_to_asked", new(big.Rat).Mul(big.NewRat(100, 1), new(big.Rat).Quo(sold, asked)), "0.05")
	near("estimate_ratio", new(big.Rat).Mul(big.NewRat(100, 1), new(big.Rat).Quo(hours, big.NewRat(weeks.estimate, 60))), "0.05")
	near("hours_that_pay", new(big.Rat).Quo(left, rate), "0.0004")
	upToTheCent("break_even", breakEven)
	upToTheCent("target_price", target)
	upToTheCent("asking_price", asking)
	from, err := time.Parse(time.DateOnly, weeks.posted)
	require.NoError(t, err)
	to, err := time.Parse(time.DateOnly, weeks.sale)
	require.NoError(t, err)
	near("days_to_sell", big.NewRat(int64(to.Sub(from)/(24*time.Hour)), 1), "0")

	// The published example of testdata/published/golden-piece.csv has the same
	// hours and costs.
	assert.Equal(t, "124.90", figures["direct_cost"].Value)
	assert.Equal(t, "14.2500", figures["worked"].Value)
	assert.Equal(t, "20.51", figures["realised_hourly"].Value, "published: 20.5144")
	assert.Equal(t, "128.94", figures["break_even"].Value, "published: 128.9392")
	assert.Equal(t, "495.83", figures["target_price"].Value, "published: 495.8290")
	for _, line := range []string{"~ 14h20m", "! restart", "/piece undo", "/piece clock right", "/piece correct", "price:450", "price:430"} {
		assert.Contains(t, string(text), line, "the conversation still walks through all of it")
	}
}

func figuresOf(t *testing.T, r commands.Reply) map[string]commands.Figure {
	t.Helper()
	require.Equal(t, commands.Answered, r.Outcome(), r.Sentence())
	figures := map[string]commands.Figure{}
	for _, f := range r.Figures {
		figures[f.Key] = f
	}
	return figures
}

// The wall clock of whoever asks makes no difference: an hour is an hour over the
// change to summer time, over midnight, and over a restart.
func TestNoMinuteIsWonOrLostByAWallClock(t *testing.T) {
	t.Parallel()
	for zone, night := range map[string]string{
		"America/New_York":    "2026-03-08 01:30", // forward at 02:00
		"Europe/Berlin":       "2026-10-25 01:30", // back at 03:00
		"Australia/Lord_Howe": "2026-04-05 01:00", // back by half an hour at 02:00
		"Asia/Kathmandu":      "2026-05-01 23:10",
	} {
		t.Run(strings.ReplaceAll(zone, "/", " "), func(t *testing.T) {
			t.Parallel()
			place, err := time.LoadLocation(zone)
			require.NoError(t, err)
			c := newChat(t)
			c.now, err = time.ParseInLocation("2006-01-02 15:04", night, place)
			require.NoError(t, err)
			c.ask("ann", false, "/piece open name:Stool")
			require.Equal(t, commands.Answered, c.ask("ann", false, "/piece clock in").Outcome())
			c.now = c.now.Add(2 * time.Hour)
			c.close()
			c.open()
			c.now = c.now.Add(95*time.Minute + 7*time.Second)
			require.Equal(t, commands.Answered, c.ask("ann", false, "/piece clock out").Outcome())
			figures := figuresOf(t, c.ask("ann", false, "/piece show"))
			assert.Equal(t, "3.5853", figures["worked"].Value, "3 h 35 min 7 s is 12,907 s")
		})
	}
}
