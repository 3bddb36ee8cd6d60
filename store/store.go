// Package store keeps tallystick's one SQLite file and the key file beside it:
// communities and their settings, members' own settings and job sheets, consent,
// drafts, shared sales and releases.
//
// It refuses to keep who anybody is. Ids of communities, members and deliveries
// are hashed with keys that are not in the database before anything else is done
// with them, and the shared sales hang on another hash than the consent does, so
// that a stolen database does not tie one to the other.
//
// It refuses to answer questions about sales: a release is made from them, and
// what is read is the release.
package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"tallystick/calc/pool"
)

// A Config says where the files are and what holds where nothing was set.
type Config struct {
	// Path is the database file; its folder is made when it is not there.
	Path string
	// KeysPath is the key file; it belongs in another backup than the database.
	KeysPath string
	// Defaults are the settings of a community that has none yet. An empty
	// currency is USD.
	Defaults Community
	// Lost is called once, with an *OpenError, when a file that is at work turns out
	// to be damaged. It may be nil.
	Lost func(error)
	// Notice is told, in a sentence for the log, of what a killed process has left
	// behind that is of no use, of a copy that could not be checked in full yet, and of
	// a new database that was begun where keys or other files of one were. It may be nil.
	Notice func(string)
	// Rules are the rules of ReleaseDue; zero is pool.StandardRules, and looser
	// ones are refused.
	Rules pool.Rules
}

// A Store is one open database. Its methods may be called at the same time.
type Store struct {
	path           string
	hold           *hold
	found          seal     // how the file was found, zero where it was not sealed
	trial          *trial   // nil where there is nothing to compare
	file, index    *os.File // beside SQLite; closed when it has closed them
	journal        *journal
	tried          mark  // where the journal ended when it was last moved
	sums           *sums // nil where there are none
	writer, reader *sql.DB
	commits        *committer
	keys           keys
	defaults       Community
	rules          pool.Rules
	tallies        tallies
	makers         makers

	communities *memory[string, Community]
	settings    *memory[Who, Settings]
	published   *memory[string, []pool.Line]
}

// How many communities and members are remembered: a few hundred bytes each.
const (
	communitiesHeld = 1024
	membersHeld     = 8192
)

// Open opens the database and brings it up to date, making it and its keys when
// neither is there. An *OpenError says what whoever starts the program has to
// put right.
func Open(ctx context.Context, config Config) (*Store, error) {
	if config.Path == "" || config.KeysPath == "" {
		return nil, errors.New("opening store: the paths of the database and of the key file are needed")
	}
	s := &Store{defaults: config.Defaults, rules: config.Rules, tallies: tallies{}, makers: makers{},
		communities: newMemory[string, Community](communitiesHeld),
		settings:    newMemory[Who, Settings](membersHeld),
		published:   newMemory[string, []pool.Line](communitiesHeld)}
	if s.defaults.Currency == "" {
		s.defaults.Currency = "USD"
	}
	if s.rules == (pool.Rules{}) {
		s.rules = pool.StandardRules()
	}
	if err := s.rules.Stricter(pool.StandardRules()); err != nil {
		return nil, fmt.Errorf("opening store: %w", err)
	}
	s.path = config.Path
	if err := s.open(ctx, config); err != nil {
		err = errors.Join(err, s.closeSums(), s.closePools(), s.closeFiles(), s.hold.release())
		if refused := refusal(config.Path, err); refused != nil {
			return nil, refused
		}
		return nil, fmt.Errorf("opening store: %w", err)
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, config Config) (err error) {
	path, keysPath := config.Path, config.KeysPath
	if err := makeFolder(path); err != nil {
		return err
	}
	if s.hold, err = holdFile(ctx, path, heldWait); err != nil {
		return err
	}
	there, remains, err := s.beginning(path)
	if err != nil {
		return err
	}
	k, err := readKeys(keysPath)
	remains = remains || err == nil
	if errors.Is(err, fs.ErrNotExist) {
		if there {
			return &OpenError{Refusal: KeysMissing, Path: path, KeysPath: keysPath}
		}
		k, err = createKeys(keysPath)
	}
	if err != nil {
		return err
	}
	s.keys = k
	if err := makeFile(path); err != nil {
		return err
	}
	found, compared, err := trust(ctx, path)
	if err != nil {
		return err
	}
	s.found = found
	sound, err := s.openSums(found, config.Notice)
	if err != nil {
		return err
	}
	if !sound {
		if err := examineFile(path); err != nil {
			return err
		}
	}
	if err := dropSeal(path); err != nil {
		return err
	}
	if err := s.connect(ctx); err != nil {
		return err
	}
	switch {
	case !sound:
		err = examine(ctx, s.writer, path)
	case found != (seal{}) && !compared:
		s.trial, err = try(ctx, path, found, s.sums == nil, config.Lost)
	}
	if err == nil && s.sums == nil && s.trial == nil {
		err = s.makeSums(ctx, s.writer, nil)
	}
	if err != nil {
		return err
	}
	if err := migrate(ctx, s.writer, path); err != nil {
		return err
	}
	if err := s.belong(ctx, path, keysPath); err != nil {
		return err
	}
	if !there && remains && config.Notice != nil {
		config.Notice(fmt.Sprintf("began a new database at %q, where one has been: if you did not move it away, stop the program and put it back", path))
	}
	return s.hold.note(true)
}

// connect opens the pools. A new file's writer comes first: it makes the journal that
// readers need. Otherwise the readers do, and are closed last: a writer that is the
// last to close a file moves the journal, whether sums of it are recorded or not.
func (s *Store) connect(ctx context.Context) (err error) {
	if s.sums != nil {
		if s.reader, err = connect(ctx, s.path, readerCount, true); err != nil {
			return err
		}
	}
	if s.writer, err = connect(ctx, s.path, 1, false); err != nil {
		return err
	}
	s.commits = &committer{db: s.writer, longest: batchLongest, undone: s.undone, kept: s.kept, rest: s.moveSome}
	if s.reader == nil {
		s.reader, err = connect(ctx, s.path, readerCount, true)
	}
	return err
}

// undone forgets what is remembered of what was taken back.
func (s *Store) undone() {
	s.tallies.clear()
	clear(s.makers)
}

// belong ties a new database to its keys, and an old one only to the same.
func (s *Store) belong(ctx context.Context, path, keysPath string) error {
	var fingerprint []byte
	_, err := s.writer.ExecContext(ctx, "INSERT INTO house (one, fingerprint) VALUES (1, ?) ON CONFLICT DO NOTHING",
		s.keys.fingerprint())
	if err != nil {
		return fmt.Errorf("noting keys: %w", err)
	}
	if err := s.writer.QueryRowContext(ctx, "SELECT fingerprint FROM house").Scan(&fingerprint); err != nil {
		return fmt.Errorf("comparing keys: %w", err)
	}
	if !bytes.Equal(fingerprint, s.keys.fingerprint()) {
		return &OpenError{Refusal: KeysOther, Path: path, KeysPath: keysPath}
	}
	return nil
}

// Vacuum rebuilds the file and empties the journal, so that nothing that was
// deleted is left in either.
func (s *Store) Vacuum(ctx context.Context) error {
	if err := s.trial.finish(ctx); err != nil {
		return err
	}
	return s.commits.exclusive(ctx, func(db *sql.DB) error {
		// The copy that it makes is as large as the file: not in memory.
		_, err := db.ExecContext(ctx, "PRAGMA temp_store = FILE")
		if err == nil {
			_, err = db.ExecContext(ctx, "VACUUM")
		}
		_, back := db.ExecContext(context.WithoutCancel(ctx), "PRAGMA temp_store = MEMORY")
		if err = errors.Join(err, back); err != nil {
			return fmt.Errorf("rebuilding database: %w", err)
		}
		return s.move(ctx, db, "TRUNCATE")
	})
}

// write does all of f or nothing. When it gives no error, what f did is on the disk.
// Writes that come at the same time share a transaction, so f does not take long.
func (s *Store) write(ctx context.Context, doing string, f func(tx *transaction) error) error {
	return s.commit(ctx, doing, false, f)
}

// writeAlone is write for an f that takes long: its transaction is its own.
func (s *Store) writeAlone(ctx context.Context, doing string, f func(tx *transaction) error) error {
	return s.commit(ctx, doing, true, f)
}

func (s *Store) commit(ctx context.Context, doing string, alone bool, f func(tx *transaction) error) (err error) {
	defer func() { err = s.trouble(err) }()
	if err := s.trial.altered(s.path); err != nil {
		return err
	}
	return failed(doing, s.commits.write(ctx, alone, f))
}

// read gives f one unchanging view of the database.
func (s *Store) read(ctx context.Context, doing string, f func(tx *transaction) error) (err error) {
	defer func() { err = s.trouble(err) }()
	if err := s.trial.altered(s.path); err != nil {
		return err
	}
	tx, err := beginRead(ctx, s.reader)
	if err != nil {
		return failed(doing, err)
	}
	defer func() { err = failed(doing, errors.Join(err, tx.rollback())) }() // also where f panics
	return f(tx)
}
