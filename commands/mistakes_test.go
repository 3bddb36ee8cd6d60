package commands_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOfTwoMistakesTheFirstIsToldEveryTime(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, line := range []string{
		"/settings set step:2.505 overhead:4.205 rate:25.555",
		"/piece open name:Lamp haggle:120% fixed-fee:0.305 fee:130% rate:25.555",
	} {
		for range 30 {
			reply := c.ask("ann", false, line)
			assert.Equal(t, `rate: "25.555" has more decimals than USD has. Try 25.`, reply.Sentence(), line)
		}
	}
}
