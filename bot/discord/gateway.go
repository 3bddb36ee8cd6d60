package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
)

// gateway is one session with the platform's event stream over one or more
// connections. The library does not reconnect by itself here: it would retry
// what is hopeless, and on some orders of events it locks itself up for ever.
// Instead run decides, and lets go of a session that has locked up.
type gateway struct {
	session *discordgo.Session
	dialer  *dialer
	// ready receives the application's id (or "") when the session is usable.
	ready chan string
	// used is true after the first attempt to open.
	used bool
}

// mostEvents is what is read of the line at once, in bytes: a score of events where
// many come together.
const mostEvents = 16 << 10

var (
	errHung     = errors.New("the gateway did not get ready in time")
	errNotReady = errors.New("the gateway connection was lost before it was ready")
)

func newGateway(c Config, to address, client *http.Client, b *budget, shard int, receive func(*discordgo.Event)) (*gateway, error) {
	session, err := discordgo.New("Bot " + c.Token)
	if err != nil {
		return nil, err
	}
	leaveUnread()
	g := &gateway{session: session, ready: make(chan string, 1), dialer: &dialer{idle: c.Timing.Idle, budget: b}}
	session.Client = client
	session.LogLevel = libraryLogLevel()
	session.SyncEvents = true    // receive does not wait, so no goroutine is made for each event
	session.StateEnabled = false // session.State itself must stay: READY is kept there
	session.Compress = false     // without intents every event is small
	session.ShouldReconnectOnError = false
	session.ShouldReconnectVoiceOnSessionError = false
	session.ShouldRetryOnRateLimit = false
	session.MaxRestRetries = 0
	// Interactions belong to no intent and always come.
	session.Identify.Intents = discordgo.IntentsNone
	session.Identify.LargeThreshold = 50
	session.ShardID, session.ShardCount = shard, c.Shards
	session.Dialer = &websocket.Dialer{
		NetDialContext:   g.dialer.dial,
		HandshakeTimeout: c.Timing.Request,
		ReadBufferSize:   mostEvents,
		Proxy:            func(req *http.Request) (*url.URL, error) { return enter(req, to) },
	}
	session.AddHandler(func(_ *discordgo.Session, r *discordgo.Ready) {
		id := ""
		if r.Application != nil {
			id = r.Application.ID
		}
		g.announce(id)
	})
	session.AddHandler(func(*discordgo.Session, *discordgo.Resumed) { g.announce("") })
	session.AddHandler(func(_ *discordgo.Session, e *discordgo.Event) {
		if e.Type == interactionEvent {
			receive(e)
		}
	})
	return g, nil
}

// enter sees the gateway's address before it is dialled, in the one place where
// the library lets anybody see it: where the proxy is chosen. It holds back a
// token from leaving an encrypted API for an unencrypted gateway, and asks the
// gateway for the version that the API's address names.
func enter(req *http.Request, to address) (*url.URL, error) {
	if to.base.Scheme == "https" && req.URL.Scheme != "https" {
		return nil, errors.New("the API named an unencrypted gateway, to which the token is not sent")
	}
	if to.version != "" {
		query := req.URL.Query()
		query.Set("v", to.version)
		req.URL.RawQuery = query.Encode()
	}
	return http.ProxyFromEnvironment(req)
}

func (g *gateway) announce(application string) {
	select {
	case g.ready <- application:
	default:
	}
}

// open connects and waits until the session is ready or resumed. After errHung
// the session must be let go.
func (g *gateway) open(ctx context.Context, limit time.Duration) (application string, err error) {
	select {
	case <-g.ready: // of the connection before
	default:
	}
	g.used = true
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	opened := make(chan error, 1)
	go func() { opened <- g.openSession() }()
	select {
	case err := <-opened:
		if err != nil {
			return "", err
		}
	case <-ctx.Done(): // its own end too: what is half open is not worth a goodbye
		return "", errHung
	}
	select {
	case application = <-g.ready:
	case <-g.lost():
		return "", errNotReady
	case <-ctx.Done():
		return "", errHung
	}
	// The library's heartbeat closes whatever connection is open when its own has
	// failed. One that has not begun could so close the connection after its own,
	// which is then not opened at once.
	select {
	case <-g.dialer.newest.Load().beaten:
		return application, nil
	case <-g.lost():
		return "", errNotReady
	case <-ctx.Done():
		return "", errHung
	}
}

// openSession keeps a panic of the library over a greeting it cannot read.
func (g *gateway) openSession() (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("opening the gateway: panic: %v", p)
		}
	}()
	return g.session.Open()
}

// lost is closed when the connection has ended.
func (g *gateway) lost() <-chan struct{} {
	if w := g.dialer.newest.Load(); w != nil {
		return w.closed
	}
	return nil
}

// wait returns when the connection has ended (nil), when it has been silent for
// so long that the library must have locked up (errHung), or with ctx.
func (g *gateway) wait(ctx context.Context, idle time.Duration) error {
	most := mostSilence(idle)
	for {
		timer := time.NewTimer(max(most-g.dialer.silence(), 10*time.Millisecond))
		select {
		case <-ctx.Done():
			timer.Stop()
			return ctx.Err()
		case <-g.lost():
			timer.Stop()
			return nil
		case <-timer.C:
			if g.dialer.silence() >= most {
				return errHung
			}
		}
	}
}

// mostSilence leaves the wire itself, which acts at idle, time to be noticed.
func mostSilence(idle time.Duration) time.Duration { return idle + idle/4 + 2*time.Second }

// letGo cuts the connection and forgets the session. The library may be holding
// its own lock for ever, so none of its methods is called.
func (g *gateway) letGo() {
	g.dialer.barred.Store(true)
	if w := g.dialer.newest.Load(); w != nil {
		w.cut()
	}
}

// close says goodbye and waits, for at most limit, until the other side has heard.
// The library itself sleeps a second then, for which nobody needs to wait.
func (g *gateway) close(limit time.Duration) {
	ended := make(<-chan struct{})
	if w := g.dialer.newest.Load(); w != nil {
		ended = w.ended
		w.parting.Store(true)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = g.session.Close()
	}()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-done:
	case <-ended:
	case <-timer.C:
	}
	g.letGo()
}

// hopeless turns what no further attempt can change into the sentence that says
// what to do; nil for everything else.
// https://discord.com/developers/docs/topics/opcodes-and-status-codes
func hopeless(err error) error {
	if status(err) == http.StatusUnauthorized {
		return errToken
	}
	closed, ok := errors.AsType[*websocket.CloseError](err)
	if !ok {
		return nil
	}
	switch closed.Code {
	case 4004:
		return errToken
	case 4010, 4011:
		return errors.New("the bot is in more servers than the platform serves over so few connections: raise the number of shards")
	case 4012:
		return errors.New("the platform no longer takes this version of its gateway: leave the version out of the API address, or update tallystick")
	case 4013, 4014:
		return errors.New("the platform refuses the intents, though none are asked for: update tallystick")
	}
	return nil
}

// A TokenError says what is wrong with the bot's token, and what to do: no further
// attempt helps.
type TokenError string

// Error gives the sentence.
func (e TokenError) Error() string { return string(e) }

const errToken = TokenError("the bot token is not accepted: copy it again from the Bot page of the developer portal")
