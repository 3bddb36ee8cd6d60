package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
	"tallystick/store"
)

func TestTheUnitIsPrintedAndGoesByTheExitCodes(t *testing.T) {
	t.Parallel()
	code, out, _ := newHouse(t).run("", "unit")
	assert.Equal(t, exitAnswered, code)
	for _, line := range []string{fmt.Sprintf("RestartPreventExitStatus=%d", exitMistake), "Restart=on-failure", "LoadCredential=token:/etc/tallystick/token",
		"Environment=TALLYSTICK_DISCORD_TOKEN_FILE=%d/token", "NoNewPrivileges=yes", "ProtectSystem=strict", "StateDirectory=tallystick", "MemoryMax=1G"} {
		assert.Contains(t, out, "\n"+line+"\n")
	}
	for name := range strings.Lines(out) {
		if setting, ok := strings.CutPrefix(name, "Environment="); ok {
			setting, _, _ = strings.Cut(setting, "=")
			example, err := os.ReadFile(filepath.Join(top, ".env.example"))
			require.NoError(t, err)
			assert.Contains(t, string(example), "#"+setting+"=", "the unit sets what is a setting")
		}
	}
}

// What the host has to put right ends with 2, so that it is not tried again and
// again; everything else with 1.
func TestWhatTheHostHasToPutRightEndsWithTwo(t *testing.T) {
	t.Parallel()
	for _, err := range []error{&settingsError{[]string{"x"}}, &store.OpenError{Refusal: store.Newer}, hopelessError{errors.New("the token is not accepted")},
		&fs.PathError{Op: "open", Path: "/root/copy.db", Err: syscall.EACCES}} {
		assert.Equal(t, exitMistake, exitCode(fmt.Errorf("wrapped: %w", err), &strings.Builder{}), "%T", err)
	}
	assert.Equal(t, exitFault, exitCode(errors.New("disk"), &strings.Builder{}))
	assert.Equal(t, exitAnswered, exitCode(nil, &strings.Builder{}))
	for outcome, want := range map[commands.Outcome]int{commands.Answered: exitAnswered, commands.WasMistake: exitMistake, commands.WasRefused: exitMistake, commands.WasFault: exitFault} {
		assert.Equal(t, want, exitCode(ended(outcome), &strings.Builder{}), outcome)
	}
}

func TestTheUnitIsOneThatSystemdKnows(t *testing.T) {
	t.Parallel()
	systemd, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("systemd-analyze is not here")
	}
	file := filepath.Join(t.TempDir(), "tallystick.service")
	program, err := os.Executable() // one that is there
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(unitFile, "/usr/local/bin/tallystick", program, 1)), 0o600))
	said, err := exec.Command(systemd, "verify", file).CombinedOutput()
	assert.NoError(t, err)
	assert.Empty(t, string(said))
}
