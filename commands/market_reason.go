package commands

import (
	"strconv"

	"tallystick/calc/pool"
)

// whyNot says why a cut shows nothing yet, and how that changes.
func (m market) whyNot(reason pool.Reason) string {
	return "Nothing is shown here yet: " + m.reason(reason, pool.PricePerBoardFoot) + ". Each shared sale brings it nearer; see /help command:sale share."
}

func (m market) reason(reason pool.Reason, f pool.Figure) string {
	switch reason {
	case pool.TooFewActive:
		return "fewer than " + strconv.Itoa(m.rules.MinActive) + " makers share, and until then only all pieces together are given"
	case pool.TooFewChanged:
		return "it has not changed enough since it was last shown"
	case pool.SmallRemainder:
		return "showing it would leave the few makers outside it in the open"
	}
	return "fewer than " + strconv.Itoa(m.rules.Least(m.cut, f)) + " makers stand behind it with sales older than " + daysText(m.rules.Age)
}

func daysText(n int) string { return strconv.Itoa(n) + " days" }
