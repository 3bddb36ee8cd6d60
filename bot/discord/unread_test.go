package discord

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTheLibraryReadsEveryEventButInteractions(t *testing.T) {
	t.Parallel()
	leaveUnread()
	for _, name := range []string{"READY", "RESUMED", "MESSAGE_CREATE"} {
		assert.Contains(t, providers, name, "the list is the library's")
	}
	assert.NotContains(t, providers, interactionEvent)
}
