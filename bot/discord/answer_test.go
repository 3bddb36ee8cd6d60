package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

func TestACommandReachesItsHandlerWholeAndItsReplyReachesTheMember(t *testing.T) {
	t.Parallel()
	got := make(chan commands.Request, 1)
	r := serve(t, nil, saying("log market add", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		got <- req
		return commands.Reply{Title: "Bench", Notes: []string{"Noted."},
			Figures:  []commands.Figure{{Key: "target_price", Label: "Target price", Value: "128.94", Unit: "USD", Text: "$128.94"}},
			Tables:   []commands.Table{{Title: "Boards", Columns: []string{"Size", "Count"}, Rows: [][]string{{"3/4 x 6", "12"}, {"1 x 4", "3"}}}},
			Cautions: []commands.Caution{{Text: "Wear a mask.", Issuer: "A board of health"}}}, nil
	}, word("size", true), word("note", false)))

	e := asked("log market add", map[string]string{"size": `3/4" x 6`, "note": secretWord})
	e["member"].(map[string]any)["permissions"] = "32"
	before := time.Now()
	r.deliver(e)

	c := r.next()
	assert.Equal(t, http.MethodPost, c.Method)
	assert.Equal(t, e.callback(), c.Path)
	assert.Equal(t, 4.0, c.Body["type"])
	assert.False(t, c.hidden())
	title, text := c.message()
	assert.Equal(t, "Bench", title)
	assert.Equal(t, "**Target price**: $128.94\n\n**Boards**\n```\nSize     Count\n--------------\n3/4 x 6     12\n1 x 4        3\n```\n\nNoted.\n\n**Caution**: Wear a mask. (A board of health)", text)

	req := <-got
	assert.Equal(t, e["id"], req.Delivery)
	assert.Equal(t, "4001", req.Community)
	assert.Equal(t, "3001", req.Member)
	assert.Equal(t, "en-GB", req.Locale)
	assert.True(t, req.Host)
	assert.Equal(t, "log market add", req.Path)
	assert.Equal(t, map[string]string{"size": `3/4" x 6`, "note": secretWord}, req.Options)
	assert.WithinDuration(t, before, req.Time, 10*time.Second)
}

func TestInADirectMessageTheMemberIsTheirOwnCommunityAndNoHost(t *testing.T) {
	t.Parallel()
	got := make(chan commands.Request, 1)
	r := serve(t, nil, saying("length", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		got <- req
		return commands.Reply{Title: "x"}, nil
	}))
	e := asked("length", nil)
	delete(e, "member")
	delete(e, "guild_id")
	e["user"] = map[string]any{"id": "3009"}
	r.deliver(e)
	r.next()
	req := <-got
	assert.Equal(t, "direct3009", req.Community)
	assert.Equal(t, "3009", req.Member)
	assert.False(t, req.Host)
}

func TestOnlyWhoManagesTheServerIsItsHost(t *testing.T) {
	t.Parallel()
	got := make(chan bool, 1)
	r := serve(t, nil, saying("length", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		got <- req.Host
		return commands.Reply{Title: "x"}, nil
	}))
	// Bits from https://discord.com/developers/docs/topics/permissions
	for permissions, host := range map[string]bool{"32": true, "8": true, "40": true, "0": false, "2147483648": false, "16": false} {
		e := asked("length", nil)
		e["member"].(map[string]any)["permissions"] = permissions
		r.deliver(e)
		r.next()
		assert.Equal(t, host, <-got, permissions)
	}
}

func TestAPrivateReplyIsForTheAskerAlone(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, privately(saying("sheet", always(commands.Reply{Title: "Your sheet", Private: true}))))
	r.deliver(asked("sheet", nil))
	assert.True(t, r.next().hidden())
}

func TestAMistakeIsOneSentenceForTheAskerAloneWithTheLineAsTyped(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("price", func(context.Context, commands.Request) (commands.Reply, error) {
		return commands.Reply{}, &commands.Mistake{Option: "hours", Given: "8 hrz", Problem: "is not a time", Try: "8h or 7:30"}
	}, word("hours", true), word("name", false)))
	r.deliver(asked("price", map[string]string{"hours": "8 hrz", "name": "*" + secretWord + "* `x`"}))
	c := r.next()
	assert.True(t, c.hidden())
	_, text := c.message()
	assert.Equal(t, "hours: \"8 hrz\" is not a time. Try 8h or 7:30.\n```\n/price hours:8 hrz name:*"+secretWord+"* `x`\n```", text)
}

func TestALineIsRepeatedWholeInAHandfulOfMessagesOrNotAtAll(t *testing.T) {
	t.Parallel()
	mistake := commands.Reply{Private: true, Mistake: &commands.Mistake{Option: "about", Given: "word", Problem: "is not enough", Try: "more"}}
	typed := strings.Repeat("word ", 1200)[:5999]
	pages := render(mistake, commands.Request{Path: "charge", Options: map[string]string{"about": typed}})
	assert.LessOrEqual(t, len(pages), 5)
	words := 0
	for _, page := range pages {
		words += strings.Count(page.Content, "word")
	}
	assert.Equal(t, 1+1200, words)
	pages = render(mistake, commands.Request{Path: "charge", Options: map[string]string{"about": typed, "note": typed}})
	require.Len(t, pages, 1)
	assert.NotContains(t, pages[0].Content, "/charge")
}

func TestARefusalAndAFaultAreForTheAskerAlone(t *testing.T) {
	t.Parallel()
	r := serve(t, nil,
		saying("refuse", func(context.Context, commands.Request) (commands.Reply, error) {
			return commands.Reply{}, &commands.Refusal{Sentence: "Only a host may do that."}
		}),
		saying("fail", func(context.Context, commands.Request) (commands.Reply, error) {
			return commands.Reply{}, errors.New("the disk is full")
		}),
		saying("panic", func(context.Context, commands.Request) (commands.Reply, error) { panic("no such board") }))
	for path, want := range map[string]string{
		"refuse": "Only a host may do that.",
		"fail":   "Something went wrong on my side. Reference 7F3A.",
		"panic":  "Something went wrong on my side. Reference 7F3A.",
	} {
		r.deliver(asked(path, nil))
		c := r.next()
		assert.True(t, c.hidden(), path)
		_, text := c.message()
		assert.Equal(t, want, text)
	}
}

func TestACommandThatIsGoneIsAMistake(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.deliver(asked("lenght", nil))
	c := r.next()
	assert.True(t, c.hidden())
	_, text := c.message()
	assert.Contains(t, text, "is not a command I know. Try /length.")
}

func TestWhatMembersTypeCanNeitherPingNorFormat(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("echo", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		text := req.Options["text"]
		return commands.Reply{Title: text, Notes: []string{text},
			Figures:  []commands.Figure{{Label: text, Text: text}},
			Tables:   []commands.Table{{Title: text, Columns: []string{text, "b"}, Rows: [][]string{{text, text}}}},
			Cautions: []commands.Caution{{Text: text, Issuer: text}},
			Actions:  []commands.Action{{Label: "again", Path: "echo", Options: map[string]string{"text": strings.Repeat(text, 5)}}}}, nil
	}, word("text", true)), saying("wrong", func(_ context.Context, req commands.Request) (commands.Reply, error) {
		return commands.Reply{}, &commands.Mistake{Option: "text", Given: req.Options["text"], Problem: "is not a word", Try: "oak"}
	}, word("text", true)))
	for _, text := range []string{"@everyone", "@here", "<@3001>", "<@&3001>", "<#4002>", "[free](https://example.org)", "# big", "```\n@everyone\n```", "||x|| **b** __u__"} {
		r.deliver(asked("echo", map[string]string{"text": text}))
		title, shown := r.next().message() // checkLimits looks for pings
		assert.NotRegexp(t, `[^\\]\]\(`, title+outsideCode(shown))
		assert.NotContains(t, outsideCode(shown), "||x||")
		r.deliver(asked("wrong", map[string]string{"text": text}))
		_, shown = r.next().message()
		assert.NotRegexp(t, `[^\\]\]\(`, outsideCode(shown))
		assert.Equal(t, 2, strings.Count(shown, "```"), "the block is not left early: %s", shown)
	}
}

// outsideCode is text without its code blocks.
func outsideCode(text string) string {
	var out []string
	for i, part := range strings.Split(text, "```") {
		if i%2 == 0 {
			out = append(out, part)
		}
	}
	return strings.Join(out, "")
}

func TestALongReplyGoesOnInFurtherMessagesAndLosesNothing(t *testing.T) {
	t.Parallel()
	var notes []string
	for i := range 400 {
		notes = append(notes, fmt.Sprintf("Line %d of a long list of boards", i))
	}
	reply := commands.Reply{Title: "Boards", Notes: notes, Private: true,
		Actions: []commands.Action{{Label: "Again", Path: "boards"}}}
	r := serve(t, nil, saying("boards", always(reply)))
	e := r.deliver(asked("boards", nil))
	var all []string
	pages := 0
	for {
		c := r.next()
		pages++
		if pages == 1 {
			assert.Equal(t, e.callback(), c.Path)
		} else {
			assert.Equal(t, e.webhook(), c.Path)
		}
		assert.True(t, c.hidden(), "page %d", pages)
		title, text := c.message()
		all = append(all, text)
		if len(c.buttons()) > 0 {
			assert.Equal(t, fmt.Sprintf("Boards (%d of %d)", pages, pages), title, "the buttons stand under the last page")
			break
		}
	}
	assert.Equal(t, strings.Join(notes, "\n\n"), strings.Join(all, "\n\n"))
	assert.Greater(t, pages, 2)
}

func TestADeliveryRepeatedIsAnsweredOnce(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	ran := 0
	r := serve(t, nil, saying("length", func(context.Context, commands.Request) (commands.Reply, error) {
		mu.Lock()
		defer mu.Unlock()
		ran++
		return commands.Reply{Title: "x"}, nil
	}))
	e := r.deliver(asked("length", nil))
	r.next()
	r.deliver(e)
	r.waitForLog("it was delivered before")
	r.deliver(asked("length", nil))
	r.next()
	mu.Lock()
	defer mu.Unlock()
	assert.Equal(t, 2, ran)
}

func TestMalformedEventsAreDroppedAndTheNextIsServed(t *testing.T) {
	t.Parallel()
	r := serve(t, nil, saying("length", always(commands.Reply{Title: "x"})))
	without := func(keys ...string) event {
		e := asked("length", nil)
		for _, k := range keys {
			delete(e, k)
		}
		return e
	}
	nothing := asked("length", nil)
	nothing["data"] = nil
	holes := asked("length", nil)
	holes["data"].(map[string]any)["options"] = []any{nil}
	for i, e := range []event{{}, without("id"), without("token"), without("member"), without("data"), without("application_id"),
		interaction(1, nil), interaction(77, map[string]any{}), {"id": 7}, nothing} {
		raw := len(strings.Split(r.log.String(), "interaction dropped"))
		r.deliver(e)
		require.Eventually(t, func() bool { return len(strings.Split(r.log.String(), "interaction dropped")) > raw },
			patience, time.Millisecond, "event %d is dropped with a line in the log", i)
	}
	r.newest.Load().dispatch("INTERACTION_CREATE", `"text"`)
	r.deliver(holes)
	title, _ := r.next().message()
	assert.Equal(t, "x", title)
}

func TestWhenTheQueueIsFullTheMemberIsToldAtOnce(t *testing.T) {
	t.Parallel()
	release, running := make(chan struct{}), make(chan struct{}, 10)
	r := serve(t, func(c *Config) { c.Workers, c.Queue = 1, 1 }, saying("slow", func(context.Context, commands.Request) (commands.Reply, error) {
		running <- struct{}{}
		<-release
		return commands.Reply{Title: "done"}, nil
	}))
	r.deliver(asked("slow", nil))
	<-running
	// Two more come: one waits, the other is told.
	r.deliver(asked("slow", nil))
	r.deliver(asked("slow", nil))
	c := r.next()
	assert.True(t, c.hidden())
	_, text := c.message()
	assert.Equal(t, "I am busy just now; try again in a moment.", text)
	close(release)
	for range 2 {
		title, _ := r.next().message()
		assert.Equal(t, "done", title)
	}
}

func TestWhatIsDroppedIsNotToldToWaitForAnAnswer(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	release, hold := make(chan struct{}), make(chan struct{})
	f.delivered = func(c call) *answer {
		if _, text := c.message(); strings.Contains(text, "busy") {
			<-hold // so that the lanes are full, too
		}
		return nil
	}
	r := start(t, f, func(c *Config) {
		c.Workers, c.Queue, c.Handlers = 1, 1, 1
		c.Timing.Defer = 300 * time.Millisecond
	}, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	r.greeting()
	r.waitForLog("connected to the gateway")
	const dropped = 4
	for range 1 + 1 + busyLanes + dropped {
		r.deliver(asked("slow", nil))
	}
	for range 2 {
		assert.Equal(t, 5.0, r.next().Body["type"])
	}
	require.Eventually(t, func() bool { return strings.Count(r.log.String(), "so are the lanes") == dropped }, patience, time.Millisecond)
	close(hold)
	for range busyLanes {
		_, text := r.next().message()
		assert.Contains(t, text, "busy")
	}
	close(release)
	for range 2 {
		assert.Equal(t, http.MethodPatch, r.next().Method)
	}
	r.quiet()
}

func TestWhatHangsOnShutdownIsAnsweredForWithinTheLimit(t *testing.T) {
	t.Parallel()
	running := make(chan struct{})
	r := serve(t, func(c *Config) { c.Timing.Drain = 500 * time.Millisecond }, saying("hang", func(ctx context.Context, _ commands.Request) (commands.Reply, error) {
		close(running)
		<-ctx.Done()
		return commands.Reply{}, ctx.Err()
	}))
	r.deliver(asked("hang", nil))
	<-running
	r.cancel()
	require.NoError(t, r.stopped())
	_, text := r.next().message()
	assert.Equal(t, "Something went wrong on my side. Reference 7F3A.", text)
}

func TestWorkInFlightIsFinishedOnShutdownAndThePlatformIsToldGoodbye(t *testing.T) {
	t.Parallel()
	release, running := make(chan struct{}), make(chan struct{})
	r := serve(t, nil, saying("slow", func(context.Context, commands.Request) (commands.Reply, error) {
		close(running)
		<-release
		return commands.Reply{Title: "done"}, nil
	}))
	r.deliver(asked("slow", nil))
	<-running
	r.cancel()
	assert.Equal(t, 1000, <-r.newest.Load().goodbye)
	r.quiet()
	close(release)
	require.NoError(t, r.stopped())
	title, _ := r.next().message()
	assert.Equal(t, "done", title)
}

func TestWhoIsBeingTurnedAwayAtTheEndIsStillTold(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	release, hold := make(chan struct{}), make(chan struct{})
	var telling atomic.Int64
	f.delivered = func(c call) *answer {
		if _, text := c.message(); strings.Contains(text, "busy") {
			telling.Add(1)
			<-hold
		}
		return nil
	}
	r := start(t, f, func(c *Config) { c.Workers, c.Queue = 1, 1 }, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	r.greeting()
	r.waitForLog("connected to the gateway")
	const turned = 3
	for range 2 + turned {
		r.deliver(asked("slow", nil))
	}
	require.Eventually(t, func() bool { return telling.Load() == turned }, patience, time.Millisecond)
	r.cancel()
	close(release)
	for range 2 {
		title, _ := r.next().message()
		assert.Equal(t, "done", title)
	}
	select {
	case err := <-r.ended:
		r.ended <- err
		assert.Fail(t, "it ended while it was telling them")
	case <-time.After(200 * time.Millisecond):
	}
	close(hold)
	for range turned {
		_, text := r.next().message()
		assert.Contains(t, text, "busy")
	}
	require.NoError(t, r.stopped())
	assert.Contains(t, r.log.String(), "work in flight is finished")
	assert.NotContains(t, r.log.String(), "did not take it")
}

func TestARequestThatFindsNoRoomForItsHandlerInTimeIsTurnedAway(t *testing.T) {
	t.Parallel()
	running := make(chan struct{}, 1)
	release := make(chan struct{})
	r := serve(t, func(c *Config) { c.Handlers = 1; c.Timing.Handler = 200 * time.Millisecond }, saying("stuck", func(context.Context, commands.Request) (commands.Reply, error) {
		running <- struct{}{}
		<-release
		return commands.Reply{Title: "done"}, nil
	}), length())
	r.deliver(asked("stuck", nil))
	<-running
	e := r.deliver(asked("length", nil))
	c := r.next()
	assert.Equal(t, e.callback(), c.Path)
	_, text := c.message()
	assert.Contains(t, text, "I am busy just now")
	close(release)
	r.next()
}
