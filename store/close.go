package store

import (
	"context"
	"database/sql"
	"errors"
	"os"
)

// Close writes everything into the one file, closes it and seals it; writes that wait
// are done first. Where that cannot be, as while a backup is being made, all stays in
// the journal, and the file without a seal. Nothing is told from memory afterwards.
func (s *Store) Close() error {
	s.commits.close()
	s.communities.clear()
	s.settings.clear()
	s.published.clear()
	wrote, err := journalled(s.path)
	trial := s.trial.end(wrote)
	if err = errors.Join(err, trial); err == nil {
		err = s.move(context.Background(), s.writer, "TRUNCATE")
	}
	if err != nil {
		// The next start goes on from the journal.
		if errors.Is(err, errInTheWay) {
			err = nil
		}
		return errors.Join(err, s.closeSums(), s.closePools(), s.closeFiles(), s.hold.release())
	}
	// The last to close takes the empty journal away.
	err = errors.Join(s.journal.close(), s.reader.Close(), s.writer.Close(), s.closeFiles())
	if err == nil {
		err = s.sealUp()
	}
	return errors.Join(err, s.closeSums(), s.hold.release())
}

// closePools closes what there is of a store, and leaves the journal as it is.
func (s *Store) closePools() error {
	var err error
	for _, db := range []*sql.DB{s.writer, s.reader} {
		if db != nil {
			err = errors.Join(err, db.Close())
		}
	}
	return err
}

func (s *Store) closeSums() error { return errors.Join(s.journal.close(), s.sums.close()) }

// closeFiles closes what SQLite has locks on, which is done after SQLite has closed
// it: the system gives up all locks that a process has on a file when the process
// closes it once.
func (s *Store) closeFiles() error {
	err := s.trial.close()
	for _, file := range []*os.File{s.file, s.index} {
		if file != nil {
			err = errors.Join(err, file.Close())
		}
	}
	return err
}
