package commands_test

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// diagram is the picture that a line is answered with.
func diagram(t *testing.T, c *chat, line string) (image.Image, []byte) {
	t.Helper()
	reply := c.ask("ann", false, line)
	require.Empty(t, reply.Sentence(), line)
	require.NotNil(t, reply.Picture, line)
	assert.Equal(t, "panel.png", reply.Picture.Name)
	assert.NotEmpty(t, reply.Picture.Alt())
	assert.LessOrEqual(t, len([]rune(reply.Picture.Alt())), 1024)
	drawn, err := png.Decode(bytes.NewReader(fileOf(t, reply.Picture)))
	require.NoError(t, err)
	return drawn, fileOf(t, reply.Picture)
}

// Each was looked at before it was kept; -update draws them anew, to be looked at
// again.
func TestDiagramsAreDrawnAsTheyWereLookedAt(t *testing.T) {
	t.Parallel()
	for name, line := range map[string]string{
		"panel-slats":   "/panel from-boards boards:6 @ 5/8 x 3-1/2 x 40 in jointing:1/16 planing:1/32 end-trim:1/2",
		"panel-mixed":   "/panel from-boards boards:2 @ 3/4 x 5-1/2 x 36 in; 3 @ 7/8 x 3-1/4 x 41 in; 1 @ 1 x 7-1/4 x 33 in end-trim:3/4",
		"panel-on-edge": "/panel from-boards boards:4 @ 1-1/2 x 5-1/2 x 60 in rip:3 lay:on-edge jointing:1/32 planing:1/16",
		"panel-needs":   "/panel needs size:39 x 23 x 3/4 in board:1 x 6 x 96 in jointing:1/16 planing:1/16 end-trim:1/2",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, file := diagram(t, newChat(t), line)
			golden := filepath.Join("testdata", name+".png")
			if *update {
				require.NoError(t, os.WriteFile(golden, file, 0o644))
				return
			}
			kept, err := os.Open(golden)
			require.NoError(t, err)
			defer func() { require.NoError(t, kept.Close()) }()
			want, err := png.Decode(kept)
			require.NoError(t, err)
			require.Equal(t, want.Bounds(), got.Bounds())
			// Another processor may round a shade of an edge differently; nobody sees that.
			assert.LessOrEqual(t, differing(want, got), got.Bounds().Dx()*got.Bounds().Dy()/1000)
		})
	}
}

// differing counts the pixels that differ by more than an eye forgives.
func differing(a, b image.Image) int {
	const forgiven = 8 << 8
	n := 0
	bounds := a.Bounds()
	for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
		for x := bounds.Min.X; x < bounds.Max.X; x++ {
			r1, g1, b1, _ := a.At(x, y).RGBA()
			r2, g2, b2, _ := b.At(x, y).RGBA()
			for _, pair := range [][2]uint32{{r1, r2}, {g1, g2}, {b1, b2}} {
				if max(pair[0], pair[1])-min(pair[0], pair[1]) > forgiven {
					n++
					break
				}
			}
		}
	}
	return n
}

func TestTheSameDiagramHasTheSameBytes(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	const line = "/panel from-boards boards:3 @ 1 x 5 x 30 in"
	_, one := diagram(t, c, line)
	_, other := diagram(t, c, line)
	assert.Equal(t, one, other)
	_, wider := diagram(t, c, "/panel from-boards boards:4 @ 1 x 5 x 30 in")
	assert.NotEqual(t, one, wider)
}

// However odd the panel, nothing runs off the sheet and the sheet stays one a phone
// shows.
func TestNothingRunsOffTheSheet(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, line := range []string{
		"/panel from-boards boards:1 @ 1/2 x 1/4 x 300 in",
		"/panel from-boards boards:1 @ 12 x 12 x 12 in",
		"/panel from-boards boards:2 @ 9 x 4 x 3 in",
		"/panel from-boards boards:400 @ 3/4 x 2 x 96 in",
		"/panel from-boards boards:40 @ 1/8 x 15/16 x 20 in jointing:1/64",
		"/panel from-boards boards:3 @ 17.3 mm x 91.7 mm x 1203.4 mm rip:2",
		"/panel from-boards boards:1 @ 1 x 6 x 8 in; 1 @ 2 x 6 x 800 in",
		"/panel from-boards boards:5 @ 1 x 6 x 90 in end-trim:40",
		"/panel from-boards boards:7 @ 3 x 2 x 30 in planing:7/16 lay:on-edge",
		"/panel from-boards boards:2 @ 100 x 100000 x 999999999 in",
		"/panel needs size:12 x 10-1/64 x 1/64 in board:1/4 x 10 x 100 in",
		"/panel needs size:30 x 1 x 1 in board:3 x 40 x 100 in",
	} {
		drawn, file := diagram(t, c, line)
		bounds := drawn.Bounds()
		assert.Equal(t, 1000, bounds.Dx(), line)
		assert.LessOrEqual(t, bounds.Dy(), 1000, line)
		assert.Less(t, len(file), 120_000, line)
		ink := 0
		for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
			for x := bounds.Min.X; x < bounds.Max.X; x++ {
				r, g, b, _ := drawn.At(x, y).RGBA()
				if r == 0xffff && g == 0xffff && b == 0xffff {
					continue
				}
				ink++
				if x < 4 || y < 4 || x >= bounds.Max.X-4 || y >= bounds.Max.Y-4 {
					require.Failf(t, "ink at the edge", "%s: at %d, %d of %v", line, x, y, bounds)
				}
			}
		}
		assert.Greater(t, ink, 2000, "%s: something is drawn", line)
	}
}
