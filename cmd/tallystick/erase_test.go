package main

import (
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// server opens the database of serve.
func (h *house) server() *room {
	h.t.Helper()
	s, err := readSettings(h.env, "")
	require.NoError(h.t, err)
	p := &process{ctx: h.t.Context(), settings: s, log: slog.New(slog.DiscardHandler)}
	r, err := p.openServer()
	require.NoError(h.t, err)
	return r
}

// served fills the database of serve: two members of one server, one of them in
// private messages too.
func served(t *testing.T) *house {
	t.Helper()
	h := newHouse(t)
	r := h.server()
	for _, who := range []struct{ community, member string }{{guild, member}, {guild, "812345678901234999"}, {directCommunity + member, member}} {
		confirm := ""
		for _, line := range []string{"/piece open name:Hall bench", "/settings set rate:25", "/sale share price:437 category:bench", "confirm"} {
			if line == "confirm" {
				line = confirm
			}
			path, options, mistake := r.set.ParseLine(line)
			require.Nil(t, mistake)
			reply := r.set.Do(t.Context(), commands.Request{Delivery: random(8), Community: who.community, Member: who.member, Path: path, Options: options, Time: time.Now()})
			require.Equal(t, commands.Answered, reply.Outcome(), reply.Sentence())
			for _, a := range reply.Actions {
				if a.Options["confirm"] != "" {
					confirm = a.Line()
				}
			}
		}
	}
	require.NoError(t, r.store.Close())
	return h
}

// kept is what a member is told that is kept of them.
func (h *house) kept(community, member string) string {
	h.t.Helper()
	r := h.server()
	defer func() { require.NoError(h.t, r.store.Close()) }()
	var said strings.Builder
	for _, path := range []string{"sale mine", "piece list"} {
		said.WriteString(r.set.Do(h.t.Context(), commands.Request{Community: community, Member: member, Path: path, Time: time.Now()}).Plain())
	}
	return said.String()
}

func TestErasingAMemberTakesAllOfTheirsAndNobodyElses(t *testing.T) {
	t.Parallel()
	h := served(t)
	code, out, _ := h.run("", "erase", "--server", guild, "--member", member)
	assert.Equal(t, exitAnswered, code)
	assert.Contains(t, out, "Nothing was erased.")
	assert.Contains(t, out, "of "+member+" in the server "+guild+" and in private messages", "it names whom and where")
	assert.Contains(t, h.kept(guild, member), "Hall bench")

	code, out, errs := h.run("", "erase", "--server", guild, "--member", member, "--yes")
	assert.Equal(t, exitAnswered, code, errs)
	assert.Equal(t, member+", in private messages: forgotten.\n"+member+", in the server "+guild+": forgotten.\n"+
		"Older backups still hold what was erased: erase those, or say this again after a restore.\n", out)
	for _, community := range []string{guild, directCommunity + member} {
		assert.NotContains(t, h.kept(community, member), "Hall bench")
		assert.NotContains(t, h.kept(community, member), "437")
	}
	assert.Contains(t, h.kept(guild, "812345678901234999"), "Hall bench")
	code, out, _ = h.run("", "erase", "--member", member, "--yes")
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, out, member+", in private messages: nothing was kept.\n")
}

// The ids of servers are scrambled: nobody can go through all of them.
func TestErasingAMemberWithoutAServerSaysThatServersKeepTheirs(t *testing.T) {
	t.Parallel()
	h := served(t)
	const stays = "What is kept of them in a server stays: say it with --server and its id, for each server."
	_, out, _ := h.run("", "erase", "--member", member)
	assert.Contains(t, out, "of "+member+" in private messages")
	assert.Contains(t, out, stays)
	code, out, errs := h.run("", "erase", "--member", member, "--yes")
	assert.Equal(t, exitAnswered, code, errs)
	assert.Contains(t, out, stays)
	assert.NotContains(t, h.kept(directCommunity+member, member), "Hall bench")
	assert.Contains(t, h.kept(guild, member), "Hall bench")
}

func TestErasingAMemberOfAServerThatNothingIsKnownOfSaysSo(t *testing.T) {
	t.Parallel()
	h := served(t)
	for range 2 { // looking for it leaves no trace of it
		code, out, _ := h.run("", "erase", "--server", "123", "--member", "812345678901234999", "--yes")
		assert.Equal(t, exitMistake, code)
		assert.Contains(t, out, "812345678901234999, in the server 123: nothing was kept. Look whether both ids are right.\n")
		assert.NotContains(t, out, "Older backups")
		code, _, errs := h.run("", "erase", "--server", "123", "--yes")
		assert.Equal(t, exitMistake, code)
		assert.Contains(t, errs, "nothing was ever kept")
	}
}

func TestErasingAServerTakesWhatItsMembersShare(t *testing.T) {
	t.Parallel()
	h := served(t)
	code, out, errs := h.run("", "erase", "--server", guild, "--yes")
	assert.Equal(t, exitAnswered, code, errs)
	assert.Equal(t, "Erased: shared sales 2, previews 0, questions to the room 0.\nOlder backups still hold them: erase those, or say this again after a restore.\n", out)
	assert.NotContains(t, h.kept(guild, member), "437")
	assert.Contains(t, h.kept(guild, member), "Hall bench", "what only the member sees goes by their own word")
	assert.Contains(t, h.kept(directCommunity+member, member), "437", "elsewhere nothing changes")
	code, _, errs = h.run("", "erase", "--server", "1", "--yes")
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, errs, "nothing was ever kept")
}

func TestErasingEverythingLeavesNoFile(t *testing.T) {
	t.Parallel()
	h := served(t)
	there, err := filepath.Glob(filepath.Join(h.data, "server*"))
	require.NoError(t, err)
	_, out, _ := h.run("", "erase", "--everything")
	var told []string
	for line := range strings.Lines(out) {
		if file, ok := strings.CutPrefix(line, "  "); ok {
			told = append(told, strings.TrimSpace(file))
		}
	}
	assert.ElementsMatch(t, there, told, "what would go is what is there")
	code, _, errs := h.run("", "erase", "--everything", "--yes")
	assert.Equal(t, exitAnswered, code, errs)
	left, err := filepath.Glob(filepath.Join(h.data, "server*"))
	require.NoError(t, err)
	assert.Empty(t, left)
	for _, args := range [][]string{{"--everything", "--yes"}, {"--everything"}, {"--member", member}, {"--server", guild}} {
		code, out, errs = h.run("", append([]string{"erase"}, args...)...)
		assert.Equal(t, exitMistake, code)
		assert.Empty(t, out)
		assert.Contains(t, errs, "nothing to erase")
		assert.Equal(t, 1, strings.Count(errs, "\n"))
	}
}

func TestErasingWantsToBeToldWhat(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	for _, args := range [][]string{{}, {"--everything", "--server", "1"}, {"--server", "@everyone"}, {"--member", "../x"}} {
		code, _, errs := h.run("", append([]string{"erase"}, args...)...)
		assert.Equal(t, exitMistake, code, args)
		assert.Equal(t, 1, strings.Count(errs, "\n"), errs)
	}
}
