package commands_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOfTwoMistakesInSettingsTheFirstIsToldEveryTime(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for range 30 {
		reply := c.ask("ann", false, "/settings set step:2.505 overhead:4.205 rate:25.555")
		assert.Equal(t, `rate: "25.555" has more decimals than USD has. Try 25.`, reply.Sentence())
	}
}
