package commands

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFiguresStandToTheRightAndWordsToTheLeft(t *testing.T) {
	t.Parallel()
	// Money is written as the locales' formatter writes it.
	for _, cell := range []string{"12", "-12", "~1/2 in", "$5.00", "-$5.00", "¥2,000", "CA$1.00", "-US$1", "R$\u00a01,00", "KWD\u00a01.000", "CHF\u00a01’000.00",
		"CHF-5.00", "F\u202fCFA\u00a05", "kr\u00a0-5", "1.234,50\u00a0€", "₹5", "-Rp\u00a05", "\u200f\u200e-١٢", "−12",
		"2 h 50 min", "about 407 ft²/US gal", "1.83 million psi (12,600 MPa)"} {
		assert.True(t, isFigure(cell), "%q", cell)
	}
	for _, cell := range []string{"Box 2", "K7Q2MX", "XX-1234 HT", "stool", "No. 4", "the 2 of them", "S4S", "", "not shown",
		"undoes entry 16", "sold $430.00, $12.65/h", "3 h 20 min by hand, milling, at the barn"} {
		assert.False(t, isFigure(cell), "%q", cell)
	}
}

func TestAColumnIsOfFiguresWhereEveryFilledCellIsOne(t *testing.T) {
	t.Parallel()
	rows := [][]string{{"fair", "$12.40", "", "1"}, {"shop", "–", "", "S4S"}, {"door", "", ""}}
	for column, figures := range []bool{false, true, false, false} {
		assert.Equal(t, figures, FiguresIn(rows, column), column)
	}
}
