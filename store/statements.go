package store

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// preparedMost is how many statements a connection keeps prepared: more than this
// package has.
const preparedMost = 256

// openPool opens a pool whose connections keep their statements prepared.
func openPool(address string) (*sql.DB, error) {
	base, err := sqlite.NewConnector(address)
	if err != nil {
		return nil, err
	}
	return sql.OpenDB(preparing{base}), nil
}

type preparing struct{ driver.Connector }

// Connect opens a connection that keeps its statements.
func (p preparing) Connect(ctx context.Context) (driver.Conn, error) {
	opened, err := p.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	inner, ok := opened.(sqliteConn)
	if !ok {
		return nil, errors.Join(fmt.Errorf("the driver's connection is a %T", opened), opened.Close())
	}
	return &conn{sqliteConn: inner, ready: map[string]kept{}}, nil
}

// sqliteConn is what the driver's connection can do, and what is asked of it.
type sqliteConn interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
	NewBackup(to string) (*sqlite.Backup, error)
}

// statement is a prepared statement of the driver.
type statement interface {
	driver.Stmt
	driver.StmtExecContext
	driver.StmtQueryContext
}

// A conn keeps the statements it was given, by their text, and finishes what it has
// begun in a transaction that writes: SQLite takes the whole transaction back when a
// writing statement is interrupted, and others may have a part in it. database/sql
// uses it by one goroutine at a time.
type conn struct {
	sqliteConn
	ready   map[string]kept
	writing bool
	share   *share // of the transaction that writes, where it has parts
	// lost is what ended the transaction before its time, as a full disk does.
	// Whatever is said in it after that would be kept on its own, so nothing is.
	lost error
}

// Unwrap gives the driver's own connection.
func (c *conn) Unwrap() driver.Conn { return c.sqliteConn }

// A kept is a statement with what is known of its text.
type kept struct {
	statement
	changes bool
}

// shield gives the context that a statement runs under.
func (c *conn) shield(ctx context.Context) (context.Context, error) {
	if c.writing {
		return context.WithoutCancel(ctx), cmp.Or(c.lost, ctx.Err())
	}
	return ctx, nil
}

// look takes note of an error on which SQLite may take a transaction back whole.
func (c *conn) look(err error) error {
	if err == nil || !c.writing {
		return err
	}
	switch sqliteCode(err) {
	case sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_NOMEM, sqlite3.SQLITE_INTERRUPT, sqlite3.SQLITE_BUSY,
		sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_ABORT:
		c.lost = err
	}
	return err
}

// begin gives the statement of a text, and the context that it runs under, with the
// savepoint made that it wants.
func (c *conn) begin(ctx context.Context, text string) (context.Context, kept, error) {
	ctx, err := c.shield(ctx)
	if err != nil {
		return nil, kept{}, err
	}
	s, err := c.take(ctx, text)
	if err != nil || !s.changes {
		return ctx, s, err
	}
	if err := c.savepoint(ctx); err != nil {
		c.giveBack(text, s)
		return nil, kept{}, err
	}
	return ctx, s, nil
}

// ExecContext runs a statement without rows.
func (c *conn) ExecContext(ctx context.Context, text string, args []driver.NamedValue) (driver.Result, error) {
	ctx, s, err := c.begin(ctx, text)
	if err != nil {
		return nil, err
	}
	var result driver.Result
	if s.statement == nil {
		result, err = c.sqliteConn.ExecContext(ctx, text, args)
	} else {
		result, err = s.ExecContext(ctx, args)
		c.giveBack(text, s)
	}
	if s.changes {
		c.changed(err)
	}
	return result, c.look(err)
}

// QueryContext runs a statement with rows. The statement is free again when they
// are closed.
func (c *conn) QueryContext(ctx context.Context, text string, args []driver.NamedValue) (driver.Rows, error) {
	ctx, s, err := c.begin(ctx, text)
	if err != nil {
		return nil, err
	}
	var rows driver.Rows
	if s.statement == nil {
		rows, err = c.sqliteConn.QueryContext(ctx, text, args)
	} else {
		rows, err = s.QueryContext(ctx, args)
	}
	if s.changes {
		c.changed(err)
	}
	switch {
	case err != nil:
		c.giveBack(text, s)
		return nil, c.look(err)
	case s.statement == nil:
		return rows, nil
	}
	return &keptRows{Rows: rows, of: c, text: text, s: s}, nil
}

type keptRows struct {
	driver.Rows
	of   *conn
	text string
	s    kept
}

// Next reads a row.
func (r *keptRows) Next(into []driver.Value) error { return r.of.look(r.Rows.Next(into)) }

// Close ends the reading.
func (r *keptRows) Close() error {
	err := r.Rows.Close()
	if r.s.statement != nil {
		r.of.giveBack(r.text, r.s)
		r.s = kept{}
	}
	return err
}

// take gives a statement that is nobody else's until it is given back, or one
// without for a text that is not worth keeping.
func (c *conn) take(ctx context.Context, text string) (kept, error) {
	if s, ok := c.ready[text]; ok {
		delete(c.ready, text)
		return s, nil
	}
	keep, changes := worth(text)
	if !keep {
		return kept{changes: changes}, nil
	}
	s, err := c.sqliteConn.PrepareContext(ctx, text)
	if err != nil {
		return kept{}, err
	}
	ours, ok := s.(statement)
	if !ok {
		return kept{}, errors.Join(fmt.Errorf("the driver's statement is a %T", s), s.Close())
	}
	return kept{ours, changes}, nil
}

func (c *conn) giveBack(text string, s kept) {
	if s.statement == nil {
		return
	}
	if _, another := c.ready[text]; another || len(c.ready) >= preparedMost {
		_ = s.Close()
		return
	}
	c.ready[text] = s
}

// worth says whether a text is one statement that will come again and is worth
// keeping, and whether it may change something.
func worth(text string) (keep, changes bool) {
	first, _, _ := strings.Cut(strings.TrimLeft(text, " \t\n"), " ")
	one := !strings.Contains(text, ";")
	switch strings.ToUpper(first) {
	case "SELECT", "SAVEPOINT", "RELEASE", "ROLLBACK", "BEGIN", "COMMIT":
		return one, !one
	case "INSERT", "UPDATE", "DELETE", "WITH":
		return one, true
	}
	return false, true
}

// Close closes the connection with all its statements.
func (c *conn) Close() error {
	var err error
	for _, s := range c.ready {
		err = errors.Join(err, s.Close())
	}
	c.ready = nil
	return errors.Join(err, c.sqliteConn.Close())
}
