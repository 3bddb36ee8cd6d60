package discord

import (
	"context"
	"fmt"
	"net/http"
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
	assert.Equal(t, "This button belongs to somebody else's answer. Type the command to get your own.", text)
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

func TestASlowPressIsAcknowledgedQuietlyAndAnsweredBesideItsCard(t *testing.T) {
	t.Parallel()
	for name, private := range map[string]bool{"for all": false, "for the presser alone": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			release := make(chan struct{})
			r := serve(t, soon, saying("slow", slowly(release, commands.Reply{Title: "done", Private: private})))
			e := r.deliver(pressed("1-|slow|"))
			c := r.next()
			assert.Equal(t, map[string]any{"type": 6.0}, c.Body, "the card stays as it is")
			close(release)
			c = r.next()
			assert.Equal(t, http.MethodPost, c.Method)
			assert.Equal(t, e.webhook(), c.Path)
			assert.Equal(t, private, c.hidden())
		})
	}
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
	text := pages[0].Embeds[0].Description
	assert.Contains(t, text, "Say it again: type\n```\n/echo note:"+strings.TrimSpace(long["note"])+"\n```")
	assert.Contains(t, text, "/echo note:"+strings.Repeat("i", 26)+"\n")
	assert.Contains(t, text, "/echo note:"+strings.Repeat("i", 27)+"\n")
	assert.NotContains(t, text, "/echo note:"+strings.Repeat("i", 25)+"\n")
}

func TestAButtonsIDGivesItsActionBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := commands.Action{Path: rapid.StringN(1, 20, -1).Draw(t, "path"), Options: rapid.MapOfN(rapid.String(), rapid.String(), 0, 4).Draw(t, "options"),
			Asks: rapid.Bool().Draw(t, "asks")}
		owner := rapid.SampledFrom([]string{"", ownerMark("3001")}).Draw(t, "owner")
		id, _ := encodeAction(a, owner)
		shows := !a.Asks && rapid.Bool().Draw(t, "shows")
		if shows {
			id, _ = encodeMarked(pictureMark, a, owner)
		}
		back, marked, picture, ok := decodeAction(id)
		require.True(t, ok)
		require.Equal(t, shows, picture)
		require.Equal(t, a.Path, back.Path)
		require.Equal(t, a.Asks, back.Asks)
		require.Equal(t, owner, marked)
		var c commands.Command
		for name := range a.Options {
			c.Options = append(c.Options, commands.Option{Name: name})
		}
		require.Equal(t, a.Options, longNames(c, back.Options))
	})
}

func TestOptionsThatAButtonCannotTellApartAreRefused(t *testing.T) {
	t.Parallel()
	// Found by trying names; any two with the same three letters will do.
	seen := map[string]string{}
	for i := 0; ; i++ {
		name := fmt.Sprint("option-", i)
		other, taken := seen[shortName(name)]
		if !taken {
			seen[shortName(name)] = name
			continue
		}
		_, err := RegistrationBody(newSet(t, saying("length", always(commands.Reply{}), word(other, false), word(name, false))))
		require.ErrorContains(t, err, "cannot be told apart in a button's id")
		return
	}
}

func FuzzReadingAButtonsID(f *testing.F) {
	for _, seed := range []string{"1-|boards|", `1-|a\|b|n|v\\|`, "", "1", "|", `\`, "1-|\x00|\xff|x|", "1!-|boards|", "1?-|boards|", "1?!-|boards|"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, id string) {
		a, owner, shows, ok := decodeAction(id)
		if !ok {
			return
		}
		again, _ := encodeAction(a, owner)
		if shows {
			again, _ = encodeMarked(pictureMark, a, owner)
		}
		back, marked, picture, ok := decodeAction(again)
		require.True(t, ok)
		require.Equal(t, shows, picture)
		short := map[string]string{}
		for name, value := range a.Options {
			short[shortName(name)] = value
		}
		a.Options = short
		require.Equal(t, a, back)
		require.Equal(t, owner, marked)
	})
}
