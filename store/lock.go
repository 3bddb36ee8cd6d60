package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"
)

const (
	// heldWait is how long an opening waits for the program that has the database:
	// one that answers a single line is done sooner.
	heldWait = 2 * time.Second
	heldLook = 20 * time.Millisecond
)

// begun is what the lock file holds once there has been a database beside it: an
// empty file in the database's place is then a loss and no beginning.
const begun = "begun\n"

// A hold is the ownership of a database: a lock on the file beside it, which the
// system gives up when the process dies. The file itself stays, for a file that is
// deleted can be locked twice.
type hold struct{ file *os.File }

// holdFile takes the ownership of the database, or refuses it as Held
// after waiting so long.
func holdFile(ctx context.Context, path string, wait time.Duration) (*hold, error) {
	file, err := os.OpenFile(path+".lock", os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("opening lock file: %w", err)
	}
	for over := time.Now().Add(wait); ; {
		taken, err := tryLock(file)
		switch {
		case taken:
			return &hold{file: file}, nil
		case err != nil:
			return nil, errors.Join(fmt.Errorf("locking database: %w", err), file.Close())
		case !time.Now().Before(over):
			return nil, errors.Join(&OpenError{Refusal: Held, Path: path}, file.Close())
		}
		select {
		case <-ctx.Done():
			return nil, errors.Join(ctx.Err(), file.Close())
		case <-time.After(heldLook):
		}
	}
}

// begun says whether there has been a database.
func (h *hold) begun() bool {
	text := make([]byte, len(begun))
	n, _ := h.file.ReadAt(text, 0)
	return string(text[:n]) == begun
}

// note keeps whether there is a database.
func (h *hold) note(there bool) error {
	if h.begun() == there {
		return nil
	}
	err := h.file.Truncate(0)
	if err == nil && there {
		_, err = h.file.WriteAt([]byte(begun), 0)
	}
	if err != nil {
		return fmt.Errorf("writing lock file: %w", err)
	}
	return nil
}

// release gives the ownership up.
func (h *hold) release() error {
	if h == nil {
		return nil
	}
	return h.file.Close()
}
