package commands_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
	"tallystick/store"
)

func TestADiskInTheWayIsARefusalWithAReferenceForTheHost(t *testing.T) {
	t.Parallel()
	for cause, want := range map[error]string{
		store.ErrNoRoom:   "I could not keep this: my disk is full. Nothing was changed. Tell the host, with the reference 7F3A; try again later.",
		store.ErrReadOnly: "I could not keep this: my records cannot be written to. Nothing was changed. Tell the host, with the reference 7F3A; try again later.",
		store.ErrDamaged:  "",
	} {
		var log bytes.Buffer
		set, err := commands.NewSet([]commands.Command{{
			Path: "keep", Summary: "keep something", Examples: []string{"/keep"},
			Run: func(context.Context, commands.Request) (commands.Reply, error) {
				return commands.Reply{}, fmt.Errorf("adding entry: %w", cause)
			},
		}}, slog.New(slog.NewTextHandler(&log, nil)), func() string { return "7F3A" })
		require.NoError(t, err)
		reply := set.Do(t.Context(), commands.Request{Path: "keep"})
		assert.Equal(t, 1, bytes.Count(log.Bytes(), []byte("reference=7F3A")), "the host finds it once")
		assert.Contains(t, log.String(), cause.Error())
		if want == "" {
			require.NotNil(t, reply.Fault, "damage is a fault")
			assert.Contains(t, log.String(), "tallystick check")
			continue
		}
		require.NotNil(t, reply.Refusal)
		assert.Equal(t, want, reply.Refusal.Sentence)
	}
}
