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
	"sync/atomic"

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
	// Rules are the rules of ReleaseDue; zero is pool.StandardRules, and looser
	// ones are refused.
	Rules pool.Rules
}

// A Store is one open database. Its methods may be called at the same time.
type Store struct {
	writer, reader *sql.DB
	commits        *committer
	keys           keys
	defaults       Community
	rules          pool.Rules
	folds          folds
	swept          atomic.Int64 // the day for which receipts were last swept
}

// Open opens the database and brings it up to date, making it and its keys when
// neither is there. An *OpenError says what whoever starts the program has to
// put right.
func Open(ctx context.Context, config Config) (*Store, error) {
	if config.Path == "" || config.KeysPath == "" {
		return nil, errors.New("opening store: the paths of the database and of the key file are needed")
	}
	s := &Store{defaults: config.Defaults, rules: config.Rules, folds: folds{}}
	if s.defaults.Currency == "" {
		s.defaults.Currency = "USD"
	}
	if s.rules == (pool.Rules{}) {
		s.rules = pool.StandardRules()
	}
	if err := s.rules.Stricter(pool.StandardRules()); err != nil {
		return nil, fmt.Errorf("opening store: %w", err)
	}
	if err := s.open(ctx, config.Path, config.KeysPath); err != nil {
		err = errors.Join(err, s.closePools())
		if damaged(err) {
			return nil, &OpenError{Refusal: Damaged, Path: config.Path}
		}
		if refused, ok := errors.AsType[*OpenError](err); ok {
			return nil, refused
		}
		return nil, fmt.Errorf("opening store: %w", err)
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, path, keysPath string) error {
	there, err := present(path)
	if err != nil {
		return err
	}
	k, err := readKeys(keysPath)
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
	// The writer comes first: it makes the journal that readers need.
	if s.writer, err = connect(ctx, path, 1, false); err != nil {
		return err
	}
	s.commits = &committer{db: s.writer}
	if err := check(ctx, s.writer, path); err != nil {
		return err
	}
	if err := migrate(ctx, s.writer, path); err != nil {
		return err
	}
	if err := s.belong(ctx, path, keysPath); err != nil {
		return err
	}
	s.reader, err = connect(ctx, path, readerCount, true)
	return err
}

// check reads the whole file for damage. It is small: one community sells a few
// hundred pieces a year.
func check(ctx context.Context, db *sql.DB, path string) error {
	var result string
	if err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&result); err != nil {
		return fmt.Errorf("checking database: %w", err)
	}
	if result != "ok" {
		return &OpenError{Refusal: Damaged, Path: path}
	}
	return nil
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

// Close writes everything into the one file and closes it. Where another program
// has it open too, the last to close it does the writing. Writes that wait are done
// first.
func (s *Store) Close() error {
	s.commits.close()
	readers := s.reader.Close()
	journal := truncate(context.Background(), s.writer)
	if errors.Is(journal, errInTheWay) {
		journal = nil
	}
	return errors.Join(readers, journal, s.writer.Close())
}

// closePools closes what there is of a store that did not open.
func (s *Store) closePools() error {
	var err error
	for _, db := range []*sql.DB{s.reader, s.writer} {
		if db != nil {
			err = errors.Join(err, db.Close())
		}
	}
	return err
}

// errInTheWay: somebody is still reading what is to be emptied.
var errInTheWay = errors.New("a reader is in the way")

// checkpoint moves the journal into the database file and empties it.
func (s *Store) checkpoint(ctx context.Context) error {
	return s.commits.exclusive(ctx, func(db *sql.DB) error { return truncate(ctx, db) })
}

func truncate(ctx context.Context, db *sql.DB) error {
	var busy, pages, moved int
	err := db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &moved)
	if err != nil {
		return fmt.Errorf("emptying journal: %w", err)
	}
	if busy != 0 {
		return fmt.Errorf("emptying journal: %w", errInTheWay)
	}
	return nil
}

// Vacuum rebuilds the file and empties the journal, so that nothing that was
// deleted is left in either.
func (s *Store) Vacuum(ctx context.Context) error {
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
		return truncate(ctx, db)
	})
}

// write does all of f or nothing. When it gives no error, what f did is on the disk.
// Writes that come at the same time share a transaction, so f does not take long.
func (s *Store) write(ctx context.Context, doing string, f func(tx *sql.Tx) error) error {
	return failed(doing, s.commits.write(ctx, false, f))
}

// writeAlone is write for an f that takes long: its transaction is its own.
func (s *Store) writeAlone(ctx context.Context, doing string, f func(tx *sql.Tx) error) error {
	return failed(doing, s.commits.write(ctx, true, f))
}

// read gives f one unchanging view of the database.
func (s *Store) read(ctx context.Context, doing string, f func(tx *sql.Tx) error) error {
	tx, err := s.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return failed(doing, err)
	}
	return failed(doing, errors.Join(f(tx), rolledBack(tx.Rollback())))
}

// rolledBack is nil when the transaction was over already, as it is when its
// context was.
func rolledBack(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}
