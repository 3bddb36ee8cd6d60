package main

import (
	"errors"
	"log/slog"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// healthy is a server with which all is well but for its disk.
func healthy(t *testing.T, path string, disk func(string) error) (asked func() (status int, text string)) {
	t.Helper()
	stands := standsAs{lines: []bool{true}}
	w := watched{line: stands, data: stands, path: path, disk: disk, now: time.Now}
	_, registry := newMeter(w)
	pages := httptest.NewServer(watchPages(w, registry, slog.New(slog.DiscardHandler)))
	t.Cleanup(pages.Close)
	return func() (int, string) { return get(t, pages.URL+"/healthz") }
}

func TestHealthSaysThatTheDiskIsInTheWayAndStopsWhenItIsNot(t *testing.T) {
	t.Parallel()
	var trouble error
	asked := healthy(t, "/srv/server.db", func(folder string) error {
		assert.Equal(t, "/srv", folder)
		return trouble
	})
	for _, trouble = range []error{errors.New("the disk is full"), nil} {
		status, text := asked()
		if trouble == nil {
			assert.Equal(t, 200, status)
			assert.Equal(t, "ok\n", text)
			continue
		}
		assert.Equal(t, 503, status)
		assert.Equal(t, "the disk is full\n", text)
	}
}

func TestAskingForTheHealthLeavesNoFileAndFindsAReallyFullDisk(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	asked := healthy(t, filepath.Join(folder, "server.db"), diskTrouble)
	status, _ := asked()
	assert.Equal(t, 200, status)
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Empty(t, left)

	if os.Getuid() != 0 {
		t.Skip("only the superuser may mount a small disk")
	}
	if said, err := exec.CommandContext(t.Context(), "mount", "-t", "tmpfs", "-o", "size=1m,mode=700", "tmpfs", folder).CombinedOutput(); err != nil {
		t.Skipf("this machine lets nobody mount a small disk (%v: %s)", err, said)
	}
	t.Cleanup(func() { assert.NoError(t, exec.Command("umount", "-l", folder).Run()) })
	status, _ = asked()
	assert.Equal(t, 200, status)
	ballast := filepath.Join(folder, "ballast")
	require.Error(t, os.WriteFile(ballast, make([]byte, 2<<20), 0o600), "the disk has 1 MB")
	status, text := asked()
	assert.Equal(t, 503, status)
	assert.Equal(t, "the disk is full\n", text)
	require.NoError(t, os.Remove(ballast))
	status, _ = asked()
	assert.Equal(t, 200, status)
}
