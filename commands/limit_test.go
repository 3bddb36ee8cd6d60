package commands_test

import (
	"context"
	"fmt"
	"log/slog"
	"regexp"
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/commands"
)

// echo is a set of one command, held to limits.
func echo(t require.TestingT, l commands.Limits) *commands.Set {
	complete := func(context.Context, commands.Request, string) ([]commands.Choice, error) {
		return []commands.Choice{{Value: "a", Label: "a"}}, nil
	}
	set, err := commands.NewSet([]commands.Command{{Path: "echo", Summary: "says it again", Examples: []string{"/echo"},
		Options: []commands.Option{{Name: "word", Summary: "a word", Kind: commands.Word, Example: "a", Complete: complete}},
		Run: func(context.Context, commands.Request) (commands.Reply, error) {
			return commands.Reply{Title: "echo"}, nil
		}}},
		slog.New(slog.DiscardHandler), func() string { return "F001" })
	require.NoError(t, err)
	set.Limit(l)
	return set
}

func asks(set *commands.Set, community, member string) commands.Reply {
	return set.Do(context.Background(), commands.Request{Community: community, Member: member, Path: "echo", Options: map[string]string{"word": "hello"}})
}

// wait is the time a refusal names.
func wait(t require.TestingT, r commands.Reply) time.Duration {
	m := regexp.MustCompile(`Try again in (\d+) s\.$`).FindStringSubmatch(r.Sentence())
	require.NotNil(t, m, r.Sentence())
	n, err := strconv.Atoi(m[1])
	require.NoError(t, err)
	require.Positive(t, n)
	return time.Duration(n) * time.Second
}

var eager = commands.Limits{Member: commands.Limit{Burst: 3, Every: 2 * time.Second}, Community: commands.Limit{Burst: 100, Every: time.Second}}

func TestAMemberIsToldWhenToAskAgainAndIsAnsweredThen(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		set := echo(t, eager)
		for range 3 {
			require.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome())
		}
		refused := asks(set, "here", "ann")
		assert.Equal(t, "That is more at once than I answer one member. Try again in 2 s.", refused.Sentence())
		assert.True(t, refused.Private && refused.Again)
		assert.Equal(t, commands.WasRefused, refused.Outcome(), "it is no mistake of theirs")
		assert.Equal(t, commands.Answered, asks(set, "here", "ben").Outcome(), "others are not held up")
		assert.Equal(t, commands.Answered, asks(set, "there", "ann").Outcome(), "nor the same account elsewhere")
		for range 50 { // what was refused costs nothing
			assert.Equal(t, 2*time.Second, wait(t, asks(set, "here", "ann")))
		}
		time.Sleep(2 * time.Second)
		assert.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome())
		time.Sleep(time.Hour)
		for range 3 {
			assert.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome(), "the burst is there again, and no more than that")
		}
		assert.Equal(t, commands.WasRefused, asks(set, "here", "ann").Outcome())
	})
}

// Three hundred members come at once, and each comes back when told: all are
// answered at their second try.
func TestACommunityIsTakenInTurn(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		l := eager
		l.Community = commands.Limit{Burst: 50, Every: 50 * time.Millisecond}
		set := echo(t, l)
		back, answered := map[time.Duration][]string{}, 0
		for n := range 300 {
			member := fmt.Sprintf("m%d", n)
			if r := asks(set, "here", member); r.Outcome() != commands.Answered {
				back[wait(t, r)] = append(back[wait(t, r)], member)
				continue
			}
			answered++
		}
		assert.Equal(t, 50, answered)
		for second := range 14 {
			for _, member := range back[time.Duration(second)*time.Second] {
				assert.Equal(t, commands.Answered, asks(set, "here", member).Outcome(), "%s after %d s", member, second)
				answered++
			}
			time.Sleep(time.Second)
		}
		assert.Equal(t, 300, answered)
		assert.Equal(t, commands.Answered, asks(set, "elsewhere", "m1").Outcome(), "another community is another")
	})
}

// Whatever the limits and however a member hurries: who was told to wait and comes
// back then, and not before, is answered.
func TestNobodyWaitsLongerThanTheSentenceSays(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		limit := func(name string) commands.Limit {
			return commands.Limit{Burst: rapid.IntRange(1, 5).Draw(rt, name), Every: time.Duration(rapid.Int64Range(1, int64(7*time.Second)).Draw(rt, name+" every"))}
		}
		l := commands.Limits{Member: limit("member"), Community: limit("community")}
		broken := ""
		synctest.Test(t, func(*testing.T) {
			set := echo(rt, l)
			until := map[string]time.Time{}
			for range rapid.IntRange(1, 60).Draw(rt, "requests") {
				member := rapid.SampledFrom([]string{"ann", "ben", "cid"}).Draw(rt, "member")
				if pause := time.Until(until[member]); pause > 0 && rapid.Bool().Draw(rt, "waits") {
					time.Sleep(pause)
				}
				told, was := until[member]
				delete(until, member)
				r := asks(set, "here", member)
				switch {
				case r.Outcome() == commands.Answered:
				case was && !time.Now().Before(told):
					broken = member + " was told to come back by now, and is told: " + r.Sentence()
					return
				default:
					until[member] = time.Now().Add(wait(rt, r))
				}
				time.Sleep(time.Duration(rapid.Int64Range(0, int64(time.Second)).Draw(rt, "pause")))
			}
		})
		if broken != "" {
			rt.Fatal(broken)
		}
	})
}

func TestCompletionsThatComeTooFastAreAnEmptyList(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		set := echo(t, commands.Limits{Member: commands.Limit{Burst: 1, Every: time.Hour}, Completion: commands.Limit{Burst: 2, Every: time.Second}})
		suggests := func() int {
			return len(set.Suggest(context.Background(), commands.Request{Community: "here", Member: "ann", Path: "echo"}, "word", "", 25))
		}
		assert.Equal(t, []int{1, 1, 0, 0}, []int{suggests(), suggests(), suggests(), suggests()})
		assert.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome(), "a request is not held up by them")
		time.Sleep(time.Second)
		assert.Equal(t, 1, suggests())
	})
}

// A set without limits, as in a terminal, answers whatever comes.
func TestWithoutLimitsNobodyIsHeldUp(t *testing.T) {
	t.Parallel()
	set := echo(t, commands.Limits{})
	for range 5000 {
		require.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome())
	}
}

// Many thousands of accounts cost a bounded memory: those that were seen longest
// ago are let go, and begin anew.
func TestTheCountOfWhoAsksIsBounded(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		set := echo(t, commands.Limits{Member: commands.Limit{Burst: 1, Every: 24 * time.Hour}})
		require.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome())
		for n := range 19_000 {
			asks(set, "here", strconv.Itoa(n))
		}
		assert.Equal(t, commands.WasRefused, asks(set, "here", "ann").Outcome(), "still known among 19,001")
		for n := range 21_000 {
			asks(set, "here", "x"+strconv.Itoa(n))
		}
		assert.Equal(t, commands.Answered, asks(set, "here", "ann").Outcome(), "after 21,000 others, no longer")
	})
}

func TestAFormCountsAsARequest(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	c.set.Limit(commands.Limits{Member: commands.Limit{Burst: 1, Every: time.Hour}})
	req := commands.Request{Community: community, Member: "ann", Path: "charge"}
	form, _ := c.set.Form(context.Background(), req)
	require.NotNil(t, form)
	form, reply := c.set.Form(context.Background(), req)
	assert.Nil(t, form)
	assert.Equal(t, commands.WasRefused, reply.Outcome())
	assert.Regexp(t, `Try again in 3\d\d\d s\.$`, reply.Sentence())
}

func TestWhatWasAdmittedIsNotCountedAgain(t *testing.T) {
	t.Parallel()
	set := echo(t, commands.Limits{Member: commands.Limit{Burst: 2, Every: time.Hour}})
	var seen []commands.Outcome
	set.Observe(func(o commands.Observed) { seen = append(seen, o.Outcome) })
	request := commands.Request{Community: "here", Member: "ann", Path: "echo"}
	for range 2 {
		admitted, refused := set.Admit(context.Background(), request)
		require.Nil(t, refused)
		assert.Equal(t, commands.Answered, set.Do(context.Background(), admitted).Outcome())
	}
	_, refused := set.Admit(context.Background(), request)
	require.NotNil(t, refused)
	assert.Equal(t, asks(set, "here", "ann").Sentence(), refused.Sentence(), "as it is refused without")
	assert.Equal(t, []commands.Outcome{commands.Answered, commands.Answered, commands.WasRefused, commands.WasRefused}, seen)
}
