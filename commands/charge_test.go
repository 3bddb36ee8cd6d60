package commands_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// textOf is a figure as people read it.
func textOf(t *testing.T, reply commands.Reply, key string) string {
	t.Helper()
	for _, f := range reply.Figures {
		if f.Key == key {
			return f.Text
		}
	}
	require.Fail(t, "no figure "+key, "%v", reply.Figures)
	return ""
}

// action finds what a reply offers.
func action(t *testing.T, reply commands.Reply, label string) commands.Action {
	t.Helper()
	i := slices.IndexFunc(reply.Actions, func(a commands.Action) bool { return a.Label == label })
	require.GreaterOrEqual(t, i, 0, "no action %q in %v: %s", label, reply.Actions, reply.Sentence())
	return reply.Actions[i]
}

// The same facts, told to /charge in a line and to /price, /boardfeet, /weight,
// /cost trip and /market show in options.
func TestAChargedPieceIsPricedAsEveryOtherCommandSays(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	c.practise("40", "0")
	c.ask("ann", false, "/settings venue name:fair fee:6.5% fixed-fee:0.30")
	for _, told := range []struct{ about, price, boards, weight, category string }{
		{"hall bench 48x14x18 elm, 14h15, 84 materials + 11.50 glue and oil, want 25/h, at least 18/h, haggle 10%, shop takes 30%",
			"hours:14h15 materials:95.50 rate:25 lowest-rate:18 haggle:10% fee:30% fee-on-tax:no size:48 x 14", "", "", "bench"},
		{"table top hard maple 39x23x1-3/4, 6-9 h, $124.90 wood, 30/h, card fee 2.9% + 0.30",
			"hours:6-9 h materials:124.90 rate:30 fee:2.9% fixed-fee:0.30 size:39x23x1-3/4", "1-3/4 x 23 x 39", "species:hard maple size:39x23x1-3/4", ""},
		{"stool, 6 @ 5/8 x 3-1/2 x 40 in, white oak, 9h, 40 lumber, 24/h, sales tax 8%, fair",
			"hours:9h materials:40 rate:24 tax:8% venue:fair boards:6 @ 5/8 x 3-1/2 x 40 in", "6 @ 5/8 x 3-1/2 x 40 in",
			"species:white oak boards:6 @ 5/8 x 3-1/2 x 40 in", "stool"},
		{"3 boxes walnut 12x8x1, 5h, 30 wood, want 20/h, moisture 9%",
			"hours:5h materials:30 rate:20 size:36x8 boards:3 @ 1x8x12", "3 @ 1x8x12", "species:walnut size:12x8x1 count:3 moisture:9%", "box"},
		{"shelf, 4h, 22 € pine boards, 28 €/h, 10% haggling", "hours:4h materials:22 EUR rate:28 EUR haggle:10%", "", "", "shelf"},
		{"84 materials", "materials:84", "", "", ""},
	} {
		charged := c.ask("ann", false, "/charge about:"+told.about)
		priced := c.ask("ann", false, "/price "+told.price)
		checked := 0
		for _, f := range priced.Figures {
			if f.Key == "break_even" && (has(charged, "target_price") || has(charged, "target_price_low")) || !slices.Contains(priceKeys, strings.TrimSuffix(strings.TrimSuffix(f.Key, "_low"), "_high")) {
				continue
			}
			checked++
			assert.Equal(t, decimal.RequireFromString(f.Value).String(), valueText(t, charged, f.Key), "%s of %q", f.Key, told.about)
		}
		assert.Positive(t, checked)
		again := c.ask("ann", false, action(t, charged, "The whole sum").Line())
		for _, f := range again.Figures {
			if has(charged, f.Key) {
				assert.Equal(t, decimal.RequireFromString(f.Value).String(), valueText(t, charged, f.Key), "the whole sum says another %s", f.Key)
			}
		}
		if told.boards != "" {
			assert.Equal(t, textOf(t, c.ask("ann", false, "/boardfeet boards:"+told.boards), "board_feet"), textOf(t, charged, "board_feet"))
		}
		if told.weight != "" {
			assert.Equal(t, textOf(t, c.ask("ann", false, "/weight "+told.weight), "weight"), textOf(t, charged, "weight"))
		}
		market := c.ask("ann", false, "/market show category:"+told.category)
		if !has(market, "price") {
			market = c.ask("ann", false, "/market show")
		}
		assertSoldBeside(t, market, charged)
	}
}

var priceKeys = []string{"break_even", "floor_price", "target_price", "asking_price", "price_per_board_foot", "price_per_square_foot"}

func valueText(t *testing.T, reply commands.Reply, key string) string {
	t.Helper()
	return valueOf(t, reply, key).String()
}

// assertSoldBeside finds every median and middle half of /market show in the table
// beside the prices, and nowhere among them.
func assertSoldBeside(t *testing.T, market, charged commands.Reply) {
	t.Helper()
	i := slices.IndexFunc(charged.Tables, func(table commands.Table) bool { return strings.HasPrefix(table.Title, "Beside it") })
	require.GreaterOrEqual(t, i, 0)
	beside := charged.Tables[i]
	require.Len(t, beside.Rows, len(market.Figures))
	for n, f := range market.Figures {
		assert.Equal(t, f.Text, beside.Rows[n][1])
		assert.Equal(t, f.Label, "Median "+beside.Rows[n][0])
	}
	for _, middles := range market.Tables {
		for _, row := range middles.Rows {
			for _, there := range beside.Rows {
				if there[0] == row[0] {
					assert.Equal(t, row[1]+" to "+row[2], there[2])
				}
			}
		}
	}
	assert.Contains(t, strings.Join(charged.Notes, "\n"), "makers, one voice each, as of ")
}

func TestTheDriveCostsWhatCostTripSays(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for about, trip := range map[string]string{
		"drive 32 mi":                "distance:32 mi",
		"16 miles each way":          "distance:32 mi",
		"20 km + 30 km at 0.45 a km": "distance:50 km rate:0.45/km",
	} {
		charged := c.ask("ann", false, "/charge about:stool, 9h, 40 wood, want 24/h, "+about)
		drive := valueOf(t, c.ask("ann", false, "/cost trip "+trip), "trip_cost")
		plain := valueOf(t, c.ask("ann", false, "/charge about:stool, 9h, 40 wood, want 24/h"), "target_price")
		assert.True(t, valueOf(t, charged, "target_price").Sub(plain).Equal(drive), about)
	}
}

func TestWhatMovesTheTargetIsWhatPriceSaysOfTheChangedFacts(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	charged := c.ask("ann", false, "/charge about:bench, 14h15, 95.50 materials, want 25/h, card fee 2.9% + 0.30")
	notes := strings.Join(charged.Notes, "\n")
	for said, changed := range map[string]string{
		"With an hour less of work, the target would be ":              "hours:13h15 materials:95.50 rate:25 fee:2.9% fixed-fee:0.30",
		"With the materials at half their price, the target would be ": "hours:14h15 materials:47.75 rate:25 fee:2.9% fixed-fee:0.30",
		"Sold where nothing is taken, the target would be ":            "hours:14h15 materials:95.50 rate:25",
	} {
		assert.Contains(t, notes, said+textOf(t, c.ask("ann", false, "/price "+changed), "target_price")+".")
	}
}

func TestACorrectionGoesThroughTheFormAndSurvivesARestart(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	line := "bench, 84 materials, want 25/h, " + strings.Repeat("very ", 700) + "heavy"
	first := c.ask("ann", false, "/charge about:"+line)
	assert.Contains(t, strings.Join(first.Notes, "\n"), "What matters most now: your hours")
	right := action(t, first, "Put it right")
	assert.True(t, right.Asks)
	assert.Less(t, len("1-|"+right.Path+"|draft|"+right.Options["draft"]+"|"), 100, "it fits a button")
	c.close()
	c.open()
	form, refused := c.set.Form(t.Context(), commands.Request{Community: community, Member: "ann", Path: right.Path, Options: right.Options, Time: c.now})
	require.NotNil(t, form, refused.Sentence())
	values := map[string]string{}
	for _, f := range form.Fields {
		values[f.Option] = f.Value
	}
	assert.Equal(t, map[string]string{"about": line, "hours": "", "materials": "", "rate": "", "size": ""}, values)
	values["hours"], values["materials"] = "9h", "90"
	maps.Copy(values, form.Options)
	second := c.do("ann", form.Path, values)
	assert.Equal(t, "315", valueText(t, second, "target_price"))
	assert.True(t, second.Update, "it takes the place of the card it corrects")
	form, _ = c.set.Form(t.Context(), commands.Request{Community: community, Member: "ann", Path: right.Path, Options: right.Options, Time: c.now})
	assert.Equal(t, "9h", form.Fields[1].Value)
	values["hours"] = ""
	third := c.do("ann", form.Path, values)
	assert.False(t, has(third, "target_price"), "an emptied field takes back what stood there")
}

func (c *chat) do(member, path string, options map[string]string) commands.Reply {
	c.said++
	return c.set.Do(c.t.Context(), commands.Request{Delivery: fmt.Sprintf("delivery-%d", c.said), Community: community, Member: member, Path: path, Options: options, Time: c.now})
}

// Nobody is ever shown what one of the others answered.
func TestFivePeopleInTheRoomAndASixthWhoChangesTheirAnswer(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	asked := c.ask("ann", false, "/charge about:hall bench 48x14x18 elm, 14h15, 1084.17 materials, want 27.31/h, shop takes 31%")
	card := c.do("ann", "room ask", map[string]string{"draft": action(t, asked, "Ask the room").Options["draft"], "note": "oiled"})
	require.False(t, card.Private)
	require.False(t, card.Update, "it does not take the place of the private answer")
	for _, cost := range []string{"1084", "1,084", "27.31", "31", "14 h", "draft"} {
		assert.NotContains(t, card.Plain(), cost, "no cost is on the card")
	}
	say := action(t, card, "Say your price")
	form, _ := c.set.Form(t.Context(), commands.Request{Community: community, Member: "bob", Path: say.Path, Options: say.Options, Time: c.now})
	require.NotNil(t, form)
	require.Equal(t, "price", form.Fields[0].Option)

	answers := map[string]string{"bob": "431.17", "cid": "389.23", "dee": "517.29", "eve": "298.31", "fay": "607.37"}
	var seen []commands.Reply
	answer := func(member, price string) {
		options := maps.Clone(form.Options)
		options["price"] = price
		reply := c.do(member, form.Path, options)
		require.True(t, reply.Update, "the card changes in its place")
		require.False(t, reply.Private)
		seen = append(seen, reply)
	}
	for _, member := range slices.Sorted(maps.Keys(answers)) {
		answer(member, answers[member])
	}
	for _, early := range seen[:4] {
		require.Len(t, early.Figures, 1, "when it closes, and no figure of anybody's")
		assert.Equal(t, "room_closes", early.Figures[0].Key)
	}
	// Sorted 298.31 389.23 431.17 517.29 607.37: by type 7 the quartiles are 389.23
	// and 517.29; 355, 450 and 560 are preferred numbers (ISO 3).
	for key, want := range map[string]string{"room_median": "450", "room_low": "355", "room_high": "560"} {
		assert.Equal(t, want, valueText(t, seen[4], key))
	}
	answers["gus"], answers["gus before"] = "299.41", "640.43"
	answer("gus", answers["gus before"])
	answer("gus", answers["gus"])
	// 298.31 299.41 389.23 431.17 517.29 607.37: the median is 410.20.
	assert.Equal(t, "400", valueText(t, seen[6], "room_median"))
	seen = append(seen, c.do("ann", "room show", map[string]string{"room": say.Options["room"]}), c.do("bob", "room show", map[string]string{"room": say.Options["room"]}))
	assert.Equal(t, seen[7], seen[8], "the asker sees what all see")
	c.now = c.now.Add(73 * time.Hour)
	seen = append(seen, c.do("ann", "room show", map[string]string{"room": say.Options["room"]}))
	assert.Contains(t, strings.Join(seen[9].Notes, "\n"), "The single answers are deleted")
	assert.Equal(t, "400", valueText(t, seen[9], "room_median"))
	assert.Empty(t, seen[9].Actions)
	for _, reply := range seen {
		wire, err := json.Marshal(reply)
		require.NoError(t, err)
		for member, price := range answers {
			assert.NotContains(t, string(wire)+reply.Plain(), price, "%s's answer", member)
			assert.NotContains(t, string(wire)+reply.Plain(), member)
		}
	}
}

func TestATypedAnswerIsToldToItsMemberAloneSoThatNobodyReadsItBesideACard(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	asked := c.ask("ann", false, "/charge about:bench, 9h")
	card := c.do("ann", "room ask", map[string]string{"draft": action(t, asked, "Ask the room").Options["draft"]})
	req := commands.Request{Path: "room answer", Options: map[string]string{"room": action(t, card, "Say your price").Options["room"], "price": "430"}}
	assert.True(t, c.set.Private(req))
	assert.True(t, c.do("bob", req.Path, req.Options).Private)
	for i := range 5 {
		req.Options["price"] = fmt.Sprint(431 + i)
		assert.Equal(t, commands.Answered, c.do("bob", req.Path, req.Options).Outcome())
	}
	req.Options["price"] = "440"
	assert.Equal(t, commands.WasRefused, c.do("bob", req.Path, req.Options).Outcome(), "a sixth change could find out what others said")
}

func TestEveryMistakeOfALineLeavesAnAnswerAndAForm(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, about := range []string{"?", "+ + +", "\"\"", "48x", "🪵", strings.Repeat("x", 4000), strings.Repeat("84 materials + ", 266), strings.Repeat("2x4 ", 1000), "%%%", "shop takes 100%", "takes 99.9999%, 9h, 25/h, 1 wood"} {
		reply := c.do("ann", "charge", map[string]string{"about": about})
		assert.Equal(t, commands.Answered, reply.Outcome(), "%.40q: %s", about, reply.Sentence())
		assert.Less(t, len(reply.Plain()), 8000, "%.40q", about)
	}
}
