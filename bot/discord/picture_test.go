package discord

import (
	"context"
	"errors"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"

	"tallystick/commands"
)

// charted is a command with a picture that can be asked for again. It counts how
// often that was drawn.
func charted(private bool, drawings *atomic.Int64) commands.Command {
	c := saying("price", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		p := commands.NewPicture("prices.png", "bars of prices", func() ([]byte, error) {
			drawings.Add(1)
			return []byte("the picture"), nil
		})
		p.Again = &commands.Action{Label: "Show the picture", Path: req.Path, Options: req.Options}
		return commands.Reply{Title: "At " + req.Options["hours"], Private: private, Picture: p}, nil
	}, word("hours", false))
	c.Private = private
	return c
}

func TestAnAnswerGoesOutWithoutWaitingForItsPicture(t *testing.T) {
	t.Parallel()
	var drawings atomic.Int64
	r := serve(t, nil, charted(true, &drawings))
	r.deliver(asked("price", map[string]string{"hours": "8"}))
	c := r.next()
	assert.Equal(t, 4.0, c.Body["type"])
	assert.Empty(t, c.Files)
	assert.Zero(t, drawings.Load())

	e := r.deliver(pressed(c.buttons()["Show the picture"]).hide())
	c = r.next()
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 7.0, c.Body["type"], "the picture comes into the card")
	title, _ := c.message()
	assert.Equal(t, "At 8", title)
	assert.Equal(t, map[string]string{"prices.png": "image/png the picture"}, c.Files)
	assert.Equal(t, []any{map[string]any{"id": "0", "filename": "prices.png", "description": "bars of prices"}}, c.Body["data"].(map[string]any)["attachments"])
	assert.NotContains(t, c.buttons(), "Show the picture", "there is no other")
}

func TestAPictureIsShownAfterARestartToItsAskerAndOnce(t *testing.T) {
	t.Parallel()
	for _, private := range []bool{true, false} {
		var drawings atomic.Int64
		before := serve(t, nil, charted(private, &drawings))
		before.deliver(asked("price", map[string]string{"hours": "8"}))
		id := before.next().buttons()["Show the picture"]

		r := serve(t, nil, charted(private, &drawings))
		press := func() event {
			if private {
				return pressed(id).hide()
			}
			return pressed(id)
		}
		r.deliver(press().from("3002"))
		c := r.next()
		assert.True(t, c.hidden())
		assert.Contains(t, c.Body["data"].(map[string]any)["content"], "somebody else")
		assert.Zero(t, drawings.Load())

		r.deliver(press())
		c = r.next()
		assert.Equal(t, 7.0, c.Body["type"])
		assert.NotEmpty(t, c.Files)
		r.deliver(press())
		assert.Equal(t, map[string]any{"type": 6.0}, r.next().Body, "pressed twice: nothing is drawn again")
		assert.EqualValues(t, 1, drawings.Load())
	}
}

func TestAPictureWhoseRequestFitsNoButtonComesWithTheAnswer(t *testing.T) {
	t.Parallel()
	var drawings atomic.Int64
	r := serve(t, nil, charted(false, &drawings))
	r.deliver(asked("price", map[string]string{"hours": strings.Repeat("6+", 50) + "1"}))
	c := r.next()
	assert.NotEmpty(t, c.Files)
	assert.Empty(t, c.buttons())
}

func TestAPictureThatCannotBeDrawnIsAFaultWithItsReference(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("price", func(context.Context, commands.Request) (commands.Reply, error) {
		return commands.Reply{Title: "Price", Picture: commands.NewPicture("p.png", "", func() ([]byte, error) { return nil, errors.New("no paper") })}, nil
	}))
	r.deliver(asked("price", nil))
	c := r.next()
	assert.Contains(t, c.Body["data"].(map[string]any)["content"], "Something went wrong on my side")
}

func TestTheDoorShowsAPictureToo(t *testing.T) {
	t.Parallel()
	var drawings atomic.Int64
	s := openDoor(t, newFake(t), nil, charted(true, &drawings))
	c := s.bring(asked("price", map[string]string{"hours": "8"}))
	assert.Zero(t, drawings.Load())
	id := c.buttons()["Show the picture"]

	refused := s.bring(pressed(id).hide().from("3002"))
	assert.Contains(t, refused.Body["data"].(map[string]any)["content"], "somebody else")

	e := pressed(id).hide()
	assert.Equal(t, map[string]any{"type": 6.0}, s.bring(e).Body, "a file follows the acknowledgement")
	c = s.next()
	assert.Equal(t, e.original(), c.Path)
	assert.Equal(t, map[string]string{"prices.png": "image/png the picture"}, c.Files)
	assert.Equal(t, map[string]any{"type": 6.0}, s.bring(pressed(id).hide()).Body, "pressed twice")
	s.quiet()
	assert.EqualValues(t, 1, drawings.Load())
}
