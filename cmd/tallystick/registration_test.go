package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/bot/discord"
)

// The golden file is what the platform is told of every command; a change of it is
// a change that members see.
func TestTheRegistrationOfTheRealCommandsIsTheGoldenFile(t *testing.T) {
	t.Parallel()
	got, err := discord.RegistrationBody(realSet(t))
	require.NoError(t, err)
	golden := filepath.Join(top, "testdata", "discord", "registration.json")
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
		require.NoError(t, os.WriteFile(golden, got, 0o644))
		return
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "go test ./cmd/tallystick -update writes it anew")
}
