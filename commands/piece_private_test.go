package commands_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
	"tallystick/store"
)

// paths that take a piece, an entry or a lot by number.
var byNumber = []string{
	"/piece show piece:%d", "/piece take piece:%d", "/piece trail piece:%d", "/piece rename name:Mine piece:%d", "/piece plan rate:1 piece:%d",
	"/piece time worked:1h piece:%d", "/piece clock in piece:%d", "/piece cost kind:part paid:1 piece:%d", "/piece stock found board-feet:1 piece:%d",
	"/piece stock bought paid:1 piece:%d", "/piece listing piece:%d", "/piece post where:x price:1 piece:%d", "/piece offer who:x amount:1 piece:%d",
	"/piece sold price:1 piece:%d", "/piece close as:kept piece:%d", "/piece reopen piece:%d", "/piece delete piece:%d",
	"/piece correct entry:%d strike:yes", "/lot list lot:%d",
}

// A member can neither see nor change nor guess another's pieces: every number
// reads as one that nobody has.
func TestAnotherMembersNumbersReadAsNobodys(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, line := range []string{"/piece open name:Zebrawood casket category:bench", "/piece time worked:2h", "/lot add what:zebrawood paid:90 board-feet:9",
		"/piece stock share lot:1 take:3", "/piece open name:Second zebra", "/piece clock in stage:zebra"} {
		require.Equal(t, commands.Answered, c.ask("ann", false, line).Outcome(), line)
	}
	before := worldOf(t, c, "ann")
	for n := range 30 {
		for _, path := range byNumber {
			theirs := c.ask("ben", false, fmt.Sprintf(path, n+1))
			nobodys := c.ask("cid", false, fmt.Sprintf(path, n+1))
			require.Equal(t, commands.WasMistake, theirs.Outcome(), path, n)
			assert.Equal(t, nobodys.Sentence(), theirs.Sentence(), "ben, who might guess, hears what cid hears")
			assert.NotContains(t, strings.ToLower(theirs.Sentence()), "zebra")
		}
	}
	for _, line := range []string{"/piece show piece:Zebrawood casket", "/piece show", "/piece list", "/piece learn category:bench", "/piece clock out", "/piece undo", "/piece export", "/piece wipe", "/lot list"} {
		text, err := json.Marshal(c.ask("ben", false, line))
		require.NoError(t, err)
		asked := strings.ReplaceAll(strings.ToLower(string(text)), "zebrawood casket", "") // what ben typed himself
		assert.NotContains(t, asked, "zebra", line)
	}
	for _, option := range []struct{ path, name string }{{"piece show", "piece"}, {"piece stock share", "lot"}, {"piece learn", "category"}} {
		req := commands.Request{Community: community, Member: "ben", Path: option.path, Time: c.now}
		assert.Empty(t, c.set.Suggest(context.Background(), req, option.name, "", 25), "nothing of ann's is offered to ben")
		req.Member = "ann"
		assert.NotEmpty(t, c.set.Suggest(context.Background(), req, option.name, "", 25))
		req.Community = "elsewhere"
		assert.Empty(t, c.set.Suggest(context.Background(), req, option.name, "", 25), "nor to the same account in another community")
	}
	assert.Equal(t, before, worldOf(t, c, "ann"), "and nothing has changed")
}

func worldOf(t *testing.T, c *chat, member string) string {
	t.Helper()
	text, err := json.Marshal(c.ask(member, false, "/piece export"))
	require.NoError(t, err)
	return string(text)
}

// untimed leaves times out of a log line: their digits may be any.
func untimed(_ []string, a slog.Attr) slog.Attr {
	if a.Key == slog.TimeKey || a.Key == "took" {
		return slog.Attr{}
	}
	return a
}

// No name, note, amount or nickname comes into the log, not even with a fault.
func TestNothingOfAPieceComesIntoTheLog(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	var log bytes.Buffer
	var err error
	c.set, err = commands.New(commands.Config{Store: c.store, Log: slog.New(slog.NewJSONHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug, ReplaceAttr: untimed})), Bare: c.bare,
		Reference: func() string { return "F001" }})
	require.NoError(t, err)
	lines := []string{
		"/piece open name:Quagga chest category:quagga-kind note:quagga note", "/piece rename name:Quagga box", "/piece time worked:77h stage:quagga reason:quagga",
		"/piece clock in stage:quagga helper:Quagga pay:77.31", "/piece clock out helper:Quagga", "/lot add what:quagga paid:7731 count:3 unit:quagga",
		"/piece stock share lot:1 take:1", "/piece cost kind:part what:quagga paid:77.31", "/piece listing wood:quagga flaws:quagga", "/piece post where:quagga price:7731",
		"/piece offer who:Quagga amount:7731", "/piece show piece:quagga", "/piece import json:{quagga}", "/piece undo", "/piece sold price:7731 to:Quagga",
		"/piece trail", "/piece list", "/piece export", "/piece learn category:quagga-kind", "/piece delete piece:Quagga box",
	}
	for _, line := range lines {
		c.ask("ann", false, line)
	}
	c.close() // from here on each is a fault
	for _, line := range lines {
		assert.Equal(t, commands.WasFault, c.ask("ann", false, line).Outcome(), line)
	}
	text := strings.ToLower(log.String())
	assert.Equal(t, 3*len(lines), strings.Count(text, "\n"), "a line for each request, and one more for each fault")
	assert.NotContains(t, text, "quagga")
	assert.NotContains(t, text, "7731")
	assert.NotContains(t, text, "77.31")
}

// fill gives ann some of everything.
func fill(t *testing.T, c *chat) {
	t.Helper()
	for _, line := range []string{
		"/piece open name:=HYPERLINK(\"x\") category:bench size:48 x 14 x 18 in estimate:12h rate:25 fee:2.9% fixed-fee:0.30 haggle:12% note:-2+3",
		"/piece stock found what:@oak: and more boards:6 @ 5/8 x 3-1/2 x 40 in trip:23.20 cleaning:1h15", "/lot add what:+ash paid:160 board-feet:20 tax:8.25%",
		"/piece stock share lot:1 take:7", "/piece clock in stage:Fräsen ago:50m", "/piece clock out", "/piece time worked:90m stage:=1+1 helper:Sam pay:15",
		"/piece correct entry:7 worked:1h reason:\"it was: less\"", "/piece cost kind:consumable what:oil paid:46 used:1/4", "/piece undo", "/piece cost kind:other paid:4",
		"/piece correct entry:11 strike:yes", "/piece clock limit length:2h", "/piece clock in", "/piece post where:board price:480", "/piece post where:board price:450",
		"/piece offer who:Van amount:400 hold:48h", "/piece clock out", "/piece sold price:430 to:Van tax:35.48", "/piece reopen reason:no show", "/piece sold price:420",
		"/piece open name:Kept category:bench", "/piece close as:kept", "/piece open name:Gone", "/piece open name:Running", "/piece clock in stage:turning",
	} {
		reply := c.ask("ann", false, line)
		require.Equal(t, commands.Answered, reply.Outcome(), "%s: %s", line, reply.Sentence())
	}
	delete := c.ask("ann", false, "/piece delete piece:Gone")
	require.Len(t, delete.Actions, 1)
	require.Equal(t, commands.Answered, c.ask("ann", false, delete.Actions[0].Line()).Outcome())
}

// seen is all that ann is told of her sheets.
func seen(t *testing.T, c *chat) string {
	t.Helper()
	var b strings.Builder
	for _, line := range []string{"/piece list", "/piece learn", "/piece show", "/piece show piece:1", "/piece trail piece:1", "/piece show piece:2", "/piece show piece:4",
		"/lot list lot:1", "/piece export as:csv", "/piece export as:pieces", "/piece export year:2026"} {
		text, err := json.Marshal(c.ask("ann", false, line))
		require.NoError(t, err)
		b.Write(append(text, '\n'))
	}
	return b.String()
}

func TestExportWipeAndImportGiveTheSameSheetsAgain(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	fill(t, c)
	exported := c.ask("ann", false, "/piece export")
	require.NotNil(t, exported.File)
	assert.Equal(t, "application/json", exported.File.MediaType)
	before, sums := seen(t, c), world(t, c)
	wipe := c.ask("ann", false, "/piece wipe")
	require.Equal(t, commands.Answered, c.ask("ann", false, wipe.Actions[0].Line()).Outcome())
	require.NotEqual(t, before, seen(t, c))
	// As it would be typed: the line goes through the reading of lines too.
	line := commands.FormatLine("piece import", map[string]string{"json": strings.TrimSpace(string(exported.File.Bytes))})
	taken := c.ask("ann", false, line)
	require.Equal(t, commands.Answered, taken.Outcome(), taken.Sentence())
	assert.Equal(t, before, seen(t, c))
	assert.Equal(t, sums, world(t, c))
	assert.Equal(t, string(exported.File.Bytes), string(c.ask("ann", false, "/piece export").File.Bytes))

	// Numbers go on where they were, what was deleted included.
	assert.Contains(t, c.ask("ann", false, "/piece open name:Next").Title, "Piece 5")
	// Beside what is there they get numbers of their own, and the same sums.
	c.ask("ann", false, "/piece clock out")
	still := c.ask("ann", false, "/piece export")
	assert.NotEqual(t, exported.File.Bytes, still.File.Bytes)
	again := commands.FormatLine("piece import", map[string]string{"json": strings.TrimSpace(string(still.File.Bytes)), "beside": "yes"})
	require.Equal(t, commands.Answered, c.ask("ann", false, again).Outcome())
	one, six := c.ask("ann", false, "/piece show piece:1"), c.ask("ann", false, "/piece show piece:6")
	assert.Equal(t, one.Figures, six.Figures)
	assert.Equal(t, one.Tables, six.Tables)
	// A member may carry them to another account.
	require.Equal(t, commands.Answered, c.ask("ben", false, line).Outcome())
	assert.Equal(t, string(exported.File.Bytes), string(c.ask("ben", false, "/piece export").File.Bytes))
}

// https://owasp.org/www-community/attacks/CSV_Injection names the characters.
func TestNoCellOfAnExportRunsAsAFormula(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	fill(t, c)
	for _, line := range []string{"/piece open name:\t=1", "/piece open name:\" =1+1\"", "/piece open name:＝1", "/piece open name:-1", "/piece open name:@a", "/piece open name:+1"} {
		require.Equal(t, commands.Answered, c.ask("ann", false, line).Outcome(), line)
	}
	for _, as := range []string{"as:csv", "as:pieces", "year:2026"} {
		reply := c.ask("ann", false, "/piece export "+as)
		require.NotNil(t, reply.File, as)
		rows, err := csv.NewReader(bytes.NewReader(reply.File.Bytes)).ReadAll()
		require.NoError(t, err, "it is CSV as RFC 4180 has it, every row as long as the first")
		require.Greater(t, len(rows), 1)
		quoted := 0
		for _, row := range rows {
			for _, cell := range row {
				if trimmed := strings.TrimLeft(cell, " "); trimmed != "" {
					assert.NotContains(t, "=+-@\t\r\n＝＋－＠", string([]rune(trimmed)[0]), "%s: %q", as, cell)
				}
				if strings.HasPrefix(cell, "'") {
					quoted++
				}
			}
		}
		assert.Positive(t, quoted, "%s holds cells that needed it", as)
	}
}

func TestAYearHoldsItsPaymentsAndSalesOnTheirDays(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, line := range []string{
		"/piece open name:Bench", "/lot add what:ash paid:160 tax:10% trip:12 board-feet:20 on:2025-12-31", "/piece stock share lot:1 take:5 on:2026-01-02",
		"/piece cost kind:part what:slides paid:20 tax:8.25% on:2026-01-03", "/piece time worked:2h helper:Sam pay:15 on:2026-01-04", "/piece time worked:9h on:2026-01-04",
		"/piece sold price:430 fee:2.9% fixed-fee:0.30 tax:35.48 to:Van on:2026-02-01", "/piece reopen", "/piece sold price:400 fee:10% tax:33 to:Bike on:2026-02-20",
	} {
		require.Equal(t, commands.Answered, c.ask("ann", false, line).Outcome(), line)
	}
	year := func(n string) ([][]string, map[string]commands.Figure) {
		reply := c.ask("ann", false, "/piece export year:"+n)
		rows, err := csv.NewReader(bytes.NewReader(reply.File.Bytes)).ReadAll()
		require.NoError(t, err)
		return rows[1:], figuresOf(t, reply)
	}
	rows, sums := year("2025")
	assert.Equal(t, [][]string{
		{"2025-12-31", "stock", "ash", "", "", "", "176.00", "16.00", "USD", "2"},
		{"2025-12-31", "trip", "ash", "", "", "", "12.00", "", "USD", "2"},
	}, rows)
	assert.Equal(t, "188.00", sums["money_out"].Value)
	rows, sums = year("2026")
	assert.Equal(t, [][]string{
		{"2026-01-03", "part", "slides", "1", "Bench", "", "21.65", "1.65", "USD", "4"},
		{"2026-01-04", "helper", "Sam", "1", "Bench", "", "30.00", "", "USD", "5"},
		{"2026-02-20", "sale", "Bike", "1", "Bench", "400.00", "", "", "USD", "9"},
		{"2026-02-20", "sales tax taken, to be passed on", "Bike", "1", "Bench", "", "", "33.00", "USD", "9"},
		{"2026-02-20", "selling fee", "", "1", "Bench", "", "40.00", "", "USD", "9"},
	}, rows, "the sale that was taken back is not there")
	assert.Equal(t, "400.00", sums["money_in"].Value)
	assert.Equal(t, "91.65", sums["money_out"].Value)
}

func TestADeliveryThatComesAgainIsWrittenOnce(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	twice := func(line string) commands.Reply {
		t.Helper()
		first := c.ask("ann", false, line)
		require.Equal(t, commands.Answered, first.Outcome(), line)
		size := len(c.ledger().Entries)
		c.said-- // the same delivery
		again := c.ask("ann", false, line)
		require.Equal(t, commands.Answered, again.Outcome(), "%s: %s", line, again.Sentence())
		require.Len(t, c.ledger().Entries, size, line)
		return first
	}
	for _, line := range []string{"/piece open name:Bench", "/piece clock in", "/piece clock out", "/piece time worked:1h", "/piece correct entry:4 worked:2h", "/piece undo",
		"/lot add paid:10 board-feet:3", "/piece stock share lot:1 take:1", "/piece cost kind:part paid:3", "/piece post where:x price:9", "/piece offer who:y amount:3",
		"/piece sold price:9", "/piece reopen", "/piece rename name:Box", "/piece take piece:1", "/piece plan rate:3", "/piece listing finish:oil", "/piece close as:kept"} {
		twice(line)
	}
	twice(twice("/piece delete piece:1").Actions[0].Line())
	twice(twice("/piece wipe").Actions[0].Line())
}

func (c *chat) ledger() store.Ledger {
	l, err := c.store.Ledger(context.Background(), store.Who{Community: community, Member: "ann"})
	require.NoError(c.t, err)
	return l
}
