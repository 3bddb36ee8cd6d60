package store

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

var (
	// ErrNotFound: there is nothing of that kind that belongs to who asked.
	ErrNotFound = errors.New("not found")
	// ErrConflict: what is stored does not allow it.
	ErrConflict = errors.New("in conflict with what is stored")
)

// An AlreadyShared is the ErrConflict of sharing a draft for the second time.
type AlreadyShared struct {
	// Number is the number the sale got the first time.
	Number int
}

// Error says that the draft has been shared.
func (e *AlreadyShared) Error() string { return "draft is already shared" }

// Is makes it an ErrConflict.
func (e *AlreadyShared) Is(target error) bool { return target == ErrConflict }

// A Refusal is why a database is not opened.
type Refusal int

// The refusals.
const (
	// KeysMissing: the database was made with a key file, which is not there.
	KeysMissing Refusal = iota + 1
	// KeysOther: the key file is that of another database.
	KeysOther
	// KeysDamaged: the key file does not hold what it should.
	KeysDamaged
	// Newer: a newer version of the program has changed the database.
	Newer
	// Damaged: the file is no database, or no longer a whole one.
	Damaged
	// Altered: the file is not as it was when it was closed.
	Altered
	// ReadOnly: the file or its folder may not be written to.
	ReadOnly
	// NoRoom: the disk is full.
	NoRoom
	// Held: another process has the database open.
	Held
	// Journal: the journal of a database is there, and the database is not.
	Journal
)

// An OpenError says in one sentence, to whoever starts the program, why the
// database was not opened and what to do.
type OpenError struct {
	Refusal        Refusal
	Path, KeysPath string
	// Part is the file of which a Damaged database knows by its sums that it is not
	// as it was written.
	Part string
}

// Error gives the sentence.
func (e *OpenError) Error() string {
	switch e.Refusal {
	case KeysMissing:
		return fmt.Sprintf("the key file %q is not there and the database %q cannot be read without it; "+
			"put it back from its backup, or move the database away to begin a new one", e.KeysPath, e.Path)
	case KeysOther:
		return fmt.Sprintf("the key file %q does not belong to the database %q; "+
			"put back the key file the database was made with", e.KeysPath, e.Path)
	case KeysDamaged:
		return fmt.Sprintf("the key file %q does not hold a whole set of keys; put it back from its backup", e.KeysPath)
	case Newer:
		return fmt.Sprintf("the database %q was last used by a newer version of tallystick; "+
			"start that version, or put back a copy from before it", e.Path)
	case Altered:
		return fmt.Sprintf("the database %q is not as it was when it was closed: it is damaged, or something else wrote to it; "+
			"put back its newest copy, or delete %q to have the file examined and used as it is", e.Path, sealPath(e.Path))
	case ReadOnly:
		return fmt.Sprintf("the database %q, or its folder, may not be written to; "+
			"give the user who runs tallystick the right to write there", e.Path)
	case NoRoom:
		return fmt.Sprintf("there is no room left on the disk of the database %q; make room and start again", e.Path)
	case Held:
		return fmt.Sprintf("the database %q is in use by another tallystick; end that one first, or wait until it is done", e.Path)
	case Journal:
		return fmt.Sprintf("the database %q is gone and its journal %q is still there; "+
			"put the database back, or move the journal away too to begin a new one", e.Path, e.Path+"-wal")
	case Damaged:
		if e.Part != "" {
			return fmt.Sprintf("the database %q is damaged: %q is not as it was written; "+
				"put back its newest copy, or delete %q to have the files examined and used as far as they can be read", e.Path, e.Part, sumsPath(e.Path))
		}
		fallthrough
	default:
		return fmt.Sprintf("the database %q is damaged or is not a database; put back its newest copy", e.Path)
	}
}

// sqliteCode gives SQLite's own result code, without its extension, or 0.
func sqliteCode(err error) int {
	if e, ok := errors.AsType[*sqlite.Error](err); ok {
		return e.Code() & 0xff
	}
	return 0
}

// isTaken: a value that has to be unique was there already.
func isTaken(err error) bool {
	e, ok := errors.AsType[*sqlite.Error](err)
	return ok && (e.Code() == sqlite3.SQLITE_CONSTRAINT_UNIQUE || e.Code() == sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY)
}

// isMissing: a value was not there that has to be.
func isMissing(err error) bool {
	e, ok := errors.AsType[*sqlite.Error](err)
	return ok && e.Code() == sqlite3.SQLITE_CONSTRAINT_NOTNULL
}

// failed adds what was being done to an error, and makes a value that had to be
// unique and was not an ErrConflict.
func failed(doing string, err error) error {
	if err == nil {
		return nil
	}
	if isTaken(err) {
		return fmt.Errorf("%s: %w: %w", doing, ErrConflict, err)
	}
	return fmt.Errorf("%s: %w", doing, err)
}
