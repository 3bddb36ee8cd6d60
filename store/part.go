package store

import (
	"context"
	"errors"
)

// A part is one caller's share of a transaction.
type part struct {
	ctx   context.Context
	alone bool // shares with nobody
	f     func(tx *transaction) error
	// err is what became of it, panicked what it panicked with.
	err      error
	panicked any
	// word is told once what there is to do: to lead, or to go on, as the part is done.
	word chan bool
}

func newPart(ctx context.Context, alone bool, f func(tx *transaction) error) *part {
	return &part{ctx: ctx, alone: alone, f: f, word: make(chan bool, 1)}
}

// run does a part. What is wrong with one before which nobody had written is settled: it
// hangs on nothing that may yet be lost. A part is taken back to the savepoint that its
// first change makes; one that wrote without is taken back with all of the transaction.
func (c *committer) run(p *part) {
	first := len(c.in) == 0
	c.share = share{wanted: !first}
	done := false
	defer func() {
		if !done {
			p.panicked = recover()
			p.err = errHalfDone
		}
		c.share.wanted = false
		c.stand(p, first)
	}()
	p.err = p.f(c.tx)
	done = true
}

// stand makes a part that was done one of those that stand, or takes it back.
func (c *committer) stand(p *part, first bool) {
	background := context.WithoutCancel(p.ctx)
	switch {
	case p.err == nil:
		if c.share.made {
			if _, lost := c.tx.ExecContext(background, releasePart); lost != nil {
				c.abandon(p, lost)
				return
			}
		}
	case first:
		if c.share.wrote {
			c.undone()
		}
		p.err = errors.Join(p.err, c.tx.rollback())
		c.tx = nil
		p.word <- toGoOn
		return
	case c.share.made:
		c.undone()
		_, lost := c.tx.ExecContext(background, rollbackPart)
		if lost == nil {
			_, lost = c.tx.ExecContext(background, releasePart)
		}
		if lost != nil {
			// SQLite itself takes the whole transaction back on some errors.
			c.abandon(p, errors.Join(p.err, lost))
			return
		}
	case c.share.wrote:
		c.abandon(p, p.err)
		return
	}
	c.in = append(c.in, p)
}

// abandon ends a transaction that is lost with the part, and tells everybody in it.
func (c *committer) abandon(with *part, err error) {
	c.undone()
	_ = c.tx.rollback() // it may be gone already
	c.tx = nil
	tell(append(c.in, with), err)
	c.in = nil
}

// errHalfDone is what the others are told of a part that ended in the middle.
var errHalfDone = errors.New("a write that shared the transaction was not done")

// certain lets the part that is being done write without a savepoint of its own: it
// has looked at everything that could be wrong. Where it fails all the same, everybody
// in the transaction is told so.
func (c *committer) certain() { c.share.wanted = false }
