package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"strings"

	"modernc.org/sqlite"
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
	return &conn{sqliteConn: inner, ready: map[string]statement{}}, nil
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
	ready   map[string]statement
	writing bool
}

// Unwrap gives the driver's own connection.
func (c *conn) Unwrap() driver.Conn { return c.sqliteConn }

// shield gives the context that a statement runs under.
func (c *conn) shield(ctx context.Context) (context.Context, error) {
	if c.writing {
		return context.WithoutCancel(ctx), ctx.Err()
	}
	return ctx, nil
}

// BeginTx begins a transaction, by the driver's own setting one that writes unless
// it is only to read.
func (c *conn) BeginTx(ctx context.Context, options driver.TxOptions) (driver.Tx, error) {
	tx, err := c.sqliteConn.BeginTx(ctx, options)
	if err != nil {
		return nil, err
	}
	c.writing = !options.ReadOnly
	return transaction{tx, c}, nil
}

type transaction struct {
	driver.Tx
	of *conn
}

// Commit ends the transaction.
func (t transaction) Commit() error {
	t.of.writing = false
	return t.Tx.Commit()
}

// Rollback ends the transaction.
func (t transaction) Rollback() error {
	t.of.writing = false
	return t.Tx.Rollback()
}

// ExecContext runs a statement without rows.
func (c *conn) ExecContext(ctx context.Context, text string, args []driver.NamedValue) (driver.Result, error) {
	ctx, err := c.shield(ctx)
	if err != nil {
		return nil, err
	}
	s, err := c.take(ctx, text)
	if err != nil {
		return nil, err
	}
	if s == nil {
		return c.sqliteConn.ExecContext(ctx, text, args)
	}
	result, err := s.ExecContext(ctx, args)
	c.giveBack(text, s)
	return result, err
}

// QueryContext runs a statement with rows. The statement is free again when they
// are closed.
func (c *conn) QueryContext(ctx context.Context, text string, args []driver.NamedValue) (driver.Rows, error) {
	ctx, err := c.shield(ctx)
	if err != nil {
		return nil, err
	}
	s, err := c.take(ctx, text)
	if err != nil {
		return nil, err
	}
	if s == nil {
		return c.sqliteConn.QueryContext(ctx, text, args)
	}
	rows, err := s.QueryContext(ctx, args)
	if err != nil {
		c.giveBack(text, s)
		return nil, err
	}
	return &keptRows{Rows: rows, of: c, text: text, s: s}, nil
}

type keptRows struct {
	driver.Rows
	of   *conn
	text string
	s    statement
}

// Close ends the reading.
func (r *keptRows) Close() error {
	err := r.Rows.Close()
	if r.s != nil {
		r.of.giveBack(r.text, r.s)
		r.s = nil
	}
	return err
}

// take gives a statement that is nobody else's until it is given back, or nil for a
// text that is not worth keeping.
func (c *conn) take(ctx context.Context, text string) (statement, error) {
	if s, ok := c.ready[text]; ok {
		delete(c.ready, text)
		return s, nil
	}
	if !worthKeeping(text) {
		return nil, nil
	}
	s, err := c.sqliteConn.PrepareContext(ctx, text)
	if err != nil {
		return nil, err
	}
	kept, ok := s.(statement)
	if !ok {
		return nil, errors.Join(fmt.Errorf("the driver's statement is a %T", s), s.Close())
	}
	return kept, nil
}

func (c *conn) giveBack(text string, s statement) {
	if _, another := c.ready[text]; another || len(c.ready) >= preparedMost {
		_ = s.Close()
		return
	}
	c.ready[text] = s
}

// worthKeeping says whether a text is one statement that will come again.
func worthKeeping(text string) bool {
	first, _, _ := strings.Cut(strings.TrimLeft(text, " \t\n"), " ")
	switch strings.ToUpper(first) {
	case "SELECT", "INSERT", "UPDATE", "DELETE", "SAVEPOINT", "RELEASE", "ROLLBACK", "WITH":
		return !strings.Contains(text, ";")
	}
	return false
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
