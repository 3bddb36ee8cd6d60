package discord

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/bwmarrin/discordgo"
)

// api makes the requests to the platform's REST API.
//
// It holds a session of the library that is never opened, so that nothing the
// gateway does can stall a request. The library keeps a rate-limit bucket for
// every name for ever and holds its lock for the whole request, therefore the
// names come from a fixed pool, one for each request under way.
type api struct {
	session *discordgo.Session
	names   chan string
	// pause is the first wait before a failed request is sent again.
	pause time.Duration
}

// most a platform's answer may make one request wait.
const longestWait = 10 * time.Second

// tries is how often a request is sent in all.
const tries = 4

func newAPI(c Config, client *http.Client, parallel int) (*api, error) {
	session, err := discordgo.New("Bot " + c.Token)
	if err != nil {
		return nil, err
	}
	session.Client = client
	session.LogLevel = libraryLogLevel()
	session.ShouldRetryOnRateLimit = false
	session.MaxRestRetries = 0
	a := &api{session: session, names: make(chan string, parallel), pause: 250 * time.Millisecond}
	for i := range parallel {
		a.names <- "slot " + strconv.Itoa(i)
	}
	return a, nil
}

// send makes one request and repeats it while the platform asks for patience or
// is out of order, as long as ctx lasts and the next try begins before until.
func (a *api) send(ctx context.Context, method, address string, body any, until time.Time) ([]byte, error) {
	wait := a.pause
	for try := 1; ; try++ {
		answer, err := a.once(ctx, method, address, body)
		patience, again := worthRepeating(err)
		if !again || try == tries {
			return answer, err
		}
		patience = max(patience, wait)
		wait *= 2
		if patience > longestWait || time.Now().Add(patience).After(until) {
			return answer, err
		}
		timer := time.NewTimer(patience)
		select {
		case <-ctx.Done():
			timer.Stop()
			return answer, err
		case <-timer.C:
		}
	}
}

func (a *api) once(ctx context.Context, method, address string, body any) ([]byte, error) {
	var name string
	select {
	case name = <-a.names:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	defer func() { a.names <- name }()
	contentType, encoded, err := parcel(body)
	if err != nil {
		return nil, err
	}
	return a.session.RequestRaw(method, address, contentType, encoded, name, 0, discordgo.WithContext(ctx))
}

// worthRepeating tells whether a failed request may fare better later, and how
// long the platform said to wait.
func worthRepeating(err error) (patience time.Duration, again bool) {
	if err == nil {
		return 0, false
	}
	if limit, ok := errors.AsType[*discordgo.RateLimitError](err); ok {
		return limit.RetryAfter, true
	}
	if rest, ok := errors.AsType[*discordgo.RESTError](err); ok {
		return 0, rest.Response != nil && rest.Response.StatusCode >= 500
	}
	_, network := errors.AsType[*url.Error](err)
	return 0, network && !errors.Is(err, errElsewhere) && !errors.Is(err, context.Canceled)
}

// status is the HTTP status of an answer that was an error, else 0.
func status(err error) int {
	if rest, ok := errors.AsType[*discordgo.RESTError](err); ok && rest.Response != nil {
		return rest.Response.StatusCode
	}
	return 0
}

// code is the platform's own code of an answer that was an error, else 0.
func code(err error) int {
	if rest, ok := errors.AsType[*discordgo.RESTError](err); ok && rest.Message != nil {
		return rest.Message.Code
	}
	return 0
}
