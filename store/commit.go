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
	// companyWait is how long who leads waits for others where more than have come
	// shared the transaction before: about as long as a disk takes, so that a busy
	// machine makes fewer things durable. Who is alone waits for nobody.
	companyWait = 500 * time.Microsecond
)

// errClosed is a write to a store that is closed.
var errClosed = errors.New("store is closed")

// A committer lets those who write share durable transactions. There is one turn at
// writing. Who has it leads: they do their part in a transaction, and then the parts of
// those who have come to wait, in order, and commit for all; only then is anybody
// answered. While one transaction is made durable the next fills up behind it, and
// nobody is woken but to go on with an answer or to lead.
//
// A part that panics does so where it was asked for, and is taken back alone. It must
// not end its goroutine, which may be that of another.
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
	tx    *transaction
	began time.Time
	in    []*part // the parts of tx that stand
	last  int     // how many parts the transaction before had
	share share   // what the part that is being done has come to
}

const (
	toLead = true
	toGoOn = false
)

// write does all of f or nothing, durably. A context that ends before the turn comes
// ends the wait; once f has run, write stays until it knows what became of it. f is
// given a transaction in which others may have written before.
func (c *committer) write(ctx context.Context, alone bool, f func(tx *transaction) error) error {
	p := newPart(ctx, alone, f)
	lead, err := c.enter(p)
	if err != nil {
		return err
	}
	if lead {
		c.lead(p)
	}
	if p.panicked != nil {
		panic(p.panicked)
	}
	return p.err
}

// exclusive does f at a time when there is no transaction.
func (c *committer) exclusive(ctx context.Context, f func(db *sql.DB) error) error {
	if _, err := c.enter(newPart(ctx, true, nil)); err != nil {
		return err
	}
	defer c.handOver()
	return f(c.db)
}

// close waits until everybody who waits has had their turn, and lets nobody in
// after them.
func (c *committer) close() {
	p := newPart(context.Background(), true, nil)
	c.mu.Lock()
	if c.closed || !c.taken {
		c.closed, c.taken = true, true
		c.mu.Unlock()
		return
	}
	c.closed = true
	c.waiting = append(c.waiting, p)
	c.mu.Unlock()
	<-p.word
}

// enter waits until the part is to lead, or was done by who did.
func (c *committer) enter(p *part) (lead bool, err error) {
	if err := p.ctx.Err(); err != nil {
		return false, err
	}
	c.mu.Lock()
	switch {
	case c.closed:
		c.mu.Unlock()
		return false, errClosed
	case !c.taken:
		c.taken = true
		c.mu.Unlock()
		return true, nil
	}
	c.waiting = append(c.waiting, p)
	c.mu.Unlock()
	select {
	case lead = <-p.word:
	case <-p.ctx.Done():
		c.mu.Lock()
		at := slices.Index(c.waiting, p)
		if at >= 0 {
			c.waiting = slices.Delete(c.waiting, at, at+1)
		}
		c.mu.Unlock()
		if at >= 0 {
			return false, p.ctx.Err()
		}
		lead = <-p.word // its time came at the same time
	}
	if lead && p.ctx.Err() != nil {
		c.handOver()
		return false, p.ctx.Err()
	}
	return lead, nil
}

// lead does the part and those of others behind it, and commits.
func (c *committer) lead(p *part) {
	defer c.leave()
	tx, err := beginWrite(context.WithoutCancel(p.ctx), c.db, &c.share)
	if err != nil {
		p.err = err
		return
	}
	c.tx, c.began = tx, time.Now()
	for ; p != nil; p = c.next() {
		c.run(p)
	}
	if c.tx != nil && !c.in[0].alone && len(c.in) < c.last {
		time.Sleep(companyWait)
		for p = c.next(); p != nil; p = c.next() {
			c.run(p)
		}
	}
}

// next takes the part behind those that were done, where it may share their transaction.
func (c *committer) next() *part {
	if c.tx == nil || len(c.in) >= batchMost || len(c.in) > 0 && c.in[0].alone || time.Since(c.began) >= c.longest {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for len(c.waiting) > 0 && !c.waiting[0].alone {
		p := c.waiting[0]
		c.waiting = slices.Delete(c.waiting, 0, 1)
		if p.err = p.ctx.Err(); p.err == nil {
			return p
		}
		p.word <- toGoOn
	}
	return nil
}

// leave commits what there is to commit, tells everybody, and hands the turn on.
func (c *committer) leave() {
	var err error
	due := false
	if c.tx != nil {
		if err = c.tx.commit(); err != nil {
			c.undone()
		}
		c.tx = nil
		due = err == nil && c.kept()
	}
	told := c.in
	c.in = nil
	if len(told) > 0 {
		c.last = len(told)
	}
	if due {
		tell(told, err)
		told = nil
		c.rest(c.db)
	}
	c.handOver()
	tell(told, err)
}

// tell lets parts go on: with what they came to, unless that was lost.
func tell(parts []*part, lost error) {
	for _, p := range parts {
		if lost != nil {
			p.err = lost // what it came to was said of what is not kept
		}
		p.word <- toGoOn
	}
}

// handOver gives the turn to the first who waits.
func (c *committer) handOver() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.waiting) == 0 {
		c.taken = false
		return
	}
	next := c.waiting[0]
	c.waiting = slices.Delete(c.waiting, 0, 1)
	next.word <- toLead
}
