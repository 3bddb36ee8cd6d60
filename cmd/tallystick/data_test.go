package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheHostBacksUpChecksAndRestores(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	code, out, errs := h.run("", "ask", "--own", "/piece open name:Bench")
	require.Equal(t, exitAnswered, code, out+errs)
	code, out, _ = h.run("", "check", "--own")
	assert.Equal(t, exitAnswered, code)
	assert.GreaterOrEqual(t, strings.Count(out, "\nok "), 9, out)
	assert.NotContains(t, out, "WRONG")

	to := filepath.Join(t.TempDir(), "copy.db")
	code, out, errs = h.run("", "backup", "--own", to)
	require.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, "backed up and checked")
	assert.Contains(t, out, filepath.Join(h.data, "own.keys"), "it says where the keys are")
	assert.Contains(t, errs, "100 % of")
	code, _, errs = h.run("", "backup", "--own", to)
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, errs, "--force")

	other := newHouse(t)
	code, out, errs = other.run("", "restore", "--own", to)
	require.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, "Its key file is not there. Put it back before you start: "+filepath.Join(other.data, "own.keys"))
	keys, err := os.ReadFile(filepath.Join(h.data, "own.keys"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(other.data, "own.keys"), keys, 0o600))
	_, out, _ = other.run("", "ask", "--own", "/piece list")
	assert.Contains(t, out, "Bench")
	code, _, errs = other.run("", "restore", "--own", to)
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, errs, "move ")
	assert.Equal(t, 1, strings.Count(errs, "\n"), "one sentence: %s", errs)
	code, out, errs = other.run("", "vacuum", "--own")
	assert.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, "MB")
}

func TestACheckThatFindsDamageNamesItAndExitsWithOne(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.run("", "ask", "/help")
	path := filepath.Join(h.data, "practice.db")
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	content[len(content)/2] ^= 16
	require.NoError(t, os.WriteFile(path, content, 0o600))
	code, out, _ := h.run("", "check", "--practice")
	assert.Equal(t, exitFault, code)
	assert.Contains(t, out, "WRONG  seal")
	code, _, errs := h.run("", "ask", "/help")
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, errs, "put back its newest copy")
}

func TestAFolderOrAFileThatIsNotThereIsForTheHostToPutRight(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	file := filepath.Join(folder, "file")
	require.NoError(t, os.WriteFile(file, []byte("x"), 0o600))
	h := newHouse(t)
	h.run("", "ask", "--own", "/help")
	on := newHouse(t, "TALLYSTICK_DATA="+file)
	under := newHouse(t, "TALLYSTICK_DATA="+filepath.Join(file, "data"))
	for _, c := range []struct {
		house *house
		args  []string
		want  string
	}{
		{h, []string{"check"}, "there is no database"},
		{h, []string{"vacuum"}, "there is no database"},
		{h, []string{"backup", filepath.Join(folder, "copy.db")}, "there is no database"},
		{h, []string{"backup", "--own", filepath.Join(folder, "none", "copy.db")}, "there is no folder"},
		{h, []string{"backup", "--own", filepath.Join(file, "copy.db")}, "there is no folder"},
		{h, []string{"restore", filepath.Join(folder, "none.db")}, "there is no backup"},
		{h, []string{"restore", folder}, "there is no backup"},
		{on, []string{"check"}, "there is no database"},
		{on, []string{"ask", "/help"}, "TALLYSTICK_DATA: there can be no folder"},
		{under, []string{"ask", "/help"}, "TALLYSTICK_DATA: there can be no folder"},
		{under, []string{"restore", file}, "TALLYSTICK_DATA: there can be no folder"},
	} {
		code, out, errs := c.house.run("", c.args...)
		assert.Equal(t, exitMistake, code, "%s", c.args)
		assert.Empty(t, out, "%s", c.args)
		assert.Contains(t, errs, "tallystick: "+c.want, "%s", c.args)
		assert.Equal(t, 1, strings.Count(errs, "\n"), errs)
		assert.NotContains(t, errs, "mkdir")
	}
	left, err := filepath.Glob(filepath.Join(h.data, "server*"))
	require.NoError(t, err)
	assert.Empty(t, left, "nothing was begun")
}

func TestABackupOverAFileThatTheProgramWorksWithIsRefused(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.run("", "ask", "--own", "/piece open name:Bench")
	h.run("", "ask", "/help")
	for _, name := range []string{"own.db", "own.keys", "own.db.sums", "practice.db", "practice.keys", "server.db"} {
		path := filepath.Join(h.data, name)
		before, _ := os.ReadFile(path)
		code, out, errs := h.run("", "backup", "--own", "--force", path)
		assert.Equal(t, exitMistake, code, name)
		assert.Empty(t, out)
		assert.Contains(t, errs, "name another for the backup")
		assert.Equal(t, 1, strings.Count(errs, "\n"), "one sentence: %s", errs)
		after, _ := os.ReadFile(path)
		assert.Equal(t, before, after, name)
	}
	_, out, _ := h.run("", "ask", "--own", "/piece list")
	assert.Contains(t, out, "Bench")
}

func TestABackupThatAnOlderProgramMadeIsRestored(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	old := filepath.Join("..", "..", "store", "testdata", "schemas", "00006")
	packed, err := os.Open(old + ".db.gz")
	require.NoError(t, err)
	defer func() { require.NoError(t, packed.Close()) }()
	from, err := gzip.NewReader(packed)
	require.NoError(t, err)
	whole, err := io.ReadAll(from)
	require.NoError(t, err)
	keys, err := os.ReadFile(old + ".keys")
	require.NoError(t, err)
	backup := filepath.Join(t.TempDir(), "v6.db")
	require.NoError(t, os.WriteFile(backup, whole, 0o600))
	require.NoError(t, os.MkdirAll(h.data, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(h.data, "own.keys"), keys, 0o600))

	code, out, errs := h.run("", "restore", "--own", backup)
	require.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, "checked and restored")
	assert.Contains(t, errs, "earlier version")
	code, out, _ = h.run("", "check", "--own")
	assert.Equal(t, exitAnswered, code, out)
	assert.Contains(t, out, "later  job sheets")
	code, out, errs = h.run("", "ask", "--own", "/help")
	require.Equal(t, exitAnswered, code, out+errs)
	code, out, _ = h.run("", "check", "--own")
	assert.Equal(t, exitAnswered, code, out)
	assert.Contains(t, out, "ok     job sheets")
	assert.NotContains(t, out, "later")
}

func TestAFolderInThePlaceOfABackupIsOneSentence(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.run("", "ask", "--own", "/help")
	folder := t.TempDir()
	for _, one := range []struct{ command, path, says string }{
		{"restore", folder, "there is no backup"},
		{"backup", folder, "that is a folder; name a file"},
		{"backup", os.DevNull, "that is not a file"},
		{"restore", os.DevNull, "that is not a file"},
	} {
		code, out, errs := h.run("", one.command, "--own", one.path)
		assert.Equal(t, exitMistake, code, one.says)
		assert.Empty(t, out)
		assert.Contains(t, errs, one.says)
		assert.Equal(t, 1, strings.Count(errs, "\n"), "one sentence: %s", errs)
	}
}

func TestTheLogOfTheHostSaysThatADatabaseIsGone(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	var log bytes.Buffer
	set := settings{Data: h.data, Currency: "EUR"}
	p := &process{ctx: t.Context(), settings: set, log: set.logger(&log, slog.LevelInfo)}
	begin := func() {
		t.Helper()
		r, err := p.openServer()
		require.NoError(t, err)
		require.NoError(t, r.store.Close())
	}
	begin()
	assert.Empty(t, log.String())
	require.NoError(t, os.Remove(filepath.Join(h.data, "server.db")))
	begin()
	assert.Contains(t, log.String(), "level=WARN")
	assert.Contains(t, log.String(), "began a new database at")
	assert.Equal(t, 1, strings.Count(log.String(), "\n"))
}

func TestADatabaseThatIsInUseIsRefusedInOneSentence(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	p := &process{ctx: t.Context(), settings: settings{Data: h.data}}
	r, err := p.open(own, practiceCommunity())
	require.NoError(t, err)
	defer func() { assert.NoError(t, r.store.Close()) }()
	code, out, errs := h.run("", "ask", "--own", "/help")
	assert.Equal(t, exitMistake, code)
	assert.Empty(t, out)
	assert.Contains(t, errs, "in use by another tallystick")
	assert.Equal(t, 1, strings.Count(errs, "\n"), errs)
	code, _, errs = h.run("", "backup", "--own", filepath.Join(t.TempDir(), "copy.db"))
	assert.Equal(t, exitAnswered, code, "a backup is made all the same: %s", errs)
}
