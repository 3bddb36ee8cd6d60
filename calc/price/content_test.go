package price_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func TestAPartOfAContainerIsToldInAnyUnitOfItsKind(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ whole, used, share string }{
		{"500 ml", "125 ml", "1/4"}, {"1 l", "150 ml", "3/20"}, {"500 ml", "125", "1/4"}, {"50 sheets", "3 sheets", "3/50"},
		{"50 sheets", "1 sheet", "1/50"}, {"1 l", "30 %", "3/10"}, {"3", "1/2", "1/6"}, {"1 kg", "1 kg", "1/1"}, {"2.5 lb", "1 lb", "2/5"},
	} {
		whole, err := price.ParseContent(c.whole, measure.Inch)
		require.NoError(t, err, c.whole)
		share, err := whole.Part(c.used)
		require.NoError(t, err, "%s of %s", c.used, c.whole)
		assert.Equal(t, c.share, share.String(), "%s of %s", c.used, c.whole)
	}
}

func TestAPartThatDoesNotFitTheContainerIsRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ whole, used, problem string }{
		{"500 ml", "600 ml", "is more than the 500 ml there was"}, {"500 ml", "2 kg", "is not in the unit of 500 ml"},
		{"50 sheets", "3 cans", "is not in the unit of 50 sheets"}, {"500 ml", "some", "is not an amount"},
		{"500 ml", "0", "is nothing used"}, {"500 ml", "120%", "is more than"},
	} {
		whole, err := price.ParseContent(c.whole, measure.Inch)
		require.NoError(t, err)
		_, err = whole.Part(c.used)
		assert.ErrorContains(t, err, c.problem, "%s of %s", c.used, c.whole)
	}
	_, err := price.ParseContent("0 ml", measure.Inch)
	assert.ErrorContains(t, err, "is nothing to take a part of")
}
