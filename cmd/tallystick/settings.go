package main

import (
	"fmt"
	"io"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"tallystick/bot/discord"
	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/commands"
)

// settings come from the environment, and from a file .env beside the program's
// working directory for what the environment does not say. Each is described in
// .env.example; a test holds the two together.
type settings struct {
	Data     string `env:"TALLYSTICK_DATA"`
	Currency string `env:"TALLYSTICK_CURRENCY" envDefault:"USD"`
	Units    string `env:"TALLYSTICK_UNITS" envDefault:"imperial"`
	Log      string `env:"TALLYSTICK_LOG" envDefault:"text"`
	LogLevel string `env:"TALLYSTICK_LOG_LEVEL"`

	DiscordToken     Secret `env:"TALLYSTICK_DISCORD_TOKEN"`
	DiscordTokenFile string `env:"TALLYSTICK_DISCORD_TOKEN_FILE"`
	DiscordAPI       string `env:"TALLYSTICK_DISCORD_API" envDefault:"https://discord.com/api"`
	DiscordShards    int    `env:"TALLYSTICK_DISCORD_SHARDS" envDefault:"1"`
	DiscordHTTP      string `env:"TALLYSTICK_DISCORD_HTTP"`
	DiscordKey       string `env:"TALLYSTICK_DISCORD_PUBLIC_KEY"`

	Metrics string `env:"TALLYSTICK_METRICS"`

	MemberBurst    int           `env:"TALLYSTICK_MEMBER_BURST" envDefault:"30"`
	MemberEvery    time.Duration `env:"TALLYSTICK_MEMBER_EVERY" envDefault:"1s"`
	CommunityBurst int           `env:"TALLYSTICK_COMMUNITY_BURST" envDefault:"300"`
	CommunityEvery time.Duration `env:"TALLYSTICK_COMMUNITY_EVERY" envDefault:"50ms"`

	// locale is the system's, for writing money; it is no setting of ours.
	locale string
	// unknown are the sentences on names that are no settings.
	unknown []string
}

// Secret is a text that no log, error or print gives away.
type Secret string

const redacted = "REDACTED"

// String hides the text from fmt.
func (Secret) String() string { return redacted }

// GoString hides the text from %#v.
func (Secret) GoString() string { return redacted }

// LogValue hides the text from slog.
func (Secret) LogValue() slog.Value { return slog.StringValue(redacted) }

// MarshalJSON hides the text from JSON.
func (Secret) MarshalJSON() ([]byte, error) { return []byte(`"` + redacted + `"`), nil }

// settingsError is something that whoever set the settings can put right.
type settingsError struct{ problems []string }

func (e *settingsError) Error() string { return strings.Join(e.problems, "\n            ") }

func (e *settingsError) add(format string, args ...any) {
	e.problems = append(e.problems, fmt.Sprintf(format, args...))
}

// readSettings reads and checks everything, and reports all problems together.
func readSettings(environ []string, dotEnv string) (settings, error) {
	known := map[string]string{}
	problems := &settingsError{}
	maps.Copy(known, readDotEnv(dotEnv, problems))
	for _, entry := range environ {
		if name, value, ok := strings.Cut(entry, "="); ok {
			known[name] = value
		}
	}
	s := parseSettings(known, problems)
	s.unknown = unknownSettings(known)
	s.check(problems, known)
	s.locale = localeOf(known)
	if len(problems.problems) > 0 {
		problems.problems = append(problems.problems, s.unknown...) // one may be why
		return settings{}, problems
	}
	return s, nil
}

func (s *settings) check(problems *settingsError, known map[string]string) {
	if s.Data == "" {
		s.Data = dataFolder(known)
	}
	if s.Data == "" {
		problems.add("TALLYSTICK_DATA is not set and I know no home folder. Try TALLYSTICK_DATA=/var/lib/tallystick")
	}
	if rest, tilde := strings.CutPrefix(s.Data, "~"); tilde { // a folder of that name would be made
		try := "/var/lib/tallystick"
		if home := known["HOME"]; home != "" && (rest == "" || rest[0] == '/') {
			try = home + rest
		}
		problems.add("TALLYSTICK_DATA: %q begins with ~, which only a shell takes for a home folder. Try %s", measure.Quote(s.Data), try)
	}
	if c, err := price.ParseCurrency(s.Currency); err != nil {
		problems.add("TALLYSTICK_CURRENCY: %q is not a currency code. Try USD or EUR", measure.Quote(s.Currency))
	} else {
		s.Currency = c.Code()
	}
	oneOf := func(name, value string, words ...string) {
		if slices.Contains(words, value) {
			return
		}
		problems.add("%s: %q is not known. Try %s", name, measure.Quote(value), strings.TrimPrefix(strings.Join(words, " or "), " or "))
	}
	oneOf("TALLYSTICK_UNITS", s.Units, "imperial", "metric")
	oneOf("TALLYSTICK_LOG", s.Log, "text", "json")
	oneOf("TALLYSTICK_LOG_LEVEL", s.LogLevel, "", "debug", "info", "warn", "error")
	if err := discord.CheckAPI(s.DiscordAPI); err != nil {
		problems.add("TALLYSTICK_DISCORD_API: %v", err)
	}
	if s.DiscordShards < 1 || s.DiscordShards > discord.ShardsMost {
		problems.add("TALLYSTICK_DISCORD_SHARDS: %d is not between 1 and %d. Try 1", s.DiscordShards, discord.ShardsMost)
	}
	if s.DiscordHTTP != "" {
		if err := discord.CheckDoor(s.DiscordHTTP, s.DiscordKey); err != nil {
			problems.add("TALLYSTICK_DISCORD_HTTP with TALLYSTICK_DISCORD_PUBLIC_KEY: %v", err)
		}
		if s.DiscordShards > 1 {
			problems.add("TALLYSTICK_DISCORD_HTTP and TALLYSTICK_DISCORD_SHARDS are both set, and shards are of the gateway. Set one of them")
		}
	}
	s.checkLimits(problems, known)
	if s.Metrics != "" {
		if _, err := loopback(s.Metrics); err != nil {
			problems.add("TALLYSTICK_METRICS: %q %v. Try 127.0.0.1:9109", measure.Quote(s.Metrics), err)
		}
	}
	if s.DiscordToken != "" && s.DiscordTokenFile != "" {
		problems.add("TALLYSTICK_DISCORD_TOKEN and TALLYSTICK_DISCORD_TOKEN_FILE are both set. Set one of them")
	}
}

// discord is what every sub-command that speaks to the platform is given.
func (p *process) discord(set *commands.Set) (discord.Config, error) {
	token, err := p.settings.token()
	s := p.settings
	return discord.Config{Token: token, API: s.DiscordAPI, Shards: s.DiscordShards, Listen: s.DiscordHTTP, PublicKey: s.DiscordKey,
		Set: set, Log: p.log, Reference: reference}, err
}

// token is the bot's token from wherever it was put.
func (s settings) token() (string, error) {
	if s.DiscordTokenFile == "" {
		if strings.TrimSpace(string(s.DiscordToken)) == "" {
			return "", &settingsError{[]string{"TALLYSTICK_DISCORD_TOKEN is not set. Copy the token from the portal's Bot page into it"}}
		}
		return strings.TrimSpace(string(s.DiscordToken)), nil
	}
	text, err := os.ReadFile(s.DiscordTokenFile)
	if err != nil || strings.TrimSpace(string(text)) == "" {
		return "", &settingsError{[]string{"TALLYSTICK_DISCORD_TOKEN_FILE names a file that cannot be read or is empty"}}
	}
	return strings.TrimSpace(string(text)), nil
}

// bare is the unit a number without one takes.
func (s settings) bare() measure.Length {
	if s.Units == "metric" {
		return measure.Millimetre
	}
	return measure.Inch
}

// logger writes to stderr. usual is the level where the settings name none.
func (s settings) logger(stderr io.Writer, usual slog.Level) *slog.Logger {
	level := usual
	if s.LogLevel != "" {
		_ = level.UnmarshalText([]byte(s.LogLevel)) // checked before
	}
	options := &slog.HandlerOptions{Level: level}
	if s.Log == "json" {
		return slog.New(slog.NewJSONHandler(stderr, options))
	}
	return slog.New(slog.NewTextHandler(stderr, options))
}

// dataFolder is where programs keep a user's data: XDG_DATA_HOME by the XDG Base
// Directory Specification, and the usual places of macOS and Windows.
func dataFolder(known map[string]string) string {
	if xdg := known["XDG_DATA_HOME"]; filepath.IsAbs(xdg) {
		return filepath.Join(xdg, "tallystick")
	}
	home := known["HOME"]
	switch runtime.GOOS {
	case "windows":
		if local := known["LOCALAPPDATA"]; local != "" {
			return filepath.Join(local, "tallystick")
		}
		return ""
	case "darwin":
		if home != "" {
			return filepath.Join(home, "Library", "Application Support", "tallystick")
		}
	}
	if home == "" {
		return ""
	}
	return filepath.Join(home, ".local", "share", "tallystick")
}

// localeOf turns the POSIX locale variables into a BCP 47 tag: de_DE.UTF-8 is de-DE.
func localeOf(known map[string]string) string {
	for _, name := range []string{"LC_ALL", "LC_MONETARY", "LANG"} {
		value, _, _ := strings.Cut(known[name], ".")
		value, _, _ = strings.Cut(value, "@")
		switch value {
		case "":
			continue
		case "C", "POSIX":
			return "en"
		}
		return strings.ReplaceAll(value, "_", "-")
	}
	return "en"
}
