package discord

import (
	"context"
	"errors"
	"net"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/time/rate"
)

// wire is the network connection under one gateway connection. The library reads
// without a deadline and greets without a limit; both are put right here, where
// they hold whatever state the library is in.
type wire struct {
	net.Conn
	idle   time.Duration
	budget *budget
	// heard is when something was last read, in nanoseconds since 1970.
	heard *atomic.Int64
	// until is the deadline set from above, in the same unit; 0 means none.
	until atomic.Int64
	// shaken is true once the handshakes are over and frames follow.
	shaken atomic.Bool
	once   sync.Once
	// closed is closed when the library has closed the connection.
	closed chan struct{}
	// beaten is closed when the first heartbeat has gone out.
	beaten     chan struct{}
	beatenOnce sync.Once
	// parting is true from when goodbye is about to be said, said once it is.
	parting, said atomic.Bool
	// ended is closed when the other side has answered the goodbye or gone.
	ended     chan struct{}
	endedOnce sync.Once
}

func newWire(conn net.Conn, idle time.Duration, b *budget, heard *atomic.Int64) *wire {
	return &wire{Conn: conn, idle: idle, budget: b, heard: heard,
		closed: make(chan struct{}), beaten: make(chan struct{}), ended: make(chan struct{})}
}

// Read fails when nothing arrives for the idle limit. The connection is cut at
// that moment, so that the library cannot send its close code 1000, which would
// end the platform's session instead of letting it be resumed.
func (w *wire) Read(p []byte) (int, error) {
	deadline := time.Now().Add(w.idle)
	if until := w.until.Load(); until != 0 && until < deadline.UnixNano() {
		deadline = time.Unix(0, until)
	}
	if err := w.Conn.SetReadDeadline(deadline); err != nil {
		return 0, err
	}
	n, err := w.Conn.Read(p)
	if n > 0 {
		w.heard.Store(time.Now().UnixNano())
	}
	if err != nil || w.said.Load() {
		w.endedOnce.Do(func() { close(w.ended) })
	}
	if timeout, ok := errors.AsType[net.Error](err); ok && timeout.Timeout() {
		w.cut()
	}
	return n, err
}

// longFrame is more than a heartbeat or a close frame and less than a greeting:
// IDENTIFY and RESUME carry the token. Under TLS no more than the length shows.
const longFrame = 128

// writeLimit bounds a write to a peer that has stopped reading.
const writeLimit = 10 * time.Second

// Write paces greetings. One that would have to wait too long cuts the
// connection: the supervisor then tries later.
func (w *wire) Write(p []byte) (int, error) {
	if w.shaken.Load() && len(p) > longFrame {
		if err := w.budget.take(w.closed); err != nil {
			w.cut()
			return 0, err
		}
	}
	if err := w.Conn.SetWriteDeadline(time.Now().Add(writeLimit)); err != nil {
		return 0, err
	}
	n, err := w.Conn.Write(p)
	if w.shaken.Load() && len(p) <= longFrame {
		w.beatenOnce.Do(func() { close(w.beaten) })
	}
	w.said.Store(w.parting.Load())
	return n, err
}

// SetDeadline is called around the handshakes only: with a time before them, and
// with none when they are over.
func (w *wire) SetDeadline(t time.Time) error {
	if t.IsZero() {
		w.until.Store(0)
		w.shaken.Store(true)
	} else {
		w.until.Store(t.UnixNano())
	}
	return w.Conn.SetDeadline(t)
}

// Close is how the library lets go of the connection.
func (w *wire) Close() error {
	w.once.Do(func() { close(w.closed) })
	return w.Conn.Close()
}

// cut ends the connection beneath the library, which notices by itself.
func (w *wire) cut() { _ = w.Conn.Close() }

// budget keeps greetings far from the platform's limit of 1,000 in 24 hours,
// beyond which it takes the bot's token away, and apart from each other.
// https://discord.com/developers/docs/events/gateway#rate-limiting
type budget struct{ daily, gap *rate.Limiter }

const (
	// greetingsAtOnce is for one shard; many have at most greetingsBurst.
	greetingsAtOnce = 10
	greetingsBurst  = 128
	// 864 a day, and what is allowed at once in the first.
	greetingEvery = 100 * time.Second
	// longestGreetingWait is shorter than the platform's patience for a greeting.
	longestGreetingWait = 15 * time.Second
)

func newBudget(gap time.Duration, shards int) *budget {
	return &budget{
		daily: rate.NewLimiter(rate.Every(greetingEvery), min(greetingsAtOnce*shards, greetingsBurst)),
		gap:   rate.NewLimiter(rate.Every(gap), 1),
	}
}

var errBudget = errors.New("too many greetings to the gateway: the next waits")

// take waits for the next greeting's turn, or fails when that is too far off.
func (b *budget) take(closed <-chan struct{}) error {
	daily, gap := b.daily.Reserve(), b.gap.Reserve()
	wait := max(daily.Delay(), gap.Delay())
	if wait > longestGreetingWait {
		daily.Cancel()
		gap.Cancel()
		return errBudget
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-closed:
		return net.ErrClosed
	}
}

// dialer opens wires and remembers the newest.
type dialer struct {
	idle   time.Duration
	budget *budget
	heard  atomic.Int64
	newest atomic.Pointer[wire]
	// barred is true once the session was let go: what it still dials is cut.
	barred atomic.Bool
}

func (d *dialer) dial(ctx context.Context, network, addr string) (net.Conn, error) {
	conn, err := new(net.Dialer).DialContext(ctx, network, addr)
	if err != nil {
		return nil, err
	}
	d.heard.Store(time.Now().UnixNano())
	w := newWire(conn, d.idle, d.budget, &d.heard)
	d.newest.Store(w)
	if d.barred.Load() {
		w.cut()
		return nil, net.ErrClosed
	}
	return w, nil
}

// silence is how long nothing has been heard.
func (d *dialer) silence() time.Duration {
	return time.Since(time.Unix(0, d.heard.Load()))
}
