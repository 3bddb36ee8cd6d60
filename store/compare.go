package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
)

// compareClosed compares a file that nobody has open with its seal, or that of a
// process that was killed with the sums of its pages. It says what it looked at.
func compareClosed(ctx context.Context, path string) (looked string, err error) {
	looked = "seal: the file is as it was closed"
	held, err := holdFile(ctx, path, 0)
	if refused, ok := errors.AsType[*OpenError](err); ok && refused.Refusal == Held {
		return "seal: there is none, as the file is in use", nil
	}
	if err != nil {
		return looked, err
	}
	defer func() { err = errors.Join(err, held.release()) }()
	found, compared, err := trust(ctx, path)
	if err != nil || compared {
		return looked, err
	}
	if found != (seal{}) {
		sum, err := sumFile(ctx, path)
		if err == nil && sum != found.sum {
			err = &OpenError{Refusal: Altered, Path: path}
		}
		return looked, err
	}
	return compareSums(path)
}

func compareSums(path string) (looked string, err error) {
	file, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("opening database file: %w", err)
	}
	j := newJournal(path)
	m, err := readSums(path)
	sound := false
	if err == nil {
		err = j.readOn()
	}
	if err == nil {
		sound, err = weigh(path, file, m, j)
	}
	looked = "sums: the file and its journal are as they were written and answered for"
	if err == nil && !sound {
		looked = "seal: there is none, as the file was not closed, and no sums of its pages either"
	}
	return looked, errors.Join(err, m.close(), j.close(), file.Close())
}

// tidy takes away the empty journal of a file that nobody has open, which one who only
// reads leaves behind.
func tidy(ctx context.Context, path string) (err error) {
	held, err := holdFile(ctx, path, 0)
	if refused, ok := errors.AsType[*OpenError](err); ok && refused.Refusal == Held {
		return nil
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, held.release()) }()
	if left, err := journalled(path); err != nil || left {
		return err
	}
	if err := free(path + "-shm"); err == nil {
		return nil
	}
	// SQLite knows whether another who reads is there.
	db, err := sql.Open("sqlite", "file:"+escaped(path)+"?mode=rw&_pragma=wal_autocheckpoint(0)")
	if err != nil {
		return err
	}
	var tables int
	err = db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables)
	return errors.Join(err, db.Close())
}
