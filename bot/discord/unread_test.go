package discord

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTheLibraryReadsEveryEventButInteractions(t *testing.T) {
	t.Parallel()
	leaveUnread()
	assert.Greater(t, len(providers), 20, "the list is the library's")
	for name, p := range providers {
		assert.Equal(t, name, p.Type())
		_, left := p.New().(*unread)
		assert.Equal(t, name == interactionEvent, left, name)
	}
}
