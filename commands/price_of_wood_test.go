package commands_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// figureOf is the value of a figure by its key, empty where there is none.
func figureOf(reply commands.Reply, key string) string {
	for _, f := range reply.Figures {
		if f.Key == key {
			return f.Value
		}
	}
	return ""
}

// The sums are by hand: four boards of 27 x 145 x 2400 mm are 0.037584 m³, and by
// 1 bf = 0.002359737216 m³ (1 in = 25.4 mm, NIST SP 811, appendix B.8) 15.9272 bf.
// At 1250 a cubic metre they cost 46.98, at 7.50 a board foot 119.454, and a board foot
// at 12,000 a cubic metre is 28.316847.
func TestAPriceOfWoodIsForWhatAMemberMeasuresInUnlessItsUnitIsWritten(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	c.ask("mia", false, "/settings set units:metric currency:EUR")
	c.ask("ian", false, "/settings set units:imperial currency:EUR")
	for _, member := range []string{"mia", "ian"} {
		require.Nil(t, c.ask(member, false, "/piece open name:bench").Mistake)
	}
	const boards = "27 mm x 145 mm x 2400 mm"
	for _, tc := range []struct{ member, price, cost, read string }{
		{"mia", "1250", "46.98", "€1,250.00 a cubic metre"},
		{"mia", "1250 €/m³", "46.98", "€1,250.00 a cubic metre"},
		{"mia", "7.50/bf", "119.45", "€7.50 a board foot (€3,178.32 a cubic metre)"},
		{"ian", "7.50", "119.45", "€7.50 a board foot"},
		{"ian", "1250/m3", "46.98", "€1,250.00 a cubic metre"},
		{"ian", "1250 € per cubic metre", "46.98", "€1,250.00 a cubic metre"},
	} {
		bare := tc.member == "mia" && tc.price == "1250"
		for _, line := range []string{
			"/boardfeet boards:4 @ " + boards + " price:",
			"/panel needs size:2400 mm x 580 mm x 27 mm board:" + boards + " price:",
		} {
			reply := c.ask(tc.member, false, line+tc.price)
			require.Nil(t, reply.Mistake, "%s: %s%s: %s", tc.member, line, tc.price, reply.Sentence())
			assert.Equal(t, tc.cost, figureOf(reply, "cost"), "%s: %s%s", tc.member, line, tc.price)
			notes := strings.Join(reply.Notes, "\n")
			assert.Contains(t, notes, tc.read, "%s: %s%s", tc.member, line, tc.price)
			assert.Equal(t, bare, strings.Contains(notes, "for a board foot write 7.50/bf"), "%s: %s%s: %s", tc.member, line, tc.price, notes)
		}
		line := "/piece stock bought boards:4 @ " + boards + " price:" + tc.price
		reply := c.ask(tc.member, false, line)
		require.Nil(t, reply.Mistake, "%s: %s: %s", tc.member, line, reply.Sentence())
		assert.Contains(t, strings.Join(reply.Notes, "\n"), tc.read+", €"+tc.cost+" in all", "%s: %s", tc.member, line)
	}
	for _, mine := range []struct{ member, price, foot string }{
		{"mia", "12000 $", "28.316847"}, {"mia", "29.70 $/bf", "29.7"},
		{"ian", "29.70 $", "29.7"}, {"ian", "12000 $/m3", "28.316847"},
	} {
		reply := c.ask(mine.member, false, "/market show mine:"+mine.price)
		assert.Equal(t, mine.foot, figureOf(reply, "mine_per_board_foot"), "%s: %s", mine.member, mine.price)
	}
}

// Thin stock counts as an inch where it is paid by the board foot, and as the wood it
// is where it is paid by the cubic metre.
func TestThinStockIsPaidByTheCubicMetreForWhatItIs(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	reply := c.ask("ian", false, "/boardfeet boards:6 @ 18 mm x 145 mm x 2400 mm price:1250/m3")
	assert.Equal(t, "46.98", figureOf(reply, "cost"))
	assert.Empty(t, figureOf(reply, "cost_counted"))
	reply = c.ask("ian", false, "/boardfeet boards:6 @ 18 mm x 145 mm x 2400 mm price:7.50")
	assert.NotEmpty(t, figureOf(reply, "cost_counted"))
}

func TestABudgetForAMetricMemberIsForTheCubicMetreToo(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	const line = "/budget price:430 hours:9 rate:25 costs:40.90 boards:4 @ 27 mm x 145 mm x 2400 mm waste:30%"
	assert.Empty(t, figureOf(c.ask("ian", false, line), "stock_budget_per_cubic_metre"))
	c.ask("mia", false, "/settings set units:metric")
	reply := c.ask("mia", false, line)
	// 430 - 40.90 - 9 · 25 = 164.10; · 0.7 / 0.037584 m³ = 3056.353...
	assert.Equal(t, "164.10", figureOf(reply, "stock_budget"))
	assert.Equal(t, "3056.35", figureOf(reply, "stock_budget_per_cubic_metre"))
}
