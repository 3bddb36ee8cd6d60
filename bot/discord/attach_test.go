package discord

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tallystick/commands"
)

func drawn(alt string) commands.Reply {
	return commands.Reply{Title: "Panel", Notes: []string{"Drawn."},
		Picture: commands.NewPicture("panel.png", alt, func() ([]byte, error) { return []byte("the picture"), nil })}
}

func wantPicture(t *testing.T, c call, data map[string]any, alt string) {
	t.Helper()
	assert.Equal(t, map[string]string{"panel.png": "image/png the picture"}, c.Files)
	assert.Equal(t, []any{map[string]any{"id": "0", "filename": "panel.png", "description": alt}}, data["attachments"])
	embed := data["embeds"].([]any)[0].(map[string]any)
	assert.Equal(t, map[string]any{"url": "attachment://panel.png"}, embed["image"])
}

func TestAPictureTravelsWithItsWordsInTheFirstAnswer(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("length", func(context.Context, commands.Request) (commands.Reply, error) {
		return drawn("six strips side by side"), nil
	}))
	r.deliver(asked("length", nil))
	c := r.next()
	wantPicture(t, c, c.Body["data"].(map[string]any), "six strips side by side")
}

func TestAPictureTravelsWithALateAnswerToo(t *testing.T) {
	t.Parallel()
	thinking := make(chan struct{})
	r := serve(t, soon, saying("length", func(context.Context, commands.Request) (commands.Reply, error) {
		<-thinking
		return drawn(strings.Repeat("long ", 400)), nil
	}))
	r.deliver(asked("length", nil))
	assert.Equal(t, 5.0, r.next().Body["type"])
	close(thinking)
	c := r.next()
	wantPicture(t, c, c.Body, shorten(strings.Repeat("long ", 400), altLimit))
}

func TestAFileTravelsBesideThePicture(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, privately(saying("export", func(context.Context, commands.Request) (commands.Reply, error) {
		reply := drawn("bars")
		reply.Private = true
		reply.File = &commands.File{Name: "pieces.csv", MediaType: "text/csv", Bytes: []byte("no.,name\n")}
		return reply, nil
	})))
	r.deliver(asked("export", nil))
	c := r.next()
	assert.True(t, c.hidden())
	assert.Equal(t, map[string]string{"panel.png": "image/png the picture", "pieces.csv": "text/csv no.,name\n"}, c.Files)
	assert.Equal(t, []any{map[string]any{"id": "0", "filename": "panel.png", "description": "bars"}, map[string]any{"id": "1", "filename": "pieces.csv"}},
		c.Body["data"].(map[string]any)["attachments"])
}
