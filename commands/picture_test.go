package commands_test

import (
	"encoding/json"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// fileOf draws a picture.
func fileOf(t *testing.T, p *commands.Picture) []byte {
	t.Helper()
	require.NotNil(t, p)
	file, err := p.PNG()
	require.NoError(t, err)
	return file
}

func TestAPictureIsDrawnOnceAndOnlyWhenItsFileIsAskedFor(t *testing.T) {
	t.Parallel()
	var drawn atomic.Int64
	p := commands.NewPicture("bars.png", "three bars", func() ([]byte, error) {
		drawn.Add(1)
		return []byte("png"), nil
	})
	text := commands.Reply{Title: "Bars", Picture: p}.Plain()
	assert.Contains(t, text, "three bars")
	assert.Zero(t, drawn.Load(), "the words need no drawing")
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() { assert.Equal(t, "png", string(fileOf(t, p))) })
	}
	all.Wait()
	raw, err := json.Marshal(commands.Reply{Picture: p})
	require.NoError(t, err)
	assert.Contains(t, string(raw), `"picture":{"name":"bars.png","alt":"three bars","png":"cG5n"}`)
	assert.EqualValues(t, 1, drawn.Load())
}

func TestADrawingThatFailsIsAnErrorAndNoEndOfTheProgram(t *testing.T) {
	t.Parallel()
	full := errors.New("no room")
	_, err := commands.NewPicture("bars.png", "", func() ([]byte, error) { return nil, full }).PNG()
	require.ErrorIs(t, err, full)
	_, err = commands.NewPicture("bars.png", "", func() ([]byte, error) { panic("index out of range") }).PNG()
	require.ErrorContains(t, err, "drawing bars.png: panic: index out of range")
}
