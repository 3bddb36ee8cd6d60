package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Restore puts a backup where there is no database, after it has looked at it
// whole, and gives the keys' refusal where they are missing still: the database is
// in its place all the same. Over a database it is ErrThere.
func Restore(ctx context.Context, config Config, from string) (keys *OpenError, err error) {
	if err := absent(from); err != nil {
		return nil, err
	}
	if err := makeFolder(config.Path); err != nil {
		return nil, err
	}
	held, err := holdFile(ctx, config.Path, heldWait)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, held.release()) }()
	if there, err := present(config.Path); err != nil || there {
		return nil, errors.Join(err, fmt.Errorf("%q: %w", config.Path, ErrThere))
	}
	// What is left of the journal of another database would be written into this one.
	if there, err := journalled(config.Path); err != nil || there {
		return nil, errors.Join(err, fmt.Errorf("%q: %w", config.Path+"-wal", ErrThere))
	}
	temp, err := os.CreateTemp(filepath.Dir(config.Path), ".restore-*")
	if err != nil {
		return nil, fmt.Errorf("making database file: %w", err)
	}
	defer func() {
		for _, beside := range []string{"", "-journal", "-wal", "-shm"} {
			_ = os.Remove(temp.Name() + beside)
		}
	}()
	if err := copyFile(from, temp); err != nil {
		if errors.Is(befallen(config.Path, err), ErrNoRoom) {
			err = &OpenError{Refusal: NoRoom, Path: config.Path}
		}
		return nil, err
	}
	if keys, err = judge(ctx, temp.Name(), from, config); err != nil {
		return nil, err
	}
	if err := errors.Join(place(ctx, temp.Name(), config.Path), held.note(true)); err != nil {
		return nil, err
	}
	return keys, nil
}

// copyFile copies a file to one that is open, which it closes.
func copyFile(from string, to *os.File) error {
	source, err := os.Open(from)
	if err != nil {
		return errors.Join(fmt.Errorf("opening backup: %w", err), to.Close())
	}
	_, err = io.Copy(to, source)
	return errors.Join(err, source.Close(), to.Sync(), to.Close())
}

// judge looks at a copy of a backup: against the seal beside the backup, where there
// is one, and at what is in it. Keys that are not there yet are no reason to refuse.
func judge(ctx context.Context, path, from string, config Config) (keys *OpenError, err error) {
	found, sealed, err := readSeal(from)
	if err != nil {
		return nil, err
	}
	damage := &OpenError{Refusal: Damaged, Path: from}
	if sealed {
		sum, err := sumFile(ctx, path)
		if err != nil {
			return nil, err
		}
		if sum != found.sum {
			return nil, damage
		}
	}
	problems, err := auditCopy(ctx, path, config)
	if errors.Is(befallen(path, err), ErrDamaged) {
		return nil, damage
	}
	if err != nil {
		return nil, err
	}
	for _, problem := range problems {
		refused, ok := errors.AsType[*OpenError](problem)
		switch {
		case !ok:
			return nil, damage
		case refused.Refusal != KeysMissing:
			refused.Path = from
			return nil, refused
		}
		keys = &OpenError{Refusal: KeysMissing, Path: config.Path, KeysPath: config.KeysPath}
	}
	return keys, nil
}
