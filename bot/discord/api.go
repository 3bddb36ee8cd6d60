package discord

import (
	"bytes"
	"context"
	"errors"
	"net"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/valyala/fasthttp"
)

// api makes the requests to the platform's REST API.
//
// Beside the courier it holds a session of the library that is never opened, so that
// nothing the gateway does can stall a request. The library keeps a rate-limit
// bucket for every name for ever and holds its lock for the whole request: the few
// requests that are made with the bot's token come one after the other, and share
// one.
type api struct {
	session *discordgo.Session
	courier *courier
	// pause is the first wait before a failed request is sent again.
	pause time.Duration
}

// most a platform's answer may make one request wait.
const longestWait = 10 * time.Second

// tries is how often a request is sent in all.
const tries = 4

func newAPI(c Config, to address, client *http.Client, parallel int) (*api, error) {
	session, err := discordgo.New("Bot " + c.Token)
	if err != nil {
		return nil, err
	}
	session.Client = client
	session.LogLevel = libraryLogLevel()
	session.ShouldRetryOnRateLimit = false
	session.MaxRestRetries = 0
	courier, err := newCourier(to, session.UserAgent, c.Timing.Request, parallel)
	if err != nil {
		return nil, err
	}
	return &api{session: session, courier: courier, pause: 250 * time.Millisecond}, nil
}

// ask makes a request with the bot's token, as long as ctx lasts and the next try
// begins before until.
func (a *api) ask(ctx context.Context, method, address string, body any, until time.Time) (answer []byte, err error) {
	const bucket = "with the token"
	contentType, encoded, err := parcel(body, &bytes.Buffer{})
	if err != nil {
		return nil, err
	}
	err = a.repeat(ctx, until, worthRepeating, func() error {
		answer, err = a.session.RequestRaw(method, address, contentType, encoded, bucket, 0, discordgo.WithContext(ctx))
		return err
	})
	return answer, err
}

// bodies are room for what is being sent.
var bodies = sync.Pool{New: func() any { return &bytes.Buffer{} }}

// bring makes one of the courier's requests; the next try begins before until. It is
// for what may arrive twice.
func (a *api) bring(method, path string, body any, until time.Time) error {
	return a.carry(method, path, body, until, worthRepeating)
}

// bringOnce is bring for what has its effect each time that it arrives.
func (a *api) bringOnce(method, path string, body any, until time.Time) error {
	return a.carry(method, path, body, until, notTaken)
}

func (a *api) carry(method, path string, body any, until time.Time, worth judge) error {
	room := bodies.Get().(*bytes.Buffer)
	defer bodies.Put(room)
	room.Reset()
	contentType, encoded, err := parcel(body, room)
	if err != nil {
		return err
	}
	return a.repeat(context.Background(), until, worth, func() error { return a.courier.bring(method, path, contentType, encoded) })
}

// A judge tells whether a failed request is to be made again, and how long the
// platform said to wait.
type judge func(err error) (patience time.Duration, again bool)

// repeat makes a request again while the platform asks for patience or is out of
// order, as far as it is worth it.
func (a *api) repeat(ctx context.Context, until time.Time, worth judge, once func() error) error {
	wait := a.pause
	for try := 1; ; try++ {
		err := once()
		if try == 1 && stale(err) {
			a.courier.client.CloseIdleConnections() // the others will be no better
			continue
		}
		patience, again := worth(err)
		if !again || try == tries {
			return err
		}
		patience = max(patience, wait)
		wait *= 2
		if patience > longestWait || time.Now().Add(patience).After(until) || !pause(ctx, patience) {
			return err
		}
	}
}

// notTaken is true of a failed request that surely had no effect.
func notTaken(err error) (patience time.Duration, again bool) {
	if limit, ok := errors.AsType[*discordgo.RateLimitError](err); ok {
		return limit.RetryAfter, true
	}
	network, ok := errors.AsType[*net.OpError](err)
	return 0, ok && network.Op == "dial"
}

// worthRepeating is true of a failed request that may fare better later.
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
	if lost, ok := errors.AsType[lostError](err); ok {
		return 0, !errors.Is(lost, fasthttp.ErrBodyTooLarge)
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
