package main

import (
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// asNobody runs do on a thread whose files are those of a user without rights, so
// that the test says the same when root runs it. The thread ends with it.
func asNobody(do func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread()
		_ = syscall.Setfsuid(65534) // another user than root cannot and need not
		do()
	}()
	<-done
}

func TestAFileOfSettingsInAFolderNobodyMayLookIntoIsAsIfThereWereNone(t *testing.T) {
	t.Parallel()
	folder := filepath.Join(t.TempDir(), "home")
	require.NoError(t, os.Mkdir(folder, 0o700))
	file := filepath.Join(folder, ".env")
	require.NoError(t, os.WriteFile(file, []byte("TALLYSTICK_UNITS=cubits\n"), 0o600))
	require.NoError(t, os.Chmod(folder, 0))
	t.Cleanup(func() { assert.NoError(t, os.Chmod(folder, 0o700)) })
	var s settings
	var look, err error
	asNobody(func() {
		_, look = os.Lstat(file)
		s, err = readSettings([]string{"HOME=/home/maker"}, file)
	})
	if look == nil {
		t.Skip("this system forbids nobody to look into a folder or to read a file")
	}
	assert.NoError(t, err)
	assert.Equal(t, "imperial", s.Units)
}

func TestAFileOfSettingsThatMayNotBeReadIsNamedWithItsFolder(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	for _, open := range []string{folder, filepath.Dir(folder)} {
		require.NoError(t, os.Chmod(open, 0o711)) // it is not what is forbidden
	}
	file := filepath.Join(folder, ".env")
	require.NoError(t, os.WriteFile(file, []byte("TALLYSTICK_UNITS=metric\n"), 0))
	var look, err error
	asNobody(func() {
		_, look = os.ReadFile(file)
		_, err = readSettings([]string{"HOME=/home/maker"}, file)
	})
	if look == nil {
		t.Skip("this system forbids nobody to look into a folder or to read a file")
	}
	assert.EqualError(t, err, `the file "`+file+`" cannot be read: permission denied`)
}
