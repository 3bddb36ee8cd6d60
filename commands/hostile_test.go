package commands_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"hash/fnv"
	"maps"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

var (
	hostileAll  = flag.Bool("hostile", false, "type every hostile value into every option, instead of one in eighty")
	hostilePath = flag.String("hostile.path", "", "only into the options of this command")
)

const (
	// hostileShare is how many values there are to each that the usual run types.
	hostileShare = 80
	// roomFor is after how many values a community begins anew.
	roomFor = 150
	// hostileBar is how long an answer may take.
	hostileBar = 50 * time.Millisecond
	// hostileSize is how many bytes of JSON, picture and file aside, an answer may have.
	hostileSize = 64 << 10
)

// hostileValues reads the list of values.
func hostileValues(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("../testdata/hostile/values.txt")
	require.NoError(t, err)
	form := regexp.MustCompile(`^("(?:[^"\\]|\\.)*")(?: \* (\d+))?(?: \+ ("(?:[^"\\]|\\.)*"))?$`)
	var values []string
	for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
		line := lines.Text()
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		m := form.FindStringSubmatch(line)
		require.NotNil(t, m, line)
		value, err := strconv.Unquote(m[1])
		require.NoError(t, err, line)
		if m[2] != "" {
			times, err := strconv.Atoi(m[2])
			require.NoError(t, err, line)
			value = strings.Repeat(value, times)
		}
		if m[3] != "" {
			after, err := strconv.Unquote(m[3])
			require.NoError(t, err, line)
			value += after
		}
		values = append(values, value)
	}
	require.GreaterOrEqual(t, len(values), 300)
	return values
}

// before is what a member has done before the hostile value comes, so that every
// command has something to work on.
var before = []string{
	"/settings set rate:25 lowest-rate:18 overhead:4 step:5 tax:8% haggle:10% delivery:0.70/mile", "/settings venue name:market fee:10%", "/piece open name:Hall bench category:bench", "/piece time worked:3h",
	"/piece stock found board-feet:10", "/piece cost kind:part paid:5", "/lot add what:elm paid:90 board-feet:9", "/piece post where:market price:500", "/piece clock in",
	"/privacy opt-in agree:yes", "/charge about:hall bench 48x14x18 elm, 14h15, 84 materials, want 25/h", "/sale share price:430 category:bench",
}

// sureOf are the outcomes that end the process with 0 or with 2.
var sureOf = []commands.Outcome{commands.Answered, commands.WasMistake, commands.WasRefused}

func TestEveryOptionTakesEveryHostileValue(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	values := hostileValues(t)
	share := hostileShare
	if raced {
		share *= 10
	}
	asked, slowest := 0, commands.Observed{}
	slowestOf := ""
	host := hostile{t: t, c: c, codes: map[string]string{}}
	for _, command := range c.set.Commands() {
		if *hostilePath != "" && *hostilePath != command.Path {
			continue
		}
		for _, option := range command.Options {
			for i, value := range values {
				if !*hostileAll && (i+int(hashOf(command.Path+option.Name)))%share != 0 {
					continue
				}
				if host.room == "" || host.typed%roomFor == 0 || !strings.HasPrefix(host.room, command.Path+":") {
					host.prepare(fmt.Sprintf("%s:%d", command.Path, host.typed))
				}
				host.typed++
				req := host.request(command, option.Name, value)
				took := host.try(command, option, req)
				asked++
				if took > slowest.Took {
					slowest.Took, slowestOf = took, fmt.Sprintf("/%s %s:%.60q", command.Path, option.Name, value)
				}
			}
		}
	}
	t.Logf("%d requests, the slowest %v: %s", asked, slowest.Took.Round(10*time.Microsecond), slowestOf)
}

func hashOf(text string) uint32 {
	h := fnv.New32a()
	_, _ = h.Write([]byte(text))
	return h.Sum32()
}

// hostile types values as ann.
type hostile struct {
	t *testing.T
	c *chat
	// codes are the newest by the option that takes them.
	codes map[string]string
	// room is the community, and its one member, and typed counts the values.
	room  string
	typed int
}

// prepare begins a community anew, in which somebody has put a question to the room.
func (h *hostile) prepare(room string) {
	h.t.Helper()
	h.room = room
	h.say("asker", "/charge about:stool 12x12x18 oak, 3h, 9 materials, want 20/h")
	h.say("asker", "/room ask name:stool draft:"+h.codes["draft"])
	for _, line := range before {
		h.say("ann", line)
	}
}

// say says a line that works, and keeps the codes of the answer.
func (h *hostile) say(member, line string) {
	h.t.Helper()
	path, options, mistake := h.c.set.ParseLine(line)
	require.Nil(h.t, mistake, line)
	reply := h.c.set.Do(context.Background(), h.as(member, path, options))
	require.Equal(h.t, commands.Answered, reply.Outcome(), "%s: %s", line, reply.Sentence())
	for _, a := range reply.Actions {
		for _, name := range []string{"draft", "room", "confirm"} {
			if a.Options[name] != "" {
				h.codes[name] = a.Options[name]
			}
		}
	}
}

func (h *hostile) as(member, path string, options map[string]string) commands.Request {
	h.c.said++
	return commands.Request{Delivery: fmt.Sprintf("delivery-%d", h.c.said), Community: h.room, Member: member, Host: true,
		Path: path, Options: options, Time: h.c.now}
}

// request is an example of the command that works, with the value in the option.
func (h *hostile) request(c commands.Command, option, value string) commands.Request {
	var options map[string]string
	for _, example := range c.Examples {
		path, these, mistake := h.c.set.ParseLine(example)
		require.Nil(h.t, mistake, example)
		if _, has := these[option]; path == c.Path && (options == nil || has) {
			options = maps.Clone(these)
		}
	}
	for name, code := range h.codes {
		if _, has := options[name]; has && options[name] != "yes" {
			options[name] = code
		}
	}
	options[option] = value
	return h.as("ann", c.Path, options)
}

// try asks, holds the answer to all that is promised, and gives the time it took:
// the best of three where the first was too long.
func (h *hostile) try(c commands.Command, o commands.Option, req commands.Request) time.Duration {
	var reply commands.Reply
	best := time.Hour
	for range 3 {
		begun := time.Now()
		reply = h.c.set.Do(context.Background(), req)
		best = min(best, time.Since(begun))
		if best <= hostileBar {
			break
		}
		h.c.said++
		req.Delivery = fmt.Sprintf("delivery-%d", h.c.said)
	}
	about := fmt.Sprintf("/%s %s:%.200q", c.Path, o.Name, req.Options[o.Name])
	if !raced {
		assert.LessOrEqual(h.t, best, hostileBar, about)
	}
	if !assert.Contains(h.t, sureOf, reply.Outcome(), "%s: %s", about, reply.Sentence()) {
		return best
	}
	for _, problem := range append(badSentence(c, req.Options[o.Name], reply), badAnswer(reply)...) {
		assert.Fail(h.t, problem, "%s\n%.300q", about, reply.Sentence())
	}
	return best
}

// leaks are words of ours that no member is to read.
var leaks = regexp.MustCompile(`(?i)\binvalid\b|panic|goroutine|runtime error|\.go:\d|sqlite|constraint|\bSQL\b|(?-i:\bnil\b)|%!|strconv|unmarshal|/tmp/|store\.|context deadline`)

// badSentence tells what is wrong with the one line of a mistake or a refusal.
func badSentence(c commands.Command, typed string, reply commands.Reply) (problems []string) {
	if reply.Outcome() == commands.Answered {
		return nil
	}
	said := reply.Sentence()
	ours := said // without what was typed, which is theirs
	if m := reply.Mistake; m != nil {
		ours = strings.ReplaceAll(m.Problem+" "+m.Try, typed, "")
		if _, known := c.Option(m.Option); !known && m.Option != "command" {
			problems = append(problems, fmt.Sprintf("it names %q, which is no option", m.Option))
		}
		if m.Try == "" {
			problems = append(problems, "it gives no value that works")
		}
		if utf8.RuneCountInString(m.Given) > 40 {
			problems = append(problems, "it repeats too much")
		}
	}
	for _, r := range said {
		if r != ' ' && !unicode.IsGraphic(r) || r == '\u2028' || r == '\u2029' || unicode.Is(unicode.Bidi_Control, r) || unicode.IsSpace(r) && r != ' ' && r != '\u00a0' {
			problems = append(problems, fmt.Sprintf("it holds %U", r))
			break
		}
	}
	switch {
	case !strings.HasSuffix(said, "."):
		problems = append(problems, "it does not end with a full stop")
	case utf8.RuneCountInString(said) > 600:
		problems = append(problems, "it is too long")
	case leaks.MatchString(ours):
		problems = append(problems, "it tells of our insides")
	case !utf8.ValidString(said):
		problems = append(problems, "it is no text")
	}
	return problems
}

var (
	plainDecimal = regexp.MustCompile(`^-?\d+(\.\d+)?$`)
	noNumber     = regexp.MustCompile(`\bNaN\b|[+-]Inf\b|%!`)
)

// badAnswer tells what is wrong with an answer, whatever it says.
func badAnswer(reply commands.Reply) (problems []string) {
	if reply.Outcome() != commands.Answered {
		return nil
	}
	for _, f := range reply.Figures {
		if noNumber.MatchString(f.Text) {
			problems = append(problems, fmt.Sprintf("the figure %s reads %q", f.Key, f.Text))
		}
		if f.Key != "withdrawal_code" && f.Value != "" && !plainDecimal.MatchString(f.Value) {
			problems = append(problems, fmt.Sprintf("the figure %s is %.40q", f.Key, f.Value))
		}
	}
	for _, t := range reply.Tables {
		for _, row := range t.Rows {
			if len(row) != len(t.Columns) {
				problems = append(problems, "a row of a table has another number of cells")
			}
		}
	}
	if strings.ContainsAny(reply.Title, "\r\n") {
		problems = append(problems, "the title has more than one line")
	}
	reply.Picture, reply.File = nil, nil
	if text, err := json.Marshal(reply); err != nil || len(text) > hostileSize {
		problems = append(problems, fmt.Sprintf("as JSON it is %d bytes: %v", len(text), err))
	}
	return problems
}
