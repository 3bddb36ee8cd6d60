package commands_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/commands"
	"tallystick/store"
)

// lays puts a ledger of pieces and lots into ann's sheets, each piece with so many
// entries: hours, or where there is one lot alone, shares of it.
func (c *chat) lays(pieces, lots, each int) {
	c.t.Helper()
	l := store.Ledger{NextEntry: 1, NextPiece: 1, NextLot: 1}
	add := func(e price.Entry) {
		e.Number, e.At, e.Day, e.Currency = l.NextEntry, c.now.Unix(), int(pool.DayAt(c.now)), "USD"
		l.NextEntry++
		l.Entries = append(l.Entries, e)
	}
	more := price.Entry{Kind: price.EntryTime, Seconds: 60}
	if lots == 1 {
		more = price.Entry{Kind: price.EntryShare, Lot: 1, Millionths: 1_000}
	}
	for range lots {
		add(price.Entry{Kind: price.EntryLot, Lot: l.NextLot, Amount: 100, Millionths: 1_000_000_000, Facts: price.Facts{price.FactUnit: price.UnitBoardFeet}})
		l.NextLot++
	}
	for range pieces {
		add(price.Entry{Kind: price.EntryOpen, Piece: l.NextPiece, Facts: price.Facts{price.FactName: fmt.Sprint("piece ", l.NextPiece)}})
		for range each - 1 {
			more.Piece = l.NextPiece
			add(more)
		}
		l.NextPiece++
	}
	_, err := c.store.ImportLedger(context.Background(), store.Who{Community: community, Member: "ann"}, "laid", l, false, c.now)
	require.NoError(c.t, err)
}

// well says a line that is answered.
func (c *chat) well(line string) commands.Reply {
	c.t.Helper()
	r := c.ask("ann", false, line)
	require.Equal(c.t, commands.Answered, r.Outcome(), "%s: %s", line, r.Sentence())
	return r
}

// surely says a line that asks for a confirmation, and what it asks for.
func (c *chat) surely(line string) {
	c.t.Helper()
	for _, a := range c.well(line).Actions {
		if a.Options["confirm"] != "" {
			c.well(a.Line())
			return
		}
	}
	require.Fail(c.t, "nothing to confirm", line)
}

// preview gives the line that shares a sale.
func (c *chat) preview() string {
	for _, a := range c.well("/sale share price:430 category:bench").Actions {
		if a.Options["confirm"] != "" {
			return a.Line()
		}
	}
	return ""
}

// toRoom gives the line that puts a question to the room.
func (c *chat) toRoom() string {
	for _, a := range c.well("/charge about:stool 12x12x18 oak, 3h, 9 materials, want 20/h").Actions {
		if a.Path == "room ask" {
			return "/room ask draft:" + a.Options["draft"]
		}
	}
	return ""
}

// asked puts so many questions to the room, and closes them again if told to.
func (c *chat) asked(n int, close bool) {
	line := c.toRoom()
	for range n {
		for _, a := range c.well(line).Actions {
			if close && a.Path == "room close" {
				c.well(a.Line())
			}
		}
	}
}

// Whatever a member adds to, there is an end to it, and the sentence says how much
// is kept and how to make room.
func TestEverythingAMemberCanAddToHasAnEnd(t *testing.T) {
	t.Parallel()
	if raced {
		t.Skip("a hundred thousand entries take minutes under the race detector")
	}
	const another, lot = "/piece open name:Another", "/lot add what:elm paid:90 board-feet:9000"
	for _, one := range []struct {
		name    string
		prepare func(c *chat)
		line    func(c *chat) string
		want    string
		wayOut  func(c *chat)
	}{
		{"entries of a piece", func(c *chat) { c.lays(2, 0, price.MaxEntries) }, says("/piece time worked:1h piece:1"),
			"This piece has 1,000 entries, which is all I keep for one. A new piece has room: /piece open.",
			func(c *chat) { c.well(another); c.well("/piece time worked:1h") }},
		{"entries of a lot", func(c *chat) { c.lays(1, 1, price.MaxEntries) }, says("/piece stock share lot:1 take:1"),
			"This lot has 1,000 entries, which is all I keep for one. A new lot has room: /lot add.",
			func(c *chat) { c.well(lot); c.well(another); c.well("/piece stock share lot:2 take:1") }},
		{"pieces", func(c *chat) { c.lays(store.PieceLimit, 0, 1) }, says(another),
			"You have 5,000 pieces, which is all I keep for one member. Keep a copy with /piece export as:json, then make room with /piece delete.",
			func(c *chat) { c.surely("/piece delete piece:7"); c.well(another) }},
		{"lots", func(c *chat) { c.lays(1, store.LotLimit, 1) }, says(lot),
			"You have 1,000 lots, which is all I keep for one member. Keep a copy with /piece export as:json, then begin anew with /piece wipe.",
			func(c *chat) { c.surely("/piece wipe"); c.well(lot) }},
		{"entries in all", func(c *chat) { c.lays(store.EntryLimit/price.MaxEntries, 0, price.MaxEntries) }, says(lot),
			"You have 100,000 entries, which is all I keep for one member. Keep a copy with /piece export as:json, then make room with /piece delete.",
			func(c *chat) { c.surely("/piece delete piece:7"); c.well(lot) }},
		{"running clocks", func(c *chat) {
			c.well(another)
			for n := range store.ClockLimit {
				c.well(fmt.Sprintf("/piece clock in helper:h%d", n))
			}
		}, says("/piece clock in"),
			"You have 20 clocks running, which is all I keep for one member. Stop one first: /piece clock out.",
			func(c *chat) { c.well("/piece clock out helper:h7"); c.well("/piece clock in") }},
		{"shared sales", func(c *chat) {
			for range store.SaleLimit {
				c.well(c.preview())
			}
		}, (*chat).preview,
			"You share 500 sales, which is all I keep for one member. Take one back first: /sale withdraw.",
			func(c *chat) { c.well("/sale withdraw sale:3"); c.well(c.preview()) }},
		{"questions to the room", func(c *chat) { c.asked(store.RoomsKept, true) }, (*chat).toRoom,
			"You have put 100 questions to the room, which is all I keep for one member. The oldest goes 90 days after it closed.",
			func(c *chat) { c.now = c.now.AddDate(0, 0, 91); c.well(c.toRoom()) }},
		{"open questions", func(c *chat) { c.asked(store.RoomLimit, false) }, (*chat).toRoom,
			"You have 10 questions open in the room, and that is as many as I keep for one member. Close one first: /room close.",
			func(c *chat) { c.now = c.now.AddDate(0, 0, 30); c.well(c.toRoom()) }},
		{"venues", func(c *chat) {
			for n := range store.VenueLimit {
				c.well(fmt.Sprintf("/settings venue name:v%d fee:3%%", n))
			}
		}, says("/settings venue name:another fee:3%"),
			"You keep 25 venues already, and that is as many as I keep. Remove one first: /settings venue name:… remove:yes.",
			func(c *chat) {
				c.well("/settings venue name:v3 remove:yes")
				c.well("/settings venue name:another fee:3%")
			}},
	} {
		t.Run(one.name, func(t *testing.T) {
			t.Parallel()
			c := newChat(t)
			one.prepare(c)
			refused := c.ask("ann", false, one.line(c))
			assert.Equal(t, one.want, refused.Sentence())
			assert.Equal(t, commands.WasRefused, refused.Outcome())
			one.wayOut(c)
		})
	}
}

func says(line string) func(*chat) string { return func(*chat) string { return line } }
