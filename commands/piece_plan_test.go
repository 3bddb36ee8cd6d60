package commands_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOfTwoMistakesInAPlanTheFirstIsToldEveryTime(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for range 30 {
		reply := c.ask("ann", false, "/piece open name:Lamp haggle:120% fixed-fee:0.305 fee:130% rate:25.555")
		assert.Equal(t, `rate: "25.555" has more decimals than USD has. Try 25.`, reply.Sentence())
	}
}
