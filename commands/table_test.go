package commands

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Words that hold a digit are no figures: a column of them stands to the left.
func TestFiguresStandToTheRightAndWordsToTheLeft(t *testing.T) {
	t.Parallel()
	for cell, figure := range map[string]bool{
		"12": true, "$12.40": true, "-$12.40": true, "KWD 1.250": true, "CA$36.50": true, "12,40 €": true, "2 h 50 min": true, "about 407 ft²/US gal": true,
		"1.83 million psi (12,600 MPa)": true,
		"undoes entry 16":               false, "sold $430.00, $12.65/h": false, "not shown": false,
		"3 h 20 min by hand, milling, at the barn": false,
	} {
		assert.Equal(t, figure, isFigure(cell), cell)
	}
}
