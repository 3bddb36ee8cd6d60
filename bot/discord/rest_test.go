package discord

import (
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// failing answers the first requests that match with the given answers.
func failing(match func(call) bool, answers ...answer) func(call) *answer {
	var n atomic.Int64
	return func(c call) *answer {
		if !match(c) {
			return nil
		}
		i := int(n.Add(1)) - 1
		if i >= len(answers) {
			return nil
		}
		return &answers[i]
	}
}

func isCallback(c call) bool { return strings.HasSuffix(c.Path, "/callback") }

func isEdit(c call) bool { return c.Method == http.MethodPatch }

func limited(after string) answer {
	return answer{status: http.StatusTooManyRequests, body: `{"message":"You are being rate limited.","retry_after":` + after + `,"global":false}`}
}

func TestAnAnswerThatFailsForAMomentIsSentAgainInTime(t *testing.T) {
	t.Parallel()
	for name, fault := range map[string]answer{
		"429": limited("0.05"),
		"500": {status: 500, body: `{"message":"500: Internal Server Error","code":0}`},
		"502": {status: 502, body: `<html>Bad Gateway</html>`},
		"503": {status: 503, body: ``},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			f := newFake(t)
			f.delivered = failing(isCallback, fault)
			r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
			r.greeting()
			r.waitForLog("connected")
			e := r.deliver(asked("length", nil))
			first, second := r.next(), r.next()
			assert.Equal(t, e.callback(), first.Path)
			assert.Equal(t, first.Path, second.Path)
			assert.Equal(t, first.Body, second.Body)
			assert.Less(t, second.At.Sub(first.At), ackLimit, "no header of the platform makes it sleep")
		})
	}
}

func TestAnAnswerIsNotSentAgainWhenThePlatformWantsLongerThanItAllows(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(isCallback, limited("5")) // less than it may ask for later, more than is left now
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("length", nil))
	r.next()
	r.waitForLog("the platform did not take it")
	r.deliver(asked("length", nil)) // the next is not held up by it
	r.next()
}

func TestAnAnswerTheEdgeRefusesWithoutReasonIsNotSentAgain(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(isCallback, answer{status: http.StatusTooManyRequests, body: `<html>banned</html>`},
		answer{status: http.StatusNotFound, body: `{"message":"Unknown interaction","code":10062}`})
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	r.waitForLog("connected")
	for range 2 {
		r.deliver(asked("length", nil))
		r.next()
	}
	r.waitForLog("code 10062, Unknown interaction")
}

func TestAnAnswerThatArrivedThoughItSeemedNotToIsFollowedByItsFurtherPages(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(isCallback, answer{status: 500},
		answer{status: http.StatusBadRequest, body: `{"message":"Interaction has already been acknowledged.","code":40060}`})
	r := start(t, f, nil, saying("boards", always(commands.Reply{Title: "Boards", Notes: []string{strings.Repeat("board ", 1000)}})))
	r.greeting()
	r.waitForLog("connected")
	e := r.deliver(asked("boards", nil))
	r.next()
	r.next()
	assert.Equal(t, e.webhook(), r.next().Path)
}

func TestAnAnswerThePlatformFindsMalformedIsReplacedByASentence(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(isCallback, answer{status: http.StatusBadRequest, body: `{"message":"Invalid Form Body","code":50035}`})
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("length", nil))
	r.next()
	c := r.next()
	assert.True(t, c.hidden())
	_, text := c.message()
	assert.Contains(t, text, "I have an answer, but the chat did not take it")
}

func TestALateAnswerWaitsOutTheLimitsOfThePlatform(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	f := newFake(t)
	f.delivered = failing(isEdit, limited("0.3"), answer{status: 500}, answer{status: 502})
	r := start(t, f, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("slow", nil))
	r.next()
	close(release)
	first := r.next()
	second := r.next()
	assert.GreaterOrEqual(t, second.At.Sub(first.At), 300*time.Millisecond)
	r.next()
	title, _ := r.next().message()
	assert.Equal(t, "done", title)
}

func TestADeferralThatFailedDoesNotLoseTheAnswer(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	f := newFake(t)
	f.delivered = failing(isCallback, answer{status: 429, body: "<html>"})
	r := start(t, f, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	r.greeting()
	r.waitForLog("connected")
	e := r.deliver(asked("slow", nil))
	r.next()
	r.waitForLog("deferring")
	close(release)
	assert.Equal(t, e.original(), r.next().Path)
}

// The library's own edits share one bucket in the whole process, held for the
// whole request, so they would come one after the other.
func TestLateAnswersDoNotWaitForEachOther(t *testing.T) {
	t.Parallel()
	const members = 8
	release := make(chan struct{})
	var together, most atomic.Int64
	all := make(chan struct{})
	f := newFake(t)
	f.delivered = func(c call) *answer {
		if isEdit(c) {
			if n := together.Add(1); n > most.Load() {
				most.Store(n)
			}
			if most.Load() == members {
				select {
				case <-all:
				default:
					close(all)
				}
			}
			select {
			case <-all:
			case <-time.After(patience):
			}
			together.Add(-1)
		}
		return nil
	}
	r := start(t, f, func(c *Config) { soon(c); c.Workers = members }, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	r.greeting()
	r.waitForLog("connected")
	for range members {
		r.deliver(asked("slow", nil))
	}
	for range members {
		r.next()
	}
	close(release)
	for range members {
		r.next()
	}
	assert.EqualValues(t, members, most.Load(), "edits under way at the same time")
}

func TestARedirectIsNotFollowedAndNothingLeavesForAnotherHost(t *testing.T) {
	t.Parallel()
	elsewhere := newFake(t) // fails on whatever arrives
	f := newFake(t)
	f.delivered = failing(isCallback, answer{status: http.StatusTemporaryRedirect, header: map[string]string{"Location": elsewhere.server.URL + "/api/v9/gateway"}})
	r := start(t, f, nil, saying("length", always(commands.Reply{Title: "x"})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("length", nil))
	r.next()
	r.waitForLog("307")

	to, err := parseAddress(f.server.URL)
	require.NoError(t, err)
	_, err = newClient(to, patience).Get(elsewhere.server.URL + "/api/v9/gateway")
	require.ErrorIs(t, err, errElsewhere)
	_, err = newClient(to, patience).Post("https://discord.com.example.org/api/v9/x", "", strings.NewReader("x"))
	require.ErrorIs(t, err, errElsewhere)
}

func TestALateAnswerThePlatformFindsMalformedIsReplacedByASentence(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	f := newFake(t)
	f.delivered = failing(isEdit, answer{status: http.StatusBadRequest, body: `{"message":"Invalid Form Body","code":50035}`})
	r := start(t, f, soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("slow", nil))
	r.next()
	close(release)
	r.next()
	_, text := r.next().message()
	assert.Contains(t, text, "I have an answer, but the chat did not take it")
}

func TestAfterAPageThatIsNotTakenNoFurtherOneIsSent(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(func(c call) bool { return c.Method == http.MethodPost && !isCallback(c) },
		answer{status: http.StatusNotFound, body: `{"message":"Unknown Webhook","code":10015}`})
	r := start(t, f, nil, saying("boards", always(commands.Reply{Title: "Boards", Notes: []string{strings.Repeat("board ", 3000)}})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("boards", nil))
	r.next()
	r.next()
	r.waitForLog("sending a further page")
}

func isFurtherPage(c call) bool { return c.Method == http.MethodPost && !isCallback(c) }

var threePages = always(commands.Reply{Title: "T", Notes: []string{strings.Repeat("word ", 2000)}})

func TestAFurtherPageWhoseAnswerWasLostIsNotSentTwice(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	ended := make(chan struct{})
	var n atomic.Int64
	f.delivered = func(c call) *answer {
		if isFurtherPage(c) {
			switch n.Add(1) {
			case 1:
				<-ended // it arrived, and nobody hears of it in time
				return nil
			case 2:
				return &answer{status: http.StatusBadGateway, body: "<html>Bad Gateway</html>"}
			}
		}
		return nil
	}
	r := start(t, f, func(c *Config) { c.Timing.Request = 300 * time.Millisecond },
		saying("long", always(commands.Reply{Title: "T", Notes: []string{strings.Repeat("word ", 3000)}})))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("long", nil))
	for _, want := range []string{"T (1 of 4)", "T (3 of 4)", "T (4 of 4)"} {
		title, _ := r.next().message()
		assert.Equal(t, want, title)
	}
	r.cancel()
	require.NoError(t, r.stopped())
	close(ended)
	title, _ := r.next().message()
	assert.Equal(t, "T (2 of 4)", title)
	assert.EqualValues(t, 3, n.Load(), "each once")
}

func TestAFurtherPageThatWasSurelyNotTakenIsSentAgain(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(isFurtherPage, limited("0.05"))
	r := start(t, f, nil, saying("long", threePages))
	r.greeting()
	r.waitForLog("connected")
	r.deliver(asked("long", nil))
	for _, want := range []string{"T (1 of 3)", "T (2 of 3)", "T (2 of 3)", "T (3 of 3)"} {
		title, _ := r.next().message()
		assert.Equal(t, want, title)
	}
}

func TestOnlyWhatNobodyTookIsSurelyNotTaken(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	rest := bringing(t, f, patience)
	rest.pause = time.Millisecond
	path := webhookPath(fakeApplication, "interaction-token-x")
	say := func() error { return rest.bringOnce(http.MethodPost, path, sentence("x"), time.Now().Add(patience)) }
	require.NoError(t, say())
	f.next()
	f.server.CloseClientConnections()
	require.NoError(t, say(), "a connection that was closed while nobody used it")
	f.next()
	f.server.Close()
	err := say()
	_, again := notTaken(err)
	assert.True(t, again, "nobody listens: %v", err)
}
