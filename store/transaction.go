package store

import (
	"context"
	"database/sql/driver"
	"errors"
)

// The statements of a transaction. One that writes has its turn from the beginning.
const (
	beginWriting = "BEGIN IMMEDIATE"
	beginReading = "BEGIN"
	commitAll    = "COMMIT"
	rollbackAll  = "ROLLBACK"
)

// BeginTx begins a transaction, one that writes unless it is only to read.
func (c *conn) BeginTx(ctx context.Context, options driver.TxOptions) (driver.Tx, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	text := beginWriting
	if options.ReadOnly {
		text = beginReading
	}
	if err := c.say(text); err != nil {
		return nil, err
	}
	c.writing, c.lost = !options.ReadOnly, nil
	c.share, _ = ctx.Value(shareOf{}).(*share)
	return transaction{c}, nil
}

// say runs a statement of a transaction. It is not broken off, so that it is known what
// state the connection is in.
func (c *conn) say(text string) error {
	s, err := c.take(context.Background(), text)
	if err != nil {
		return err
	}
	_, err = s.ExecContext(context.Background(), nil)
	c.giveBack(text, s)
	return err
}

type transaction struct{ of *conn }

// Commit ends the transaction, and fails where it ended before.
func (t transaction) Commit() error {
	if lost := t.of.lost; lost != nil {
		return errors.Join(lost, t.Rollback())
	}
	t.of.writing = false
	err := t.of.say(commitAll)
	if err != nil {
		_ = t.of.say(rollbackAll) // it may be gone already
	}
	return err
}

// Rollback ends the transaction. One that ended before its time needs none, but
// does not always end on what looks like it.
func (t transaction) Rollback() error {
	lost := t.of.lost != nil
	t.of.writing, t.of.lost = false, nil
	err := t.of.say(rollbackAll)
	if lost {
		return nil
	}
	return err
}

// A share is what the part of a transaction that is being done has come to. It is
// begun anew with each part.
type share struct {
	// wanted: a savepoint is to be made before the part changes anything.
	wanted bool
	// made: there is one. wrote: something was changed.
	made, wrote bool
}

// shareOf is the key of the share in the context that a transaction begins with.
type shareOf struct{}

// savepoint makes the savepoint of a part that is about to change something.
func (c *conn) savepoint(ctx context.Context) error {
	if !c.writing || c.share == nil || !c.share.wanted {
		return nil
	}
	c.share.wanted = false
	if _, err := c.ExecContext(ctx, savepointPart, nil); err != nil {
		return err
	}
	c.share.made = true
	return nil
}

// The statements of a savepoint.
const (
	savepointPart = "SAVEPOINT part"
	rollbackPart  = "ROLLBACK TO part"
	releasePart   = "RELEASE part"
)

// changed notes that a statement did its work: one that fails changes nothing.
func (c *conn) changed(err error) {
	if err == nil && c.writing && c.share != nil {
		c.share.wrote = true
	}
}
