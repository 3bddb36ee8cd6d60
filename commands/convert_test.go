package commands_test

import (
	"context"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

func offered(c *chat, value, typed string) []string {
	var labels []string
	for _, choice := range c.set.Suggest(context.Background(), commands.Request{
		Community: community, Member: "ann", Path: "convert", Options: map[string]string{"value": value}}, "to", typed, 100) {
		labels = append(labels, choice.Value)
	}
	return labels
}

func TestOnlyUnitsTheValueHasAreOffered(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	assert.ElementsMatch(t, []string{"m²/L", "ft²/US gal", "ft²/US qt", "ft²/imp gal", "ft²/imp qt"}, offered(c, "10 m2/L", ""))
	assert.Equal(t, []string{"kPa"}, offered(c, "100 psi", "kpa")[:1])
	assert.NotContains(t, offered(c, "7 ft", ""), "kg")
	assert.Contains(t, offered(c, "", ""), "kg", "before there is a value all units are offered")
	assert.Contains(t, offered(c, "7.50/bf", "m"), "m³", "a price goes by its unit")
}

// Source: testdata/published/units-check.csv (GNU Units 2.22): 1 m³ is 423.776000657863 board
// feet, so 7.50 a board foot is 3178.32000493397 a cubic metre.
func TestAPriceIsWrittenAsMoneyAndItsValueIsAllOfIt(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	reply := c.ask("ann", false, "/convert value:7.50/bf to:m3")
	require.Len(t, reply.Figures, 1)
	f := reply.Figures[0]
	assert.Equal(t, "converted", f.Key)
	assert.Equal(t, "USD/m³", f.Unit)
	assert.Equal(t, "$3,178.32 for one m³", f.Text)
	got, ok := new(big.Rat).SetString(f.Value)
	require.True(t, ok)
	want, _ := new(big.Rat).SetString("3178.32000493397")
	off := got.Sub(got, want)
	assert.Negative(t, off.Abs(off).Cmp(big.NewRat(1, 10_000_000)), f.Value)
}

// What is shown short is whole in the figure's value.
func TestBothSystemsAreShownShortAndKeptWhole(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	reply := c.ask("ann", false, "/convert value:1 m")
	texts, values := map[string]string{}, map[string]string{}
	for _, f := range reply.Figures {
		texts[f.Key], values[f.Key] = f.Text, f.Value
	}
	assert.Equal(t, map[string]string{"to_mm": "1000 mm", "to_cm": "100 cm", "to_m": "1 m", "to_in": "about 39.3701 in", "to_ft": "about 3.28084 ft"}, texts)
	assert.Equal(t, "39.3700787402", values["to_in"])
	// Every kind of measure there is has its usual units.
	for _, value := range []string{"3 ft", "4 ft2", "5 bf", "1 gal", "6 lb", "20 C", "7 lbf", "8 psi", "9 ft-lb", "40 lb/ft3", "400 ft2/gal", "7.50/bf", "3/ft"} {
		reply := c.ask("ann", false, "/convert value:"+value)
		assert.Empty(t, reply.Sentence(), value)
		assert.GreaterOrEqual(t, len(reply.Figures), 2, value)
	}
}
