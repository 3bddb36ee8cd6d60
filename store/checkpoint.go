package store

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
)

// checkpointFrames is how many frames the journal has when it is moved into the file.
// SQLite's own usual number is 1,000 too; it is told to leave that to us, because the
// sums of what is moved come first.
const checkpointFrames = 1000

// openSums looks at the file and its journal before SQLite does, and takes the sums up
// where they speak of this file. Where the file has no seal it says whether it is sound.
func (s *Store) openSums(found seal, notice func(string)) (sound bool, err error) {
	if s.file, err = os.Open(s.path); err != nil {
		return false, fmt.Errorf("opening database file: %w", err)
	}
	s.journal = newJournal(s.path)
	if err := s.journal.readOn(); err != nil {
		return false, err
	}
	_ = os.Remove(newSumsPath(s.path)) // a kill left it
	m, err := readSums(s.path)
	if err != nil {
		return false, err
	}
	fits := false
	if found != (seal{}) {
		sound = true
		// A file that was restored is changed when it is opened.
		ready, err := keepsJournal(s.path)
		if fits = m != nil && m.of == found.sum && ready; err != nil {
			return false, errors.Join(err, m.close())
		}
	} else {
		if sound, err = weigh(s.path, s.file, m, s.journal); err != nil {
			return false, errors.Join(err, m.close())
		}
		fits = sound
		if err := s.tellDropped(sound, notice); err != nil {
			return false, errors.Join(err, m.close())
		}
	}
	if fits && m.reopen() == nil {
		s.sums = m
		return sound, nil
	}
	return sound, errors.Join(m.close(), dropSums(s.path))
}

// tellDropped says of the end of a journal that SQLite will leave it out.
func (s *Store) tellDropped(sound bool, notice func(string)) error {
	left, lost, err := s.journal.beyond()
	if err != nil || notice == nil {
		return err
	}
	switch {
	case lost || s.journal.beheaded():
		notice("the journal is damaged: what was written last cannot be read and is left out")
	case left > 0 && sound:
		notice("the journal ends in a transaction that was not finished and not answered: it is left out")
	case left > 0:
		notice("the journal ends in a transaction that was not finished or cannot be read: it is left out")
	}
	return nil
}

// reopen makes the sums go on: what was cut short is forgotten, and they are no longer
// those of a file that nobody has open.
func (m *sums) reopen() error {
	if m.torn {
		// The record that is gone may have covered what the note speaks of.
		if err := errors.Join(m.file.Truncate(m.end), m.note(mark{})); err != nil {
			return err
		}
		m.torn = false
	}
	if m.sealed {
		return m.add(recordOpened, nil, false)
	}
	return nil
}

// makeSums records the sums of all pages, as they are known to be right. Without room
// for that the work goes on without.
func (s *Store) makeSums(ctx context.Context, db *sql.DB, pages []uint32) error {
	m := &sums{path: s.path}
	err := db.QueryRowContext(ctx, "PRAGMA page_size").Scan(&m.page)
	if err != nil {
		return fmt.Errorf("reading page size: %w", err)
	}
	if m.table = pages; pages == nil {
		if m.table, err = sumPages(s.file, m.page); err != nil {
			return err
		}
	}
	if err := m.rewrite(true); err != nil {
		err = errors.Join(m.close(), dropSums(s.path), err)
		if refusedBy(err) == ErrNoRoom {
			return nil
		}
		return err
	}
	s.sums = m
	return nil
}

// adopt takes up the sums that the trial of the file has made.
func (s *Store) adopt(ctx context.Context, db *sql.DB) error {
	if s.sums != nil || s.trial == nil || s.trial.pages == nil || s.trial.going() {
		return nil
	}
	pages := s.trial.pages.sums
	s.trial.pages = nil
	return s.makeSums(ctx, db, pages)
}

// kept takes note of how far a commit has brought the journal, before anybody is
// answered, and says whether it is time to move it. A note that is behind, as when it
// cannot be written, says less than it could and nothing wrong.
func (s *Store) kept() (due bool) {
	at, err := s.indexed()
	if err != nil {
		if s.journal.readOn() != nil {
			return false
		}
		at = s.journal.mark
	}
	if s.sums != nil && s.sums.noted != at {
		_ = s.sums.note(at)
	}
	if at.salts == s.tried.salts {
		at.frames -= s.tried.frames
	}
	return at.frames >= checkpointFrames && !s.trial.going()
}

// indexed reads from the index of the journal where its last transaction ends: from
// the fields iVersion, mxFrame and aSalt of its head (SQLite, WAL-mode File Format,
// 2.1), which are in the byte order of the machine.
func (s *Store) indexed() (at mark, err error) {
	if s.index == nil {
		// Like the database file, it is closed after SQLite has closed it.
		if s.index, err = os.Open(s.path + "-shm"); err != nil {
			return at, fmt.Errorf("opening index of journal: %w", err)
		}
	}
	var head [40]byte
	if _, err := s.index.ReadAt(head[:], 0); err != nil {
		return at, fmt.Errorf("reading index of journal: %w", err)
	}
	if binary.NativeEndian.Uint32(head[:]) != journalSince {
		return at, errors.New("the index of the journal is of another version")
	}
	return mark{salts: [8]byte(head[32:]), frames: binary.NativeEndian.Uint32(head[16:])}, nil
}

// moveSome moves what no reader holds back.
func (s *Store) moveSome(db *sql.DB) {
	if s.trial.altered(s.path) == nil {
		_ = s.move(context.Background(), db, "PASSIVE") // it is tried again
	}
}

// move has SQLite move the journal into the file, once the sums of what it may write
// are on the disk. Who calls it has the turn at writing.
func (s *Store) move(ctx context.Context, db *sql.DB, how string) error {
	if err := s.adopt(ctx, db); err != nil {
		return err
	}
	if err := s.journal.readOn(); err != nil {
		return err
	}
	s.tried = s.journal.mark
	if s.sums != nil {
		if err := s.sums.ready(s.journal); err != nil {
			return err
		}
	}
	var busy, pages, moved int
	err := db.QueryRowContext(ctx, "PRAGMA wal_checkpoint("+how+")").Scan(&busy, &pages, &moved)
	if err != nil {
		return fmt.Errorf("emptying journal: %w", err)
	}
	if busy != 0 {
		return fmt.Errorf("emptying journal: %w", errInTheWay)
	}
	return nil
}

// errInTheWay: somebody is still reading what is to be emptied.
var errInTheWay = errors.New("a reader is in the way")

// checkpoint moves the journal into the database file, once that is known to be
// sound, and empties it.
func (s *Store) checkpoint(ctx context.Context) error {
	if left, err := journalled(s.path); err != nil || !left {
		return err // a start that changes nothing need not wait for the trial
	}
	if err := s.trial.finish(ctx); err != nil {
		return err
	}
	return s.commits.exclusive(ctx, func(db *sql.DB) error { return s.move(ctx, db, "TRUNCATE") })
}
