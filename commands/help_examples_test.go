package commands_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
	"tallystick/commands"
)

// sided finds what a reply says it read as a board or a piece, in millimetres.
var sided = regexp.MustCompile(`([0-9.]+) × ([0-9.]+)(?: × ([0-9.]+))? mm`)

// Whoever measures in millimetres types the examples of the help back as they stand.
// They have to mean to everybody what they mean to who wrote them.
func TestEveryExampleOfTheHelpMeansTheSameInEitherSystem(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	asked, sizes, figures, left := 0, 0, 0, 0
	for _, command := range c.set.Commands() {
		shown := map[string][]string{}
		replies := map[string][]commands.Reply{}
		for _, units := range []string{"imperial", "metric"} {
			asker := strings.ReplaceAll(command.Path, " ", "-") + "-" + units
			c.surelyBy(asker, "/settings set units:"+units)
			for _, note := range c.ask(asker, false, "/help command:"+command.Path).Notes {
				if example, is := strings.CutPrefix(note, "Example: "); is {
					shown[units] = append(shown[units], example)
				}
			}
			require.Len(t, shown[units], len(command.Examples), command.Path)
			for k, example := range shown[units] {
				member := fmt.Sprintf("%s-%d", asker, k)
				c.stocked(member, units)
				reply := c.ask(member, command.HostOnly, example)
				replies[units] = append(replies[units], reply)
				if ofState.MatchString(example) {
					left++
					continue
				}
				require.Equal(t, commands.Answered, reply.Outcome(), "%s, %s: %s", units, example, reply.Sentence())
				asked++
				for _, size := range sided.FindAllStringSubmatch(reply.Plain(), -1) {
					sizes++
					for _, side := range size[1:] {
						if mm, err := strconv.ParseFloat(side, 64); err == nil {
							assert.GreaterOrEqual(t, mm, 3.0, "%s, %s: read as %s", units, example, size[0])
						}
					}
				}
			}
		}
		for k, example := range shown["imperial"] {
			if shown["metric"][k] != example {
				continue // each in its own system, which is not to the last digit the same
			}
			for _, f := range replies["imperial"][k].Figures {
				for _, m := range replies["metric"][k].Figures {
					if m.Key == f.Key && m.Unit == f.Unit {
						figures++
						assert.Equal(t, f.Value, m.Value, "%s: %s", example, f.Label)
					}
				}
			}
		}
	}
	assert.Greater(t, asked, 150)
	assert.Less(t, left, 50)
	assert.Greater(t, sizes, 20)
	assert.Greater(t, figures, 80)
	t.Logf("%d answers, %d left out, %d sizes, %d figures compared", asked, left, sizes, figures)
}

// ofState are the examples that need what these members do not have: a code, a clock
// that runs, an entry, an offer, a sale, a setting.
var ofState = regexp.MustCompile(`K7Q2MX|piece:1$|^/piece clock (out|right)|^/piece correct|^/piece import|gone:yes|down:yes|^/piece reopen|^/sale withdraw|^/settings forget setting|remove:yes`)

// stocked gives a member a lot and two pieces, which the examples speak of.
func (c *chat) stocked(member, units string) {
	for _, line := range []string{
		"/settings set units:" + units,
		"/privacy opt-in agree:yes",
		"/lot add what:ash paid:160 board-feet:20",
		"/piece open name:Shelf",
		"/piece open name:Bench category:bench",
	} {
		c.surelyBy(member, line)
	}
}

func (c *chat) surelyBy(member, line string) {
	reply := c.ask(member, false, line)
	require.Nil(c.t, reply.Mistake, "%s: %s", line, reply.Sentence())
}

// What a sentence about a mistake tells people to try is the option's example.
func TestTheExampleOfAnOptionMeansTheSameInEitherSystem(t *testing.T) {
	t.Parallel()
	c, met := newChat(t), 0
	same := func(command commands.Command, o commands.Option, inches, metric any, err error) {
		met++
		require.NoError(t, err, "/%s %s:%s", command.Path, o.Name, o.Example)
		assert.Equal(t, inches, metric, "/%s %s:%s", command.Path, o.Name, o.Example)
	}
	for _, command := range c.set.Commands() {
		for _, o := range command.Options {
			switch o.Kind {
			case commands.Length:
				inches, _ := measure.ParseQuantity(o.Example, measure.Inch) // mils are lengths too
				metric, err := measure.ParseQuantity(o.Example, measure.Millimetre)
				same(command, o, inches, metric, err)
			case commands.Size:
				inches, _ := measure.ParseSize(o.Example, measure.Inch)
				metric, err := measure.ParseSize(o.Example, measure.Millimetre)
				same(command, o, inches, metric, err)
			case commands.Boards:
				inches, _ := measure.ParseLot(o.Example, measure.Inch)
				metric, err := measure.ParseLot(o.Example, measure.Millimetre)
				same(command, o, inches, metric, err)
			}
		}
	}
	assert.Greater(t, met, 20)
}

func TestHelpGreetsAMemberInTheirOwnSystem(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	c.surelyBy("mia", "/settings set units:metric")
	for member, want := range map[string]string{"ian": "48 × 14 × 18 in", "mia": "1220 × 360 × 460 mm"} {
		for _, line := range []string{"/help", "/help task:what-to-ask"} {
			notes := c.ask(member, false, line).Notes
			i := slices.IndexFunc(notes, func(n string) bool { return strings.Contains(n, "/charge about:") })
			require.GreaterOrEqual(t, i, 0, "%s: %s", member, line)
			_, typed, _ := strings.Cut(notes[i], "/charge ")
			assert.Contains(t, c.ask(member, false, "/charge "+typed).Plain(), want, "%s: %s", member, notes[i])
		}
	}
}
