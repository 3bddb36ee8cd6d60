package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
)

// The statements of a transaction. One that writes has its turn from the beginning.
const (
	beginToWrite = "BEGIN IMMEDIATE"
	beginToRead  = "BEGIN"
	commitAll    = "COMMIT"
	rollbackAll  = "ROLLBACK"
)

// A transaction is a connection in the middle of one. That of database/sql has a goroutine
// beside it, to be started and woken again while a member waits for the end.
type transaction struct {
	*sql.Conn
	of *conn
}

// beginWrite begins a transaction that writes. share, unless it is nil, is told what its
// parts come to.
func beginWrite(ctx context.Context, db *sql.DB, share *share) (*transaction, error) {
	return beginOn(ctx, db, func(c *conn) error { return c.beginWriting(share) })
}

// beginRead begins a transaction that reads: one unchanging view of the database.
func beginRead(ctx context.Context, db *sql.DB) (*transaction, error) {
	return beginOn(ctx, db, func(c *conn) error { return c.say(beginToRead) })
}

func beginOn(ctx context.Context, db *sql.DB, begin func(c *conn) error) (*transaction, error) {
	link, err := db.Conn(ctx)
	if err != nil {
		return nil, err
	}
	t := &transaction{Conn: link}
	err = link.Raw(func(driven any) error {
		t.of = driven.(*conn)
		return begin(t.of)
	})
	if err != nil {
		return nil, errors.Join(err, link.Close())
	}
	return t, nil
}

// commit ends the transaction, and keeps what was written. It fails where the
// transaction ended before.
func (t *transaction) commit() error { return t.end(t.of.commit) }

// rollback ends the transaction, and takes back what was written.
func (t *transaction) rollback() error { return t.end(t.of.rollback) }

func (t *transaction) end(how func() error) error {
	err := t.Raw(func(any) error { return how() })
	return errors.Join(err, t.Close())
}

func (c *conn) beginWriting(share *share) error {
	if err := c.say(beginToWrite); err != nil {
		return err
	}
	c.writing, c.lost, c.share = true, nil, share
	return nil
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

func (c *conn) commit() error {
	if lost := c.lost; lost != nil {
		return errors.Join(lost, c.rollback())
	}
	c.writing = false
	err := c.say(commitAll)
	if err != nil {
		_ = c.say(rollbackAll) // it may be gone already
	}
	return err
}

// rollback takes a transaction back. One that ended before its time needs that no more,
// but does not always end on what looks like it.
func (c *conn) rollback() error {
	lost := c.lost != nil
	c.writing, c.lost = false, nil
	err := c.say(rollbackAll)
	if lost {
		return nil
	}
	return err
}

// BeginTx begins a transaction of database/sql, as the steps of a migration are made in.
func (c *conn) BeginTx(ctx context.Context, _ driver.TxOptions) (driver.Tx, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return step{c}, c.beginWriting(nil)
}

type step struct{ of *conn }

// Commit keeps what was written.
func (s step) Commit() error { return s.of.commit() }

// Rollback takes it back.
func (s step) Rollback() error { return s.of.rollback() }

// A share is what the part of a transaction that is being done has come to. It is
// begun anew with each part.
type share struct {
	// wanted: a savepoint is to be made before the part changes anything.
	wanted bool
	// made: there is one. wrote: something was changed.
	made, wrote bool
}

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
