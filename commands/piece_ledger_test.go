package commands_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
	"tallystick/commands"
	"tallystick/store"
)

// anybody says random lines about a member's pieces.
type anybody struct {
	*rand.Rand
	pieces, lots, entries int
}

func (a *anybody) pick(words ...string) string { return words[a.IntN(len(words))] }

func (a *anybody) amount() string { return fmt.Sprintf("%d.%02d", a.IntN(300), a.IntN(100)) }

func (a *anybody) piece() string {
	if a.IntN(3) > 0 {
		return ""
	}
	return fmt.Sprintf(" piece:%d", 1+a.IntN(a.pieces+1))
}

// line is any line; many of them are mistakes, which must change nothing.
func (a *anybody) line() string {
	switch a.IntN(24) {
	case 0:
		if a.pieces > 5 {
			return "/piece take piece:1"
		}
		return "/piece open name:Thing " + a.amount() + a.pick("", " category:bench", " category:stool rate:25 estimate:3h") + a.pick("", " fee:2.9% fixed-fee:0.30")
	case 1:
		return fmt.Sprintf("/piece take piece:%d", 1+a.IntN(a.pieces+2))
	case 2, 3:
		return "/piece clock in" + a.pick("", " stage:milling", " stage:sanding helper:Sam pay:15.37", " helper:Kim") + a.piece()
	case 4, 5:
		return "/piece clock out" + a.pick("", "", " helper:Sam", " helper:kim", " ago:7m")
	case 6:
		return "/piece clock right worked:" + a.pick("20m", "1h", "0h") + a.pick("", " helper:Sam")
	case 7, 8:
		return fmt.Sprintf("/piece time worked:%dm", a.IntN(400)) + a.pick("", " stage:Milling", " stage:glue-up", " helper:Sam pay:11") + a.piece()
	case 9:
		return "/piece stock found board-feet:" + a.amount() + a.pick("", " trip:12.20", " cleaning:25m") + a.piece()
	case 10:
		return "/piece stock bought paid:" + a.amount() + " tax:8.25%" + a.pick("", " trip:3") + a.piece()
	case 11:
		return "/lot add what:ash paid:" + a.amount() + fmt.Sprintf(" board-feet:%d", 1+a.IntN(60)) + a.pick("", " tax:7%")
	case 12, 13:
		return fmt.Sprintf("/piece stock share lot:%d take:%s", 1+a.IntN(a.lots+1), a.pick("1/3", "2.77", "15%", "rest", "9")) + a.piece()
	case 14:
		return "/piece cost kind:" + a.pick("part", "consumable", "tool", "delivery") + " paid:" + a.amount() + a.pick("", " used:1/7", " tax:8.25% used:15%") + a.piece()
	case 15, 16:
		n := fmt.Sprintf("/piece correct entry:%d", 1+a.IntN(a.entries+1))
		return n + a.pick(" worked:33m", " amount:"+a.amount(), " quantity:1.5", " strike:yes", " stage:carving", " on:yesterday amount:9")
	case 17:
		return "/piece post where:" + a.pick("board", "window") + a.pick(" price:"+a.amount(), " down:yes") + a.piece()
	case 18:
		return "/piece offer who:" + a.pick("Van", "Bike") + a.pick(" amount:"+a.amount(), " gone:yes") + a.piece()
	case 19:
		return "/piece sold price:" + a.amount() + a.pick("", " fee:5%") + a.piece()
	case 20:
		return a.pick("/piece close as:kept", "/piece reopen", "/piece reopen") + a.piece()
	case 21:
		return "/piece rename name:Other " + a.amount() + a.piece()
	case 22:
		return "/piece plan rate:" + a.amount() + a.piece()
	}
	return "/piece listing finish:oil weight:12 kg" + a.piece()
}

// world is all that is kept of a member's sheets, as it adds up.
func world(t *testing.T, c *chat) string {
	t.Helper()
	var all []any
	ctx := t.Context()
	err := c.store.ReadBook(ctx, store.Who{Community: community, Member: "ann"}, func(b *store.Book) error {
		pieces, err := b.Pieces(ctx, "", 0, 100)
		require.NoError(t, err)
		current, err := b.Current(ctx)
		require.True(t, err == nil || errors.Is(err, store.ErrNotFound))
		clocks, err := b.Clocks(ctx)
		require.NoError(t, err)
		lots, err := b.Lots(ctx, 0, 100)
		require.NoError(t, err)
		limit, err := b.Limit(ctx)
		require.NoError(t, err)
		all = append(all, pieces, current, clocks, lots, limit)
		for _, p := range pieces {
			s, err := b.Sheet(ctx, p.Number)
			require.NoError(t, err)
			all = append(all, s, s.DaysListed(30_000))
		}
		return nil
	})
	require.NoError(t, err)
	text, err := json.Marshal(all)
	require.NoError(t, err)
	return string(text)
}

// After 200 operations the sheets are the sums of their entries, shares add up to
// their lots, and undoing takes back one operation after the other.
func TestTwoHundredOperationsAddUpAndCanAllBeTakenBack(t *testing.T) {
	t.Parallel()
	seeds := uint64(3)
	if raced {
		seeds = 1
	}
	for seed := range seeds {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			t.Parallel()
			c := newChat(t)
			a := &anybody{Rand: rand.New(rand.NewPCG(seed, 7))}
			worlds := []string{world(t, c)} // how things stood after each entry
			done, undone := 0, 0
			for done+undone < 200 {
				c.now = c.now.Add(time.Duration(a.IntN(100)) * time.Minute)
				if len(worlds) > 1 && a.IntN(8) == 0 {
					before := worlds[len(worlds)-2]
					require.Equal(t, commands.Answered, c.ask("ann", false, "/piece undo").Outcome())
					worlds = worlds[:len(worlds)-1]
					undone++
					a.count(t, c)
					assert.Equal(t, before, world(t, c))
					continue
				}
				line := a.line()
				reply := c.ask("ann", false, line)
				require.NotEqual(t, commands.WasFault, reply.Outcome(), "%s: %v", line, reply.Sentence())
				before := a.entries
				entries := a.count(t, c)
				if reply.Outcome() != commands.Answered {
					require.Equal(t, before, a.entries, "a mistake writes nothing: %s", line)
					continue
				}
				done++
				addsUp(t, c, entries)
				worlds = append(worlds, world(t, c))
			}
			require.Positive(t, undone)
			for len(worlds) > 1 {
				require.Equal(t, commands.Answered, c.ask("ann", false, "/piece undo").Outcome())
				worlds = worlds[:len(worlds)-1]
				require.Equal(t, worlds[len(worlds)-1], world(t, c))
			}
			assert.Equal(t, commands.WasRefused, c.ask("ann", false, "/piece undo").Outcome(), "there is nothing left to take back")
		})
	}
}

// count looks how much there is to speak of.
func (a *anybody) count(t *testing.T, c *chat) []price.Entry {
	t.Helper()
	l, err := c.store.Ledger(t.Context(), store.Who{Community: community, Member: "ann"})
	require.NoError(t, err)
	a.pieces, a.lots, a.entries = l.NextPiece-1, l.NextLot-1, l.NextEntry-1
	return l.Entries
}

// addsUp adds the entries up once more, slowly and in another way, and compares.
func addsUp(t *testing.T, c *chat, entries []price.Entry) {
	t.Helper()
	who := store.Who{Community: community, Member: "ann"}
	counts := slowly(entries)
	err := c.store.ReadBook(t.Context(), who, func(b *store.Book) error {
		pieces, err := b.Pieces(t.Context(), "", 0, 100)
		require.NoError(t, err)
		for _, p := range pieces {
			s, err := b.Sheet(t.Context(), p.Number)
			require.NoError(t, err)
			assert.Equal(t, counts.own[p.Number], s.OwnSeconds(), "piece %d: own seconds", p.Number)
			assert.Equal(t, counts.helpers[p.Number], s.HelperSeconds(), "piece %d: helpers' seconds", p.Number)
			paid := counts.paid[p.Number]
			for _, lot := range counts.lots {
				paid += lot.cost[p.Number]
			}
			assert.Equal(t, paid, s.Cost(), "piece %d: cost", p.Number)
		}
		for n, slow := range counts.lots {
			lot, err := b.Lot(t.Context(), n)
			require.NoError(t, err)
			left, worth := lot.Left()
			sum, quantity := worth, left
			for _, share := range lot.Shares {
				require.GreaterOrEqual(t, share.Cost, int64(0))
				sum, quantity = sum+share.Cost, quantity+share.Millionths
			}
			assert.Equal(t, slow.amount, sum, "the shares of lot %d and the rest are the lot", n)
			assert.Equal(t, slow.millionths, quantity)
			require.GreaterOrEqual(t, worth, int64(0))
		}
		return nil
	})
	require.NoError(t, err)
}

type slowLot struct {
	amount, millionths int64
	cost               map[int]int64
}

type slowCounts struct {
	own, helpers, paid map[int]int64
	lots               map[int]slowLot
}

// slowly goes through the entries once for each of them: what it says last, unless
// it was struck or undone, counts.
func slowly(entries []price.Entry) slowCounts {
	c := slowCounts{map[int]int64{}, map[int]int64{}, map[int]int64{}, map[int]slowLot{}}
	undone := map[int]bool{}
	about := map[int][]price.Entry{}
	for _, u := range entries {
		about[u.Target] = append(about[u.Target], u)
		undone[u.Target] = undone[u.Target] || u.Kind == price.EntryUndo
	}
	gone := func(n int) bool { return undone[n] }
	// says is an entry as it stands, nil when it counts nothing.
	says := func(e price.Entry) *price.Entry {
		if gone(e.Number) {
			return nil
		}
		now := &e
		for _, m := range about[e.Number] {
			switch {
			case gone(m.Number):
			case m.Kind == price.EntryStrike:
				now = nil
			case m.Kind == price.EntryCorrect:
				now = &m
			}
		}
		return now
	}
	for _, e := range entries {
		now := says(e)
		if now == nil {
			continue
		}
		switch e.Kind {
		case price.EntryTime, price.EntryOut, price.EntryStock:
			if now.Facts[price.FactPerson] != "" {
				c.helpers[e.Piece] += now.Seconds
			} else {
				c.own[e.Piece] += now.Seconds
			}
			c.paid[e.Piece] += now.Amount
		case price.EntryCost:
			c.paid[e.Piece] += now.Amount
		case price.EntryLot:
			c.lots[e.Lot] = slowLot{now.Amount, now.Millionths, map[int]int64{}}
		}
	}
	for _, e := range entries {
		now := says(e)
		if e.Kind != price.EntryShare || now == nil {
			continue
		}
		// What a share costs is the cost of all shares up to it less that of those
		// before it, each rounded half to even.
		lot := c.lots[e.Lot]
		before := int64(0)
		for _, o := range entries {
			if past := says(o); o.Kind == price.EntryShare && o.Lot == e.Lot && o.Number < e.Number && past != nil {
				before += past.Millionths
			}
		}
		upTo := func(q int64) int64 {
			exact := new(big.Rat).Mul(big.NewRat(lot.amount, 1), big.NewRat(q, lot.millionths))
			return halfEven(exact)
		}
		lot.cost[e.Piece] += upTo(before+now.Millionths) - upTo(before)
	}
	return c
}

func halfEven(r *big.Rat) int64 {
	floor := new(big.Int).Div(r.Num(), r.Denom()).Int64()
	switch new(big.Rat).Sub(r, big.NewRat(floor, 1)).Cmp(big.NewRat(1, 2)) {
	case 1:
		return floor + 1
	case 0:
		return floor + floor%2
	}
	return floor
}
