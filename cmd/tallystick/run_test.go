package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// house runs the program in a data folder of its own, without a terminal.
type house struct {
	t    *testing.T
	data string
	env  []string
}

func newHouse(t *testing.T, env ...string) *house {
	data := filepath.Join(t.TempDir(), "data")
	return &house{t: t, data: data, env: append([]string{"TALLYSTICK_DATA=" + data, "LANG=C"}, env...)}
}

func (h *house) run(stdin string, args ...string) (code int, stdout, stderr string) {
	h.t.Helper()
	var out, errs bytes.Buffer
	code = run(context.Background(), args, h.env, strings.NewReader(stdin), &out, &errs)
	return code, out.String(), errs.String()
}

const workedLine = "/price hours:14.25 materials:124.90 rate:25 fee:2.9% fixed-fee:0.30 haggle:12%"

// The figures are those of testdata/published/golden-piece.csv, a CONSTRUCTED
// worked example; the asking price is its 563.4421 rounded up to the cent.
func TestALineThroughAPipeIsAnswered(t *testing.T) {
	t.Parallel()
	code, out, errs := newHouse(t).run(workedLine + "\n")
	assert.Equal(t, exitAnswered, code)
	for _, want := range []string{"$128.94", "$495.83", "$563.45"} {
		assert.Contains(t, out, want)
	}
	assert.Empty(t, errs)
}

func TestAskGivesTheSameAsFiguresInJSON(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	for line, want := range map[string]map[string]string{
		workedLine: {"break_even": "128.94", "target_price": "495.83", "asking_price": "563.45"},
		"/rate sold:430 hours:14.25 materials:124.90 fee:2.9% fixed-fee:0.30": {"realised_hourly": "20.51"},
		// 175/48 and 35/6 board feet: 144 in³ to the board foot; under an inch counts
		// as an inch, see testdata/published/board-foot-examples.csv.
		"/boardfeet boards:6 @ 5/8 x 3-1/2 x 40 in": {"board_feet": "3.65", "board_feet_counted": "5.83"},
		// Exact from 1 in = 25.4 mm (NIST SP 811, appendix B.8).
		`/convert value:7' 8-1/2" to:mm`: {"converted": "2349.5"},
		"/convert value:1 bf to:m3":      {"converted": "0.002359737216"},
	} {
		code, out, _ := h.run("", "ask", "--json", line)
		assert.Equal(t, exitAnswered, code, line)
		var reply struct{ Figures []struct{ Key, Value string } }
		require.NoError(t, json.Unmarshal([]byte(out), &reply), line)
		got := map[string]string{}
		for _, f := range reply.Figures {
			got[f.Key] = f.Value
		}
		for key, value := range want {
			assert.Equal(t, value, got[key], "%s of %s", key, line)
		}
	}
}

func TestBadInputOfEveryKindIsOneSentenceWithAValueThatWorks(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	for _, line := range []string{
		"/price hours:8 hrz materials:1",
		"/price hours:8 materials:1 fee:120%",
		"/boardfeet boards:6 @ x",
		"/prise hours:8",
		"/price hours:" + strings.Repeat("9", 10_000),
		strings.Repeat("x", 10_000),
		"/price " + strings.Repeat("y", 10_000) + ":1",
		"/boardfeet boards:" + strings.Repeat("1x4x8' ", 1_500),
		"/sale share price:430 category:bench confirm:\x00\x07",
		"/price hours:\u202e8",
		"   ",
		"/",
	} {
		shown := line[:min(len(line), 40)]
		code, out, errs := h.run("", "ask", line)
		assert.Equal(t, exitMistake, code, "%q", shown)
		assert.Empty(t, errs, "%q", shown)
		assert.Regexp(t, `^[^\n]+ Try [^\n]+\.\n$`, out, "%q", shown)
		assert.Less(t, len(out), 400, "%q is answered in one sentence", shown)
	}
	for _, args := range [][]string{{"ask"}, {"dance"}, {"console", "--loud"}} {
		code, _, errs := h.run("", args...)
		assert.Equal(t, exitMistake, code, args)
		assert.Contains(t, errs, "Try tallystick --help.", args)
	}
}

func TestAMistakeInAPipeLosesNothingOfTheLinesAfterIt(t *testing.T) {
	t.Parallel()
	code, out, _ := newHouse(t).run("# a note\n/price hours:8 hrz\n\n" + workedLine + "\nquit\n/help\n")
	assert.Equal(t, exitMistake, code, "the worst of the lines")
	assert.Contains(t, out, `hours: "8 hrz" is not a length of time. Try 7.5 or 7h30.`)
	assert.Contains(t, out, "$563.45")
	assert.NotContains(t, out, "What I can do", "quit leaves")
}

func TestAMistakeInJSONNamesItsParts(t *testing.T) {
	t.Parallel()
	code, out, _ := newHouse(t).run("", "ask", "--json", "/price hours:8 hrz")
	assert.Equal(t, exitMistake, code)
	assert.JSONEq(t, `{"mistake":{"option":"hours","given":"8 hrz","problem":"is not a length of time","try":"7.5 or 7h30"}}`, out)
}

func TestThePracticeCommunityHasSomethingToShowForEveryCategory(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	shown := 0
	for _, category := range practiceCommunity().Categories {
		code, out, _ := h.run("", "ask", "/market show category:"+category)
		assert.Equal(t, exitAnswered, code, category)
		assert.Contains(t, out, "every sale in this log is invented", category)
		if strings.Contains(out, "Median price a board foot") {
			shown++
		}
	}
	assert.GreaterOrEqual(t, shown, len(practiceCommunity().Categories)-2, "but for the smallest, each category shows its median")
	_, out, _ := h.run("", "ask", "--own", "/market show")
	assert.NotContains(t, out, "invented", "a maker's own community starts empty")
	assert.Contains(t, out, "Nothing is shown here yet")
}

func TestASharedSaleIsMineAcrossRunsAndLeavesOnWithdrawal(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	_, out, _ := h.run("", "ask", "--json", "/sale share price:430 category:bench board-feet:14.5")
	var preview struct {
		Actions []struct{ Options map[string]string }
	}
	require.NoError(t, json.Unmarshal([]byte(out), &preview))
	require.Len(t, preview.Actions, 1)
	code, out, _ := h.run("", "ask", "/sale share confirm:"+preview.Actions[0].Options["confirm"])
	require.Equal(t, exitAnswered, code, out)
	_, out, _ = h.run("", "ask", "/sale mine")
	assert.Contains(t, out, "$430.00")
	code, _, _ = h.run("", "ask", "/sale withdraw sale:1")
	assert.Equal(t, exitAnswered, code)
	_, out, _ = h.run("", "ask", "/sale mine")
	assert.Contains(t, out, "You have shared no sale")
}

func TestEverythingInTheDataFolderIsTheOwnersAlone(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.run("", "ask", "/help")
	files := 0
	require.NoError(t, filepath.WalkDir(h.data, func(name string, entry fs.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := entry.Info()
		require.NoError(t, err)
		if entry.IsDir() {
			assert.Equal(t, fs.FileMode(0o700), info.Mode().Perm(), name)
			return nil
		}
		files++
		assert.Equal(t, fs.FileMode(0o600), info.Mode().Perm(), name)
		return nil
	}))
	assert.GreaterOrEqual(t, files, 2, "a database and its keys")
}

func TestMetricMembersMayLeaveTheUnitOut(t *testing.T) {
	t.Parallel()
	_, out, _ := newHouse(t, "TALLYSTICK_UNITS=metric", "TALLYSTICK_CURRENCY=eur").run("", "ask", "--own", "/boardfeet boards:4 @ 27 x 150 x 2400 price:9")
	assert.Contains(t, out, "27 × 150 × 2400 mm")
	assert.Contains(t, out, "€")
}

func TestADatabaseWithoutItsKeysIsRefusedInOneSentence(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.run("", "ask", "/help")
	require.NoError(t, os.Remove(filepath.Join(h.data, "practice.keys")))
	code, out, errs := h.run("", "ask", "/help")
	assert.Equal(t, exitMistake, code, "it is not started again until it is put right")
	assert.Empty(t, out)
	assert.Equal(t, 1, strings.Count(errs, "\n"), errs)
	assert.Contains(t, errs, "practice.keys")
}

func TestTheVersionNamesTheProgramAndItsToolchain(t *testing.T) {
	t.Parallel()
	code, out, _ := newHouse(t).run("", "version")
	assert.Equal(t, exitAnswered, code)
	assert.Regexp(t, `^tallystick .*go1\.`, out)
}
