package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEverySettingStandsInTheExampleFileWithItsDefault(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(top, ".env.example"))
	require.NoError(t, err)
	listed := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^#(TALLYSTICK_[A-Z_]+)=(.*)$`).FindAllStringSubmatch(string(text), -1) {
		listed[m[1]] = m[2]
	}
	fields := reflect.TypeFor[settings]()
	for field := range fields.Fields() {
		name := field.Tag.Get("env")
		if name == "" {
			continue
		}
		value, ok := listed[name]
		assert.True(t, ok, "%s is missing from .env.example", name)
		assert.Equal(t, field.Tag.Get("envDefault"), value, name)
		delete(listed, name)
	}
	assert.Empty(t, listed, ".env.example lists what is no setting")
}

func TestAllProblemsOfTheSettingsAreReportedTogether(t *testing.T) {
	t.Parallel()
	_, err := readSettings([]string{"HOME=/home/maker", "TALLYSTICK_CURRENCY=clams", "TALLYSTICK_UNITS=cubits", "TALLYSTICK_LOG=loud", "TALLYSTICK_DISCORD_API=gopher://x",
		"TALLYSTICK_DISCORD_TOKEN=a", "TALLYSTICK_DISCORD_TOKEN_FILE=b", "TALLYSTICK_DISCORD_SHARDS=65", "TALLYSTICK_DISCORD_HTTP=8787", "TALLYSTICK_DISCORD_PUBLIC_KEY=ab",
		"TALLYSTICK_MEMBER_BURST=-1", "TALLYSTICK_COMMUNITY_EVERY=2h"}, "")
	require.Error(t, err)
	for _, want := range []string{"MEMBER_BURST: -1 is not between 0, for no limit, and 100000. Try 30", "COMMUNITY_EVERY: 2h is not between 1ms and 1h0m0s. Try 50ms", "65 is not between 1 and 64", "not 64 hexadecimal digits", "shards are of the gateway", "clams", "cubits", "loud", "TALLYSTICK_DISCORD_API", "Set one of them"} {
		assert.Contains(t, err.Error(), want)
	}
}

func TestTheEnvironmentWinsOverTheFile(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), ".env")
	require.NoError(t, os.WriteFile(file, []byte("TALLYSTICK_UNITS=metric\nTALLYSTICK_CURRENCY=EUR\nTALLYSTICK_DISCORD_TOKEN=ab$CD.ef\n"), 0o600))
	s, err := readSettings([]string{"HOME=/home/maker", "TALLYSTICK_CURRENCY=CAD"}, file)
	require.NoError(t, err)
	assert.Equal(t, "metric", s.Units)
	assert.Equal(t, "CAD", s.Currency)
	token, err := s.token()
	require.NoError(t, err)
	assert.Equal(t, "ab$CD.ef", token, "a secret is taken as it stands")
}

func TestABrokenFileOfSettingsDoesNotPrintWhatIsInIt(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), ".env")
	require.NoError(t, os.WriteFile(file, []byte("TALLYSTICK_DISCORD_TOKEN=\"very-secret\nno equals sign\n"), 0o600))
	_, err := readSettings([]string{"HOME=/home/maker"}, file)
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "very-secret")
}

func TestASecretIsNeverPrinted(t *testing.T) {
	t.Parallel()
	s := settings{DiscordToken: "hush"}
	var log bytes.Buffer
	slog.New(slog.NewJSONHandler(&log, nil)).Info("x", "token", s.DiscordToken, "settings", s)
	asJSON, err := json.Marshal(s)
	require.NoError(t, err)
	for _, text := range []string{fmt.Sprint(s), fmt.Sprintf("%+v %#v %s %q", s, s, s.DiscordToken, s.DiscordToken), log.String(), string(asJSON)} {
		assert.NotContains(t, text, "hush")
		assert.Contains(t, text, redacted)
	}
}

func TestServingWithoutATokenSaysWhereToGetOne(t *testing.T) {
	t.Parallel()
	code, _, errs := newHouse(t).run("", "serve")
	assert.Equal(t, exitMistake, code)
	assert.Contains(t, errs, "Copy the token from the portal's Bot page")
	assert.Equal(t, 1, strings.Count(errs, "\n"))
}

func TestTheLocaleOfTheSystemIsReadAsALanguageTag(t *testing.T) {
	t.Parallel()
	for value, want := range map[string]string{"de_DE.UTF-8": "de-DE", "C": "en", "C.UTF-8": "en", "": "en", "en_GB": "en-GB", "sr_RS@latin": "sr-RS"} {
		assert.Equal(t, want, localeOf(map[string]string{"LANG": value}), value)
	}
}

func TestATildeIsNoFolderOfData(t *testing.T) {
	t.Parallel()
	for given, try := range map[string]string{"~": "/home/maker", "~/bench/tallystick": "/home/maker/bench/tallystick", "~maker/x": "/var/lib/tallystick"} {
		_, err := readSettings([]string{"HOME=/home/maker", "TALLYSTICK_DATA=" + given}, "")
		assert.EqualError(t, err, `TALLYSTICK_DATA: "`+given+`" begins with ~, which only a shell takes for a home folder. Try `+try)
	}
	s, err := readSettings([]string{"TALLYSTICK_DATA=bench/~x"}, "")
	require.NoError(t, err)
	assert.Equal(t, "bench/~x", s.Data, "a relative folder will do")
	assert.True(t, filepath.IsAbs(whole(s.Data)), "and serve says where it is")
}
