package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"sync"
	"time"
)

const (
	// batchMost is how many writes share a transaction at most.
	batchMost = 256
	// batchLongest is how old a transaction may be and still take another write, so
	// that the first in it is not kept waiting by those behind it.
	batchLongest = 20 * time.Millisecond
)

// errClosed is a write to a store that is closed.
var errClosed = errors.New("store is closed")

// A committer lets those who write share durable transactions. There is one turn
// at writing. Who has it does its part in the open transaction and hands the turn,
// with the transaction, to the next who waits; the last commits for all, and only
// then is anybody answered. So nobody waits for company that is not there, and while
// one transaction is made durable the next fills up behind it.
//
// Each part runs on its own caller's goroutine: a panic goes where it belongs, and
// takes back that part alone.
type committer struct {
	db *sql.DB
	// undone is called, by who has the turn, when something that was written is taken
	// back: what is remembered of it is no longer so.
	undone func()
	// kept is called after a commit, before anybody is answered. Where it says so, rest
	// is called after they are, before the next has the turn.
	kept func() bool
	rest func(db *sql.DB)
	// longest is batchLongest; tests of what is shared give a busy machine more.
	longest time.Duration

	mu      sync.Mutex
	taken   bool // somebody has the turn
	closed  bool
	waiting []*part

	// What follows belongs to who has the turn.
	tx    *sql.Tx
	began time.Time
	in    []*part // the parts of tx that stand
	share share   // what the part that is being done has come to
}

// A part is one caller's share of a transaction.
type part struct {
	alone   bool          // shares with nobody
	turn    chan struct{} // the turn has come
	outcome chan error    // what became of the transaction
}

// write does all of f or nothing, durably. A context that ends before the turn comes
// ends the wait; once f has run, write stays until it knows what became of it. f is
// given a transaction in which others may have written before.
func (c *committer) write(ctx context.Context, alone bool, f func(tx *sql.Tx) error) error {
	p := &part{alone: alone, turn: make(chan struct{}, 1), outcome: make(chan error, 1)}
	if err := c.enter(ctx, p); err != nil {
		return err
	}
	if c.tx == nil {
		tx, err := c.db.BeginTx(context.WithValue(context.WithoutCancel(ctx), shareOf{}, &c.share), nil)
		if err != nil {
			c.leave()
			return err
		}
		c.tx, c.began = tx, time.Now()
	}
	err, settled := c.run(ctx, p, f)
	if settled {
		return err
	}
	if outcome := <-p.outcome; outcome != nil {
		return outcome // what f said was said of what is not kept
	}
	return err
}

// exclusive does f at a time when there is no transaction.
func (c *committer) exclusive(ctx context.Context, f func(db *sql.DB) error) error {
	if err := c.enter(ctx, &part{alone: true, turn: make(chan struct{}, 1)}); err != nil {
		return err
	}
	defer c.leave()
	return f(c.db)
}

// close waits until everybody who waits has had their turn, and lets nobody in
// after them.
func (c *committer) close() {
	p := &part{alone: true, turn: make(chan struct{}, 1)}
	c.mu.Lock()
	if c.closed || !c.taken {
		c.closed, c.taken = true, true
		c.mu.Unlock()
		return
	}
	c.closed = true
	c.waiting = append(c.waiting, p)
	c.mu.Unlock()
	<-p.turn
}

// enter waits for the turn.
func (c *committer) enter(ctx context.Context, p *part) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c.mu.Lock()
	switch {
	case c.closed:
		c.mu.Unlock()
		return errClosed
	case !c.taken:
		c.taken = true
		c.mu.Unlock()
		return nil
	}
	c.waiting = append(c.waiting, p)
	c.mu.Unlock()
	select {
	case <-p.turn:
	case <-ctx.Done():
		c.mu.Lock()
		at := slices.Index(c.waiting, p)
		if at >= 0 {
			c.waiting = slices.Delete(c.waiting, at, at+1)
		}
		c.mu.Unlock()
		if at >= 0 {
			return ctx.Err()
		}
		<-p.turn // it came at the same time
	}
	if err := ctx.Err(); err != nil {
		c.pass()
		return err
	}
	return nil
}

// run does a part, and hands the turn on, however f ends. What f found wrong when
// nobody had written before it is settled: it hangs on nothing that may yet be lost.
// A part is taken back to the savepoint that its first change makes; one that wrote
// without is taken back with all of the transaction.
func (c *committer) run(ctx context.Context, p *part, f func(tx *sql.Tx) error) (err error, settled bool) {
	background := context.WithoutCancel(ctx)
	first := len(c.in) == 0
	c.share = share{wanted: !first}
	done := false
	defer func() {
		c.share.wanted = false
		switch {
		case done && err == nil:
			if c.share.made {
				if _, lost := c.tx.ExecContext(background, releasePart); lost != nil {
					c.abandon(lost)
					err, settled = lost, true
					break
				}
			}
			c.in = append(c.in, p)
		case first:
			if c.share.wrote {
				c.undone()
			}
			err, settled = errors.Join(err, rolledBack(c.tx.Rollback())), true
			c.tx = nil
		case c.share.made:
			c.undone()
			_, lost := c.tx.ExecContext(background, rollbackPart)
			if lost == nil {
				_, lost = c.tx.ExecContext(background, releasePart)
			}
			if lost != nil {
				// SQLite itself takes the whole transaction back on some errors.
				err, settled = errors.Join(err, lost), true
				c.abandon(err)
				break
			}
			c.in = append(c.in, p)
		case c.share.wrote:
			if !done {
				err = errHalfDone
			}
			c.abandon(err)
			settled = true
		default:
			c.in = append(c.in, p)
		}
		c.pass()
	}()
	err = f(c.tx)
	done = true
	return err, settled
}

// errHalfDone is what the others are told of a part that ended in the middle.
var errHalfDone = errors.New("a write that shared the transaction was not done")

// certain lets the part that is being done write without a savepoint of its own: it
// has looked at everything that could be wrong. Where it fails all the same, everybody
// in the transaction is told so.
func (c *committer) certain() { c.share.wanted = false }

// pass hands the turn to the next who may share the transaction, or commits it.
func (c *committer) pass() {
	if c.tx != nil && len(c.in) < batchMost && time.Since(c.began) < c.longest && !slices.ContainsFunc(c.in, isAlone) {
		c.mu.Lock()
		if len(c.waiting) > 0 && !c.waiting[0].alone {
			c.handOver()
			c.mu.Unlock()
			return
		}
		c.mu.Unlock()
	}
	c.leave()
}

// leave commits what there is to commit, hands the turn on, and tells everybody.
func (c *committer) leave() {
	var err error
	due := false
	if c.tx != nil {
		if err = c.tx.Commit(); err != nil {
			c.undone()
		}
		c.tx = nil
		due = err == nil && c.kept()
	}
	told := c.in
	c.in = nil
	if due {
		tell(told, err)
		told = nil
		c.rest(c.db)
	}
	c.mu.Lock()
	if len(c.waiting) > 0 {
		c.handOver()
	} else {
		c.taken = false
	}
	c.mu.Unlock()
	tell(told, err)
}

func tell(parts []*part, outcome error) {
	for _, p := range parts {
		p.outcome <- outcome
	}
}

// handOver gives the turn to the first who waits.
func (c *committer) handOver() {
	next := c.waiting[0]
	c.waiting = slices.Delete(c.waiting, 0, 1)
	next.turn <- struct{}{}
}

// abandon ends a transaction that is lost, and tells everybody in it.
func (c *committer) abandon(err error) {
	c.undone()
	_ = c.tx.Rollback() // it may be gone already
	c.tx = nil
	for _, p := range c.in {
		p.outcome <- err
	}
	c.in = nil
}

func isAlone(p *part) bool { return p.alone }
