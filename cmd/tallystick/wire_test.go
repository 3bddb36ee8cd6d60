package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/bot/discord"
	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/commands"
	"tallystick/store"
)

// What members meet in the chat: every answer of every conversation, as the body it
// is sent with. bot/discord holds these files against the platform's description.
func TestTheAnswersOfTheConversationsAreSentAsTheGoldenFilesSay(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob(filepath.Join(top, "testdata", "conversations", "*.chat"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	kept := filepath.Join(top, "testdata", "discord", "replies")
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".chat")
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got := newStage(t).play(file)
			golden := filepath.Join(kept, name+".jsonl")
			if *update {
				require.NoError(t, os.MkdirAll(kept, 0o755))
				require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
				return
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			assert.Equal(t, string(want), got, "go test ./cmd/tallystick -update writes it anew")
		})
	}
	if *update {
		return
	}
	goldens, err := filepath.Glob(filepath.Join(kept, "*.jsonl"))
	require.NoError(t, err)
	assert.Len(t, goldens, len(files), "a golden file without its conversation")
}

// A locale with its sign behind the amount takes the most room. Money of elsewhere,
// such as US$ in Brazil, takes more than a phone has and becomes lines.
func TestTheLadderOfPricesIsATableOnAPhoneInEveryLocale(t *testing.T) {
	t.Parallel()
	s := newStage(t)
	for locale, currency := range map[string]string{"en-US": "USD", "en-GB": "GBP", "pt-BR": "BRL", "de": "EUR", "fr": "EUR"} {
		s.direct([]string{"currency", currency})
		req := commands.Request{Delivery: locale, Community: workshop, Member: "ann", Path: "price", Time: s.now, Locale: locale,
			Options: map[string]string{"hours": "4", "materials": "24.90", "rate": "25"}}
		bodies, err := discord.ReplyBodies(s.set, s.set.Do(context.Background(), req), req)
		require.NoError(t, err)
		assert.Regexp(t, "\\*\\*What each price leaves you\\*\\*\\\\n```", string(bodies[0]), locale)
	}
}

// The form of every command that has one, as it opens for a member who has set
// nothing yet.
func TestTheFormsAreOpenedAsTheGoldenFileSays(t *testing.T) {
	t.Parallel()
	set := realSet(t)
	var b strings.Builder
	for _, c := range set.Commands() {
		if len(c.Ask) == 0 {
			continue
		}
		form, reply := set.Form(context.Background(), commands.Request{Path: c.Path, Community: "workshop", Member: "ann", Host: true})
		if form == nil { // it wants to know of what
			require.NotEmpty(t, reply.Sentence(), c.Path)
			continue
		}
		body, err := discord.FormBody(form)
		require.NoError(t, err)
		b.Write(append(body, '\n'))
	}
	golden := filepath.Join(top, "testdata", "discord", "forms.jsonl")
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(b.String()), 0o644))
		return
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), b.String(), "go test ./cmd/tallystick -update writes it anew")
}

// stage plays a conversation, see testdata/conversations/FORMAT.md. The answers
// themselves are checked where the conversations belong, in commands.
type stage struct {
	t        *testing.T
	folder   string
	bare     measure.Length
	defaults store.Community
	store    *store.Store
	set      *commands.Set
	now      time.Time
	said     int
	codes    []string
	closed   bool
}

const workshop = "workshop"

func newStage(t *testing.T) *stage {
	s := &stage{t: t, folder: t.TempDir(), bare: measure.Inch, now: time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC),
		defaults: store.Community{Currency: "USD", Categories: []string{"bench", "box", "shelf", "side-table", "stool"}, Regions: []string{"harbour", "uplands"}}}
	keys, err := os.ReadFile(filepath.Join(top, "testdata", "conversations", "test.keys"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(s.folder, "chat.keys"), keys, 0o600))
	s.open()
	t.Cleanup(s.close)
	return s
}

func (s *stage) open() {
	var err error
	s.store, err = store.Open(context.Background(), store.Config{
		Path: filepath.Join(s.folder, "chat.db"), KeysPath: filepath.Join(s.folder, "chat.keys"), Defaults: s.defaults})
	require.NoError(s.t, err)
	s.closed = false
	s.build()
}

func (s *stage) build() {
	var err error
	s.set, err = commands.New(commands.Config{Store: s.store, Log: slog.New(slog.DiscardHandler), Bare: s.bare, Reference: func() string { return "F001" }})
	require.NoError(s.t, err)
}

func (s *stage) close() {
	if !s.closed {
		require.NoError(s.t, s.store.Close())
		s.closed = true
	}
}

// play gives each body that differs from those before it, a line each.
func (s *stage) play(file string) string {
	text, err := os.ReadFile(file)
	require.NoError(s.t, err)
	var out strings.Builder
	seen := map[string]bool{}
	lines := bufio.NewScanner(strings.NewReader(string(text)))
	for lines.Scan() {
		line := lines.Text()
		switch {
		case strings.HasPrefix(line, "@"):
			for _, body := range s.say(line[1:]) {
				if !seen[body] {
					seen[body] = true
					out.WriteString(body + "\n")
				}
			}
		case strings.HasPrefix(line, "~ "):
			d, err := time.ParseDuration(strings.TrimSpace(line[2:]))
			require.NoError(s.t, err, line)
			s.now = s.now.Add(d)
		case strings.HasPrefix(line, "! "):
			s.direct(strings.Fields(line[2:]))
		}
	}
	require.NoError(s.t, lines.Err())
	return out.String()
}

var drawn = regexp.MustCompile(`\{(\d+)\}`)

// say puts one line and gives its answer's bodies. Codes drawn at random are
// written as the conversations write them.
func (s *stage) say(text string) []string {
	name, line, _ := strings.Cut(text, " ")
	member, host := strings.CutSuffix(name, "[host]")
	line = drawn.ReplaceAllStringFunc(line, func(m string) string {
		n, err := strconv.Atoi(strings.Trim(m, "{}"))
		require.NoError(s.t, err)
		require.LessOrEqual(s.t, n, len(s.codes), "no code %s yet", m)
		return s.codes[n-1]
	})
	path, options, mistake := s.set.ParseLine(line)
	if mistake != nil {
		return nil // no line is typed in the chat
	}
	s.said++
	req := commands.Request{Delivery: fmt.Sprintf("delivery-%d", s.said), Community: workshop, Member: member, Host: host, Path: path, Options: options, Time: s.now}
	reply := s.set.Do(context.Background(), req)
	s.learn(reply)
	bodies, err := discord.ReplyBodies(s.set, reply, req)
	require.NoError(s.t, err)
	out := make([]string, len(bodies))
	for i, b := range bodies {
		out[i] = string(b)
		for n, code := range s.codes {
			out[i] = strings.ReplaceAll(out[i], code, fmt.Sprintf("{%d}", n+1))
		}
		require.True(s.t, json.Valid([]byte(out[i])))
	}
	return out
}

func (s *stage) learn(reply commands.Reply) {
	for _, a := range reply.Actions {
		for _, name := range []string{"confirm", "draft", "room"} {
			if code := a.Options[name]; code != "" && code != "yes" && !slices.Contains(s.codes, code) {
				s.codes = append(s.codes, code)
			}
		}
	}
	for _, f := range reply.Figures {
		if f.Key == "withdrawal_code" && !slices.Contains(s.codes, f.Value) {
			s.codes = append(s.codes, f.Value)
		}
	}
}

func (s *stage) direct(words []string) {
	ctx := context.Background()
	switch words[0] {
	case "metric":
		s.bare = measure.Millimetre
		s.build()
	case "currency":
		settings := s.defaults
		settings.Currency = words[1]
		require.NoError(s.t, s.store.SetCommunity(ctx, workshop, settings))
	case "practice":
		s.practise(words[1], "0")
	case "few":
		s.practise("60", words[1])
	case "release":
		_, err := s.store.ReleaseDue(ctx, s.now)
		require.NoError(s.t, err)
	case "restart":
		s.close()
		s.open()
	case "fault":
		s.close()
	default:
		require.Fail(s.t, "no such direction", "%q", words)
	}
}

func (s *stage) practise(makers, stools string) {
	ctx := context.Background()
	n, err := strconv.Atoi(makers)
	require.NoError(s.t, err)
	few, err := strconv.Atoi(stools)
	require.NoError(s.t, err)
	settings := s.defaults
	settings.Practice = true
	require.NoError(s.t, s.store.SetCommunity(ctx, workshop, settings))
	sold := pool.MonthOf(s.now.Year(), s.now.Month()) - 5
	sale := store.Sale{Category: "bench", Region: "harbour", SpeciesGroup: "hardwood", Sold: sold, Values: pool.Values{}.
		With(pool.Price, pool.Whole(360)).With(pool.PricePerBoardFoot, pool.Whole(24)).With(pool.RealisedHourly, pool.Whole(21)).
		With(pool.SoldToAsked, pool.One*9/10).With(pool.DaysToSell, pool.Whole(12))}
	stool := sale
	stool.Category, stool.Values = "stool", pool.Values{}.With(pool.Price, pool.Whole(90)).With(pool.PricePerBoardFoot, pool.Whole(48))
	seeds := make([]store.SeedSale, n+few)
	for i := range seeds {
		seeds[i] = store.SeedSale{Maker: fmt.Sprintf("maker-%d", i), Since: (sold - 2).First(), Sale: sale}
		if i >= n {
			seeds[i].Sale = stool
		}
	}
	require.NoError(s.t, s.store.Seed(ctx, workshop, seeds))
	require.NoError(s.t, s.store.RunRelease(ctx, workshop, pool.DayAt(s.now), pool.StandardRules()))
}
