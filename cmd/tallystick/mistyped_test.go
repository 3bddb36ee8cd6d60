package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAMistypedNumberOrTimeIsOneSentenceWithAValueThatWorks(t *testing.T) {
	t.Parallel()
	for setting, want := range map[string]string{
		"TALLYSTICK_MEMBER_BURST=thirty":      `TALLYSTICK_MEMBER_BURST: "thirty" is not a whole number that I can take. Try 30`,
		"TALLYSTICK_COMMUNITY_BURST=3e2":      `TALLYSTICK_COMMUNITY_BURST: "3e2" is not a whole number that I can take. Try 300`,
		"TALLYSTICK_MEMBER_BURST=99999999999": `TALLYSTICK_MEMBER_BURST: "99999999999" is not a whole number that I can take. Try 30`,
		"TALLYSTICK_MEMBER_EVERY=1":           `TALLYSTICK_MEMBER_EVERY: "1" is not a length of time. Try 1s`,
		"TALLYSTICK_COMMUNITY_EVERY=often":    `TALLYSTICK_COMMUNITY_EVERY: "often" is not a length of time. Try 50ms`,
		"TALLYSTICK_DISCORD_SHARDS=2.0":       `TALLYSTICK_DISCORD_SHARDS: "2.0" is not a whole number that I can take. Try 1`,
		"TALLYSTICK_MEMBER_EVERY=2h":          `TALLYSTICK_MEMBER_EVERY: 2h is not between 1ms and 1h0m0s. Try 1s`,
	} {
		_, err := readSettings([]string{"HOME=/home/maker", setting}, "")
		assert.EqualError(t, err, want)
	}
	_, err := readSettings([]string{"HOME=/home/maker", "TALLYSTICK_MEMBER_EVERY=x", "TALLYSTICK_DISCORD_SHARDS=x", "TALLYSTICK_UNITS=x"}, "")
	assert.Equal(t, 3, strings.Count(err.Error(), "Try "), "%v", err)
}

func TestAMistypedNameOfASettingIsToldOnceWithTheClosestAndRefusesNothing(t *testing.T) {
	t.Parallel()
	h := newHouse(t, "TALLYSTICK_MEMBER_BURTS=10", "TALLYSTICK_UNIT=secret-value", "TALLYSTICK_SERVICE_PORT=80", "TALLYSTICK_FOX=1", "TALLYSTICK_TOKEN=x", "TALLYSTICK_UNITS=metric", "TALLY=1")
	want := []string{
		"TALLYSTICK_FOX is no setting of mine, and is left out. Try one of .env.example",
		"TALLYSTICK_MEMBER_BURTS is no setting of mine, and is left out. Try TALLYSTICK_MEMBER_BURST",
		"TALLYSTICK_SERVICE_PORT is no setting of mine, and is left out. Try one of .env.example",
		"TALLYSTICK_TOKEN is no setting of mine, and is left out. Try TALLYSTICK_DISCORD_TOKEN",
		"TALLYSTICK_UNIT is no setting of mine, and is left out. Try TALLYSTICK_UNITS",
	}
	code, out, errs := h.run("", "ask", "--own", "/boardfeet boards:4 @ 27 x 150 x 2400")
	assert.Equal(t, exitAnswered, code)
	assert.Contains(t, out, "27 × 150 × 2400 mm")
	assert.Equal(t, "tallystick: "+strings.Join(want, "\ntallystick: ")+"\n", errs)

	code, _, errs = h.run("", "serve")
	assert.Equal(t, exitMistake, code, "there is no token")
	for _, sentence := range want {
		assert.Equal(t, 1, strings.Count(errs, `level=WARN msg="`+sentence+`"`), "%s: %s", sentence, errs)
	}
	assert.NotContains(t, errs, "secret-value")
}

func TestAMistypedNameInTheFileOfSettingsStandsBesideWhatItMayHaveCaused(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), ".env")
	require.NoError(t, os.WriteFile(file, []byte("TALLYSTICK_DATTA=/srv\n"), 0o600))
	_, err := readSettings(nil, file)
	require.Error(t, err)
	assert.Contains(t, err.Error(), "TALLYSTICK_DATA is not set")
	assert.Contains(t, err.Error(), "TALLYSTICK_DATTA is no setting of mine, and is left out. Try TALLYSTICK_DATA")
}
