package commands

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func threeBars() barChart {
	var c barChart
	c.title = "Bars"
	for _, n := range []int64{10, 20, 40} {
		c.bars = append(c.bars, bar{label: "price", value: decimal.New(n, 0), upTo: decimal.New(n, 0), text: "text"})
	}
	return c
}

// runs are the lengths, from the top down, of the bars' fill in the picture.
func runs(picture image.Image) []int {
	var found []int
	const between = 20 // fewer empty rows are a seam in one bar
	empty := between
	for y := range picture.Bounds().Dy() {
		longest, run := 0, 0
		for x := range picture.Bounds().Dx() {
			if color.GrayModel.Convert(picture.At(x, y)) == dark {
				run++
			} else {
				run = 0
			}
			longest = max(longest, run)
		}
		if longest <= 20 {
			empty++
			continue
		}
		if empty >= between {
			found = append(found, longest)
		}
		empty = 0
	}
	return found
}

func TestTheBarsOfAChartAreAsLongAsTheirValues(t *testing.T) {
	t.Parallel()
	file, err := threeBars().png()
	require.NoError(t, err)
	picture, err := png.Decode(bytes.NewReader(file))
	require.NoError(t, err)
	assert.Equal(t, image.Rect(0, 0, chartWidth, chartHeight), picture.Bounds())
	got := runs(picture)
	require.Len(t, got, 3, "three bars stand on the picture")
	assert.InEpsilon(t, got[0], 2*got[1], 0.02, "40 is twice 20")
	assert.InEpsilon(t, got[0], 4*got[2], 0.02, "and four times 10; the last lies on top")
	assert.Greater(t, got[0], chartWidth/2, "and the longest uses the room there is")
}

func TestTheSameChartIsTheSameBytes(t *testing.T) {
	t.Parallel()
	one, err := threeBars().png()
	require.NoError(t, err)
	two, err := threeBars().png()
	require.NoError(t, err)
	assert.Equal(t, one, two)
}

func BenchmarkChart(b *testing.B) {
	for b.Loop() {
		if _, err := threeBars().png(); err != nil {
			b.Fatal(err)
		}
	}
}
