package commands

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestANameHasSomethingThatCanBeSeen(t *testing.T) {
	t.Parallel()
	for _, blank := range []string{"", " ", "\u200b", "\u2800", "\u3164", "\u200b \u2800"} {
		assert.False(t, visible(blank), "%q", blank)
	}
	for _, name := range []string{"a", "☕", "日", "-", "\u200bBench"} {
		assert.True(t, visible(name), name)
	}
}
