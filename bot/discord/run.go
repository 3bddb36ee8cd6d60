// Package discord serves the commands on Discord: it connects to the gateway,
// registers the commands when they have changed, turns interactions into
// requests, and replies into messages that read on a phone. It decides nothing
// about the answers, keeps nothing, reads no messages and asks for no intents.
package discord

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"time"
)

// busyLanes is how many requests may be turned away at the same time.
const busyLanes = 8

// Run serves until ctx ends, then finishes the work in flight within
// Timing.Drain, closes and returns nil. It returns an error only for what trying
// again cannot change; the error's text says what to put right.
func Run(ctx context.Context, config Config) error {
	c, err := config.checked()
	if err != nil {
		return err
	}
	clean := redactor{c.Token}
	c.Log = slog.New(redacting{c.Log.Handler(), clean})
	to, err := c.address()
	if err != nil {
		return clean.err(err)
	}
	body, err := registration(c.Set)
	if err != nil {
		return fmt.Errorf("deriving the registration: %w", err)
	}
	parallel := 2*(c.Workers+c.Queue) + busyLanes + 2
	client := newClient(to, c.Timing.Request)
	defer client.CloseIdleConnections()
	rest, err := newAPI(c, to, client, parallel)
	if err != nil {
		return clean.err(err)
	}
	defer rest.courier.client.CloseIdleConnections()
	desk := newDesk(c, rest, newFetcher(to, c))
	c.Status.begin(c.Shards, func() (waiting, room int) { return len(desk.crew.queue), cap(desk.crew.queue) })
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	register := &registrar{api: rest, log: c.Log, body: body, retry: c.Timing.Retry, most: c.Timing.RetryMost,
		hopeless: func(err error) { stop(hopelessCause{err}) }}
	if c.Listen != "" {
		err = receiveSigned(ctx, c, desk, register)
	} else {
		err = keepLines(ctx, stop, c, to, client, desk, register)
	}
	stop(nil)
	register.wait()
	return clean.err(err)
}

// address reads the API's address and warns of one that is open to others' eyes.
func (c Config) address() (address, error) {
	to, err := parseAddress(c.API)
	if err != nil {
		return to, fmt.Errorf("the API address %w", err)
	}
	if to.overOpenNetwork() {
		c.Log.Warn("the bot token travels unencrypted to another machine", "api_host", to.base.Host)
	}
	return to, nil
}

// receiveSigned serves the HTTP door.
func receiveSigned(ctx context.Context, c Config, desk *desk, register *registrar) error {
	key, err := parsePublicKey(c.PublicKey)
	if err != nil {
		return err
	}
	register.begin(ctx, "")
	listening := door{key: key, desk: desk, now: time.Now}
	err = listening.listen(ctx, c.Listen)
	desk.crew.close()
	desk.finish(c.Timing.Drain)
	return orDefault(err, ended(ctx))
}

// keepLines serves the gateway, over one line a shard. They begin one after the
// other, as the platform wants their greetings.
func keepLines(ctx context.Context, stop context.CancelCauseFunc, c Config, to address, client *http.Client, desk *desk, register *registrar) error {
	lines := make(chan error, c.Shards)
	greetings := newBudget(c.Timing.Greeting, c.Shards)
	for shard := range c.Shards {
		line := supervisor{config: c, to: to, client: client, budget: greetings, desk: desk, register: register, shard: shard}
		go func() {
			if !pause(ctx, time.Duration(shard)*c.Timing.Greeting) {
				lines <- ended(ctx)
				return
			}
			lines <- line.serve(ctx)
		}()
	}
	var err error
	running := c.Shards
	select {
	case err = <-lines: // the first to end ends them all
		running--
		stop(nil)
	case <-ctx.Done():
	}
	desk.crew.close()
	desk.finish(c.Timing.Drain)
	for range running {
		err = orDefault(err, <-lines)
	}
	return err
}

// supervisor keeps one gateway session alive.
type supervisor struct {
	config   Config
	to       address
	client   *http.Client
	budget   *budget
	desk     *desk
	register *registrar
	shard    int
}

// triesBeforeNew is how many failed attempts to resume a session are made before
// a new one is begun.
const triesBeforeNew = 3

// serve connects, and connects again, until ctx ends or nothing can help.
func (s *supervisor) serve(ctx context.Context) error {
	var g *gateway
	defer func() {
		if g != nil { // goodbye is said while the work in flight is finished
			g.close(s.config.Timing.Drain)
		}
	}()
	for failed := 0; ; {
		if g == nil {
			var err error
			if g, err = newGateway(s.config, s.to, s.client, s.budget, s.shard, s.desk.receive); err != nil {
				return err
			}
		}
		resuming := g.used
		application, err := g.open(ctx, s.config.Timing.Open)
		ready := time.Now()
		if err == nil {
			s.config.Log.Info("connected to the gateway", "again", resuming, "shard", s.shard)
			s.register.begin(ctx, application)
			s.config.Status.set(s.shard, true)
			err = g.wait(ctx, s.config.Timing.Idle)
			s.config.Status.set(s.shard, false)
		}
		if errors.Is(err, errHung) {
			g.letGo()
			g = nil
		}
		if ctx.Err() != nil {
			return ended(ctx)
		}
		if stop := hopeless(err); stop != nil {
			return stop
		}
		if err == nil && time.Since(ready) > s.config.Timing.Greeting {
			// Interactions wait three seconds, so the first attempt is made at once.
			s.config.Log.Warn("the gateway connection ended")
			failed = 0
			continue
		}
		failed++
		s.config.Log.Warn("the gateway connection failed", "attempt", failed, "cause", orDefault(err, errShort))
		if g != nil && failed%triesBeforeNew == 0 {
			g.letGo()
			g = nil
		}
		if !pause(ctx, s.backoff(failed)) {
			return ended(ctx)
		}
	}
}

var errShort = errors.New("it ended soon after it was ready")

// hopelessCause ends the connection from beside it.
type hopelessCause struct{ error }

// ended tells an ordinary end from one for which the registration found a reason.
func ended(ctx context.Context) error {
	if cause, ok := errors.AsType[hopelessCause](context.Cause(ctx)); ok {
		return cause.error
	}
	return nil
}

// backoff doubles with each failure and is spread by half, so that many bots cut
// off together do not come back together.
func (s *supervisor) backoff(failed int) time.Duration {
	wait := s.config.Timing.Retry
	for range failed - 1 {
		if wait *= 2; wait >= s.config.Timing.RetryMost {
			wait = s.config.Timing.RetryMost
			break
		}
	}
	return wait/2 + rand.N(wait/2+1)
}

// pause waits; false means ctx ended first.
func pause(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}
