package discord

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/commands"
)

func TestAButtonAsksWhatItsActionSays(t *testing.T) {
	t.Parallel()
	got := make(chan commands.Request, 1)
	options := map[string]string{"width": `3/4"`, "note": `a|b\c`}
	r := serve(t, nil,
		saying("price", always(commands.Reply{Title: "Price", Actions: []commands.Action{{Label: "Keep it", Path: "sheet keep", Options: options}}})),
		saying("sheet keep", func(_ context.Context, req commands.Request) (commands.Reply, error) {
			got <- req
			return commands.Reply{Title: "Kept", Private: true}, nil
		}, word("width", false), word("note", false)))
	r.deliver(asked("price", nil))
	buttons := r.next().buttons()
	require.Contains(t, buttons, "Keep it")
	e := r.deliver(pressed(buttons["Keep it"]))
	c := r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 4.0, c.Body["type"], "a press is answered with a message of its own")
	assert.True(t, c.hidden())
	req := <-got
	assert.Equal(t, "sheet keep", req.Path)
	assert.Equal(t, options, req.Options)
	assert.Equal(t, e["id"], req.Delivery)
}

func TestAPrivateCardsButtonsAreTheOwnersAlone(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, privately(saying("sheet", always(commands.Reply{Title: "Yours", Private: true, Actions: []commands.Action{{Label: "Again", Path: "sheet"}}}))))
	r.deliver(asked("sheet", nil).from("3001"))
	id := r.next().buttons()["Again"]
	r.deliver(pressed(id).from("3002"))
	c := r.next()
	assert.True(t, c.hidden())
	_, text := c.message()
	assert.Equal(t, "This button belongs to somebody else's private answer. Type the command to get your own.", text)
	r.deliver(pressed(id).from("3001"))
	title, _ := r.next().message()
	assert.Equal(t, "Yours", title)
}

func TestAnybodyMayPressUnderAPublicCard(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("boards", always(commands.Reply{Title: "Boards", Actions: []commands.Action{{Label: "Again", Path: "boards"}}})))
	r.deliver(asked("boards", nil))
	r.deliver(pressed(r.next().buttons()["Again"]).from("3002"))
	title, _ := r.next().message()
	assert.Equal(t, "Boards", title)
}

func TestAButtonFromAnotherVersionIsRefusedInASentence(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("boards", always(commands.Reply{Title: "Boards"})))
	for _, id := range []string{"0-|boards|", "boards", "1|boards|", "1-|boards", `1-|boards\`, "1-||", "1-|boards|a|"} {
		r.deliver(pressed(id))
		c := r.next()
		assert.True(t, c.hidden(), id)
		_, text := c.message()
		assert.Equal(t, "This button is from an older version of mine. Type the command instead.", text, id)
	}
}

func TestASlowPressIsDeferredForThePresserAlone(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := serve(t, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	e := r.deliver(pressed("1-|slow|"))
	c := r.next()
	assert.Equal(t, 5.0, c.Body["type"])
	assert.True(t, c.hidden())
	close(release)
	assert.Equal(t, e.original(), r.next().Path)
}

func TestAnActionThatDoesNotFitAButtonIsShownAsALineToType(t *testing.T) {
	t.Parallel()
	long := map[string]string{"note": strings.Repeat("walnut ", 20) + "x"}
	var actions []commands.Action
	for range 2 {
		actions = append(actions, commands.Action{Label: "Say it again", Path: "echo", Options: long})
	}
	for i := range 27 {
		actions = append(actions, commands.Action{Label: "Go", Path: "echo", Options: map[string]string{"note": strings.Repeat("i", i+1)}})
	}
	pages := render(commands.Reply{Title: "T", Actions: actions}, commands.Request{})
	require.Len(t, pages, 1)
	assert.Len(t, pages[0].Components, 5)
	text := pages[0].Embeds[0].Description
	assert.Contains(t, text, "Say it again: type\n```\n/echo note:"+strings.TrimSpace(long["note"])+"\n```")
	assert.Contains(t, text, "/echo note:"+strings.Repeat("i", 26)+"\n")
	assert.Contains(t, text, "/echo note:"+strings.Repeat("i", 27)+"\n")
	assert.NotContains(t, text, "/echo note:"+strings.Repeat("i", 25)+"\n")
}

func TestAButtonsIDGivesItsActionBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := commands.Action{Path: rapid.StringN(1, 20, -1).Draw(t, "path"), Options: rapid.MapOfN(rapid.String(), rapid.String(), 0, 4).Draw(t, "options")}
		owner := rapid.SampledFrom([]string{"", ownerMark("3001")}).Draw(t, "owner")
		id, _ := encodeAction(a, owner)
		back, marked, ok := decodeAction(id)
		require.True(t, ok)
		require.Equal(t, a, back)
		require.Equal(t, owner, marked)
	})
}

func FuzzReadingAButtonsID(f *testing.F) {
	for _, seed := range []string{"1-|boards|", `1-|a\|b|n|v\\|`, "", "1", "|", `\`, "1-|\x00|\xff|x|"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, id string) {
		a, owner, ok := decodeAction(id)
		if !ok {
			return
		}
		again, _ := encodeAction(a, owner)
		back, marked, ok := decodeAction(again)
		require.True(t, ok)
		require.Equal(t, a, back)
		require.Equal(t, owner, marked)
	})
}
