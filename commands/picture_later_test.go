package commands

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheWordsOfAPictureArePutTogetherOnceAndOnlyWhenTheyAreWanted(t *testing.T) {
	t.Parallel()
	worked, drawn := 0, 0
	p := laterPicture("bars.png", func() (string, painter) {
		worked++
		return "three bars", func() ([]byte, error) { drawn++; return []byte("png"), nil }
	})
	assert.NotNil(t, p.again("price", nil).Again)
	assert.Zero(t, worked, "a button for it needs no words")
	assert.Equal(t, "three bars", p.Alt())
	assert.Zero(t, drawn, "and words no drawing")
	file, err := p.PNG()
	require.NoError(t, err)
	assert.Equal(t, "png", string(file))
	assert.Equal(t, "three bars", p.Alt())
	assert.Equal(t, []int{1, 1}, []int{worked, drawn})
}

func TestWordsThatFailAreAnErrorOfThePictureAndNoEndOfTheProgram(t *testing.T) {
	t.Parallel()
	p := laterPicture("bars.png", func() (string, painter) { panic("index out of range") })
	assert.Empty(t, p.Alt())
	_, err := p.PNG()
	require.ErrorContains(t, err, "drawing bars.png: panic: index out of range")
}
