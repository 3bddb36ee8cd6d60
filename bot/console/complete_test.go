package console

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

func TestTheTabKeyOffersWhatMayStandNext(t *testing.T) {
	t.Parallel()
	run := func(context.Context, commands.Request) (commands.Reply, error) { return commands.Reply{}, nil }
	wood := commands.Option{Name: "wood", Summary: "which", Kind: commands.Word, Example: "elm",
		Choices: []commands.Choice{{Value: "elm", Label: "elm"}, {Value: "elder", Label: "elder"}, {Value: "oak", Label: "oak"}}}
	long := commands.Option{Name: "long", Summary: "how long", Kind: commands.Quantity, Example: "3 ft"}
	set, err := commands.NewSet([]commands.Command{
		{Path: "cut", Summary: "cut", Options: []commands.Option{wood, long}, Examples: []string{"/cut"}, Run: run},
		{Path: "glue up", Summary: "glue", Options: []commands.Option{wood}, Examples: []string{"/glue up"}, Run: run},
		{Path: "glue scrape", Summary: "scrape", Examples: []string{"/glue scrape"}, Run: run},
	}, slog.New(slog.DiscardHandler), func() string { return "" })
	require.NoError(t, err)
	c := &Console{Config: Config{Set: set, Delivery: func() string { return "" }, Now: func() time.Time { return time.Time{} }}}
	for _, want := range []struct {
		line, head string
		offers     []string
	}{
		{"", "", []string{"/cut ", "/glue scrape ", "/glue up "}},
		{"/gl", "", []string{"/glue scrape ", "/glue up "}},
		{"gl", "", []string{"/glue scrape ", "/glue up "}},
		{"/glue ", "", []string{"/glue scrape ", "/glue up "}},
		{"/cut", "/cut ", []string{"wood:", "long:"}},
		{"/cut ", "/cut ", []string{"wood:", "long:"}},
		{"/cut w", "/cut ", []string{"wood:"}},
		{"/cut wood:", "/cut wood:", []string{"elm", "elder", "oak"}},
		{"/cut wood:el", "/cut wood:", []string{"elm", "elder"}},
		{"/cut wood:o", "/cut wood:", []string{"oak"}},
		{"/cut wood:lm", "/cut wood:", []string{"elm"}},
		{"/cut wood:elm ", "/cut wood:elm ", []string{"long:"}},
		{"/cut wood:elm l", "/cut wood:elm ", []string{"long:"}},
		{"/cut long:3 ft w", "/cut long:3 ft ", []string{"wood:"}},
		{"/zzz", "", nil},
	} {
		head, offers := c.complete(context.Background(), want.line)
		assert.Equal(t, want.offers, offers, "%q", want.line)
		if len(want.offers) > 0 {
			assert.Equal(t, want.head, head, "%q", want.line)
		}
	}
}

func TestWhatIsTooWideGoesOnUnderItself(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "one two\nthree\n  a row\n", wrap("one two three\n  a row\n", 8))
	assert.Equal(t, "  told   read as\n  boards 1\n", wrap("  told   read as\n  boards 1\n", 20), "what fits stays as it is")
	assert.Equal(t, "  told   read as\n  size   12 × 14 ×\n         16 in\n", wrap("  told   read as\n  size   12 × 14 × 16 in\n", 19), "under the last column")
	assert.Equal(t, "  a long first column\n    $4\n", wrap("  a long first column  $4\n", 21), "too narrow a rest")
	assert.Equal(t, "one two three\n", wrap("one two three\n", 0))
	assert.Equal(t, "unbreakableword x\n", wrap("unbreakableword x\n", 40))
}
