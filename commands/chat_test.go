package commands_test

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"log/slog"
	"maps"
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

	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/commands"
	"tallystick/store"
)

var update = flag.Bool("update", false, "write the answers of the conversations anew")

const conversations = "../testdata/conversations"

// The format is documented in testdata/conversations/FORMAT.md.
func TestConversationsGoAsTheyAreWritten(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob(filepath.Join(conversations, "*.chat"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".chat"), func(t *testing.T) {
			t.Parallel()
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			got := newChat(t).play(string(want))
			if *update {
				require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
				return
			}
			assert.Equal(t, string(want), got, "the answers differ; go test ./commands -update writes them anew")
		})
	}
}

// Every command has a conversation with an answer, a mistake and a fault.
func TestEveryCommandHasItsConversation(t *testing.T) {
	t.Parallel()
	for _, c := range newChat(t).set.Commands() {
		name := strings.ReplaceAll(c.Path, " ", "-")
		text, err := os.ReadFile(filepath.Join(conversations, name+".chat"))
		if !assert.NoError(t, err, "/%s has no conversation", c.Path) {
			continue
		}
		assert.Regexp(t, `(?m)^@\S+ /`+c.Path+`\b`, string(text), "/%s is never said", c.Path)
		assert.Regexp(t, `(?m)^<(private)? .*\. Try `, string(text), "/%s never meets a mistake", c.Path)
		if c.Path != "help" { // it touches nothing that could fail
			assert.Contains(t, string(text), "Something went wrong on my side.", "/%s never meets a fault", c.Path)
		}
	}
}

// chat is one conversation in progress.
type chat struct {
	t        *testing.T
	folder   string
	bare     measure.Length
	store    *store.Store
	set      *commands.Set
	now      time.Time
	said     int
	faults   int
	codes    []string
	closed   bool
	defaults store.Community
	log      slog.Handler
	// heard, when it is not nil, is told of every request and its reply.
	heard func(commands.Request, commands.Reply)
}

const community = "workshop"

func newChat(t *testing.T) *chat {
	c := &chat{t: t, log: slog.DiscardHandler, folder: t.TempDir(), bare: measure.Inch, now: time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC),
		defaults: store.Community{Currency: "USD", Categories: []string{"bench", "box", "shelf", "side-table", "stool"}, Regions: []string{"harbour", "uplands"}}}
	keys, err := os.ReadFile(filepath.Join(conversations, "test.keys"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(c.folder, "chat.keys"), keys, 0o600))
	c.open()
	t.Cleanup(c.close)
	return c
}

func (c *chat) open() {
	var err error
	c.store, err = store.Open(context.Background(), store.Config{
		Path: filepath.Join(c.folder, "chat.db"), KeysPath: filepath.Join(c.folder, "chat.keys"), Defaults: c.defaults})
	require.NoError(c.t, err)
	c.closed = false
	c.build()
}

func (c *chat) build() {
	var err error
	c.set, err = commands.New(commands.Config{Store: c.store, Log: slog.New(c.log), Bare: c.bare,
		Reference: func() string { c.faults++; return fmt.Sprintf("F%03d", c.faults) }})
	require.NoError(c.t, err)
}

func (c *chat) close() {
	if !c.closed {
		require.NoError(c.t, c.store.Close())
		c.closed = true
	}
}

// play says every line and returns the conversation with the answers that came.
func (c *chat) play(text string) string {
	var out strings.Builder
	lines := bufio.NewScanner(strings.NewReader(text))
	for lines.Scan() {
		line := lines.Text()
		switch {
		case strings.HasPrefix(line, "<"), strings.HasPrefix(line, "|"):
			continue
		case strings.HasPrefix(line, "@"):
			out.WriteString(line + "\n" + c.say(line[1:]))
			continue
		case strings.HasPrefix(line, "~ "):
			d, err := time.ParseDuration(strings.TrimSpace(line[2:]))
			require.NoError(c.t, err, line)
			c.now = c.now.Add(d)
		case strings.HasPrefix(line, "! "):
			c.direct(strings.Fields(line[2:]))
		}
		out.WriteString(line + "\n")
	}
	require.NoError(c.t, lines.Err())
	return out.String()
}

var mark = regexp.MustCompile(`\{(\d+)\}`)

func (c *chat) say(text string) string {
	name, line, _ := strings.Cut(text, " ")
	member, host := strings.CutSuffix(name, "[host]")
	line = mark.ReplaceAllStringFunc(line, func(m string) string {
		n, err := strconv.Atoi(strings.Trim(m, "{}"))
		require.NoError(c.t, err)
		require.LessOrEqual(c.t, n, len(c.codes), "no code %s yet", m)
		return c.codes[n-1]
	})
	reply := c.ask(member, host, line)
	c.learn(reply)
	plain := strings.TrimRight(reply.Plain(), "\n")
	if reply.File != nil {
		plain += "\n" + strings.TrimRight(string(reply.File.Bytes), "\n")
	}
	for n, code := range c.codes {
		plain = strings.ReplaceAll(plain, code, fmt.Sprintf("{%d}", n+1))
	}
	head := "< "
	if reply.Private {
		head = "<private "
	}
	return head + strings.ReplaceAll(strings.ReplaceAll(plain, "\n", "\n| "), "\n| \n", "\n|\n") + "\n"
}

// ask hands one line over as a transport would.
func (c *chat) ask(member string, host bool, line string) commands.Reply {
	path, options, mistake := c.set.ParseLine(line)
	if mistake != nil {
		return commands.Reply{Private: true, Mistake: mistake}
	}
	c.said++
	req := commands.Request{Delivery: fmt.Sprintf("delivery-%d", c.said), Community: community, Member: member, Host: host,
		Path: path, Options: options, Time: c.now}
	reply := c.set.Do(context.Background(), req)
	if c.heard != nil {
		c.heard(req, reply)
	}
	return reply
}

// learn notes the codes of a reply that are drawn at random.
func (c *chat) learn(reply commands.Reply) {
	for _, a := range reply.Actions {
		for _, name := range slices.Sorted(maps.Keys(a.Options)) {
			if code := a.Options[name]; slices.Contains([]string{"confirm", "draft", "room"}, name) && code != "yes" && !slices.Contains(c.codes, code) {
				c.codes = append(c.codes, code)
			}
		}
	}
	for _, f := range reply.Figures {
		if f.Key == "withdrawal_code" && !slices.Contains(c.codes, f.Value) {
			c.codes = append(c.codes, f.Value)
		}
	}
}

func (c *chat) direct(words []string) {
	ctx := context.Background()
	switch words[0] {
	case "metric":
		c.bare = measure.Millimetre
		c.build()
	case "currency":
		settings := c.defaults
		settings.Currency = words[1]
		require.NoError(c.t, c.store.SetCommunity(ctx, community, settings))
	case "practice":
		c.practise(words[1], "0")
	case "few":
		c.practise("60", words[1])
	case "release":
		_, err := c.store.ReleaseDue(ctx, c.now)
		require.NoError(c.t, err)
	case "restart":
		c.close()
		c.open()
	case "fault":
		c.close()
	default:
		require.Fail(c.t, "no such direction", "%q", words)
	}
}

// practise fills the log with makers who all sold alike, a bench in the harbour at
// 360, 24 a board foot, and some who sold a stool at 90, 48 a board foot.
func (c *chat) practise(makers, stools string) {
	ctx := context.Background()
	n, err := strconv.Atoi(makers)
	require.NoError(c.t, err)
	few, err := strconv.Atoi(stools)
	require.NoError(c.t, err)
	settings := c.defaults
	settings.Practice = true
	require.NoError(c.t, c.store.SetCommunity(ctx, community, settings))
	sold := pool.MonthOf(c.now.Year(), c.now.Month()) - 5
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
	require.NoError(c.t, c.store.Seed(ctx, community, seeds))
	day := pool.DayAt(c.now)
	require.NoError(c.t, c.store.RunRelease(ctx, community, day, pool.StandardRules()))
}
