package commands_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestTheMarketsChartIsReadWithoutColourAndWithoutEyes(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	c.practise("60", "18")
	reply := c.ask("ann", false, "/market show category:stool mine:31.20")
	require.NotNil(t, reply.Picture)
	drawn, err := png.Decode(bytes.NewReader(fileOf(t, reply.Picture)))
	require.NoError(t, err)
	assert.Equal(t, image.Rect(0, 0, 1000, 600), drawn.Bounds())
	for y := range 600 {
		for x := range 1000 {
			r, g, b, _ := drawn.At(x, y).RGBA()
			require.True(t, r == g && g == b, "colour at %d, %d", x, y)
		}
	}
	for _, figure := range reply.Figures {
		if strings.HasSuffix(figure.Key, "per_board_foot") && figure.Key != "sober_per_board_foot" {
			assert.Contains(t, reply.Picture.Alt(), figure.Value, "%s is told in words, too", figure.Label)
		}
	}
	again := c.ask("ann", false, "/market show category:stool mine:31.20")
	assert.True(t, slices.Equal(fileOf(t, reply.Picture), fileOf(t, again.Picture)), "the same chart gives the same bytes")
	assert.NotEqual(t, fileOf(t, reply.Picture), fileOf(t, c.ask("ann", false, "/market show category:stool mine:12").Picture))
}

func TestThereIsNoChartOfNothing(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	assert.Nil(t, c.ask("ann", false, "/market show").Picture)
	assert.Nil(t, c.ask("ann", false, "/market show mine:14.20").Picture)
}

func TestTheChartOfManyCategoriesKeepsTheAskedOneAndFitsItsDescription(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	settings := c.defaults
	settings.Practice, settings.Categories = true, nil
	sold := pool.MonthOf(c.now.Year(), c.now.Month()) - 5
	var seeds []store.SeedSale
	for kind := range 14 {
		category := fmt.Sprintf("a-kind-of-piece-with-a-long-name-%02d", kind)[6:]
		settings.Categories = append(settings.Categories, category)
		for maker := range 24 {
			seeds = append(seeds, store.SeedSale{Maker: fmt.Sprint(kind, " ", maker), Since: (sold - 2).First(), Sale: store.Sale{
				Category: category, Sold: sold, Values: pool.Values{}.With(pool.Price, pool.Whole(100)).With(pool.PricePerBoardFoot, pool.Whole(10+5*kind))}})
		}
	}
	require.NoError(t, c.store.SetCommunity(t.Context(), community, settings))
	require.NoError(t, c.store.Seed(t.Context(), community, seeds))
	require.NoError(t, c.store.RunRelease(t.Context(), community, pool.DayAt(c.now), pool.StandardRules()))
	cheapest := settings.Categories[0]
	reply := c.ask("ann", false, "/market show category:"+cheapest+" mine:31.20")
	require.NotNil(t, reply.Picture)
	assert.LessOrEqual(t, len([]rune(reply.Picture.Alt())), 1024)
	assert.Equal(t, 8, strings.Count(reply.Picture.Alt(), ";"), "nine bars")
	assert.Contains(t, reply.Picture.Alt(), cheapest)
	assert.Contains(t, reply.Picture.Alt(), "all pieces")
}
