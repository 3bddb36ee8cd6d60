package discord

import (
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"tallystick/commands"
)

// Config is all that a connection needs. Every zero value but those of Token and
// Set is usable and stands for the default named beside it.
type Config struct {
	// Token is the bot's token, with or without the word Bot before it. It is
	// sent to the API's own host and in the gateway's greeting, and nowhere else.
	Token string
	// API is the address of the platform's API; empty means DefaultAPI. With an
	// empty path "/api/v9" is added, to a path that ends in a version nothing is,
	// and to any other path "/v9". A version in the path is asked of the gateway too.
	API string
	// Set answers. It must not be nil.
	Set *commands.Set
	// Log receives everything worth a line; nil means nothing is logged.
	Log *slog.Logger
	// Shards is over how many gateway connections the servers are spread; 0 means 1.
	// https://discord.com/developers/docs/events/gateway#sharding
	Shards int
	// Listen is the address where interactions are received as signed HTTP requests
	// instead of over the gateway; empty means the gateway. The platform does either.
	Listen string
	// PublicKey is the application's, in hexadecimal, and needed with Listen.
	PublicKey string
	// Workers is how many requests are under way at the same time, most of which
	// wait for the platform to take their answer; 0 means 64.
	Workers int
	// Handlers is how many of them are worked out at the same time; 0 means 12.
	Handlers int
	// Queue is how many requests may wait for a worker; 0 means 256.
	Queue int
	// Reference marks a fault of the transport in the log and for the member; nil
	// means four random letters or digits.
	Reference func() string
	// Status, when it is not nil, is kept up to date for whoever looks from beside.
	Status *Status
	// Timing holds the limits of time.
	Timing Timing
}

// Timing holds the transport's limits of time. The zero value is right for the
// platform; tests shorten it.
type Timing struct {
	// Defer is how long after its arrival an unanswered request is acknowledged
	// with "thinking"; 0 means 1.5 s, half of what the platform allows.
	// https://discord.com/developers/docs/interactions/receiving-and-responding
	Defer time.Duration
	// Handler is when a handler's context ends, counted from the request's
	// arrival; 0 means 60 s. The platform takes an answer for 15 minutes.
	Handler time.Duration
	// Drain is how long work in flight may take to finish once the connection's
	// context has ended; 0 means 5 s.
	Drain time.Duration
	// Idle is how long the gateway may be silent before the connection counts as
	// dead; 0 means 70 s. A live one is heard at every heartbeat, about 41 s. A library
	// that has locked up is noticed a quarter later and two seconds: before 90 s.
	Idle time.Duration
	// Open is how long connecting may take until the session is ready; 0 means 30 s.
	Open time.Duration
	// Retry is the wait after a first failed attempt to connect, doubled with each
	// further one; 0 means 1 s.
	Retry time.Duration
	// RetryMost caps that wait; 0 means 60 s.
	RetryMost time.Duration
	// Greeting is the least time between two greetings to the gateway; 0 means 5 s.
	// https://discord.com/developers/docs/events/gateway#rate-limiting
	Greeting time.Duration
	// Request is how long one request to the API may take; 0 means 10 s.
	Request time.Duration
}

// ShardsMost is more than any bot has that identifies one connection at a time.
const ShardsMost = 64

func (c Config) checked() (Config, error) {
	c.Token = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(c.Token), "Bot "))
	switch {
	case c.Token == "":
		return c, TokenError("the bot token is missing: copy it from the Bot page of the developer portal")
	case strings.ContainsAny(c.Token, " \t\r\n"):
		return c, TokenError("the bot token has a space or a line break in it: copy it again from the Bot page of the developer portal")
	case c.Set == nil:
		return c, errors.New("there is no set of commands to serve")
	case c.Workers < 0 || c.Handlers < 0 || c.Queue < 0:
		return c, fmt.Errorf("%d workers, %d handlers and a queue of %d: none may be negative", c.Workers, c.Handlers, c.Queue)
	}
	if c.Shards < 0 || c.Shards > ShardsMost {
		return c, fmt.Errorf("%d shards: it may be 1 to %d", c.Shards, ShardsMost)
	}
	c.Shards = orDefault(c.Shards, 1)
	if c.Listen != "" {
		if err := CheckDoor(c.Listen, c.PublicKey); err != nil {
			return c, err
		}
		c.Listen, _ = listenAddress(c.Listen)
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Status == nil {
		c.Status = &Status{}
	}
	if c.Reference == nil {
		c.Reference = func() string { return rand.Text()[:4] }
	}
	c.Workers = orDefault(c.Workers, 64)
	c.Handlers = orDefault(c.Handlers, 12)
	c.Queue = orDefault(c.Queue, 256)
	t := &c.Timing
	t.Defer = orDefault(t.Defer, 1500*time.Millisecond)
	t.Handler = orDefault(t.Handler, time.Minute)
	t.Drain = orDefault(t.Drain, 5*time.Second)
	t.Idle = orDefault(t.Idle, 70*time.Second)
	t.Open = orDefault(t.Open, 30*time.Second)
	t.Retry = orDefault(t.Retry, time.Second)
	t.RetryMost = orDefault(t.RetryMost, time.Minute)
	t.Greeting = orDefault(t.Greeting, 5*time.Second)
	t.Request = orDefault(t.Request, 10*time.Second)
	return c, nil
}

func orDefault[T comparable](given, usual T) T {
	var zero T
	if given == zero {
		return usual
	}
	return given
}
