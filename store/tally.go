package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strings"
	"time"

	"tallystick/calc/pool"
	"tallystick/calc/price"
)

const (
	// talliesMost is how many members' ledgers are remembered: a few thousand bytes each.
	talliesMost = 1024
	// newestHeld is among how many of a member's newest entries a delivery that comes
	// again is looked for. Who writes has to wait for an answer, and transports repeat
	// what had none, within minutes.
	newestHeld = 100
	// entryReceiptBytes is how much of a delivery's hash an entry keeps.
	entryReceiptBytes = 16
)

// A tally is what is remembered of a member's ledger between their writes. Who has
// the turn at writing alone looks at it and changes it, with what they write: what is
// taken back of a transaction takes all tallies with it.
type tally struct {
	// The numbers given next.
	next, nextPiece, nextLot int
	// lastPiece is the piece of the newest entry, -1 where there is none.
	lastPiece int
	// kept: there is a row of the book.
	kept bool
	// until is the day until which a delivery may be among the receipts.
	until int
	// newest are the receipts of the newest entries that have one, oldest first. They
	// have their room from the beginning, so that memory is flat from then on.
	newest []stamp

	// What follows is read when it is asked for.

	fold *fold // the piece last written on, added up; nil where it is to be read
	// current is the number of the piece last taken up, 0 where it is to be read.
	current int
	// clocks are those that run, where clocksKnown.
	clocks      []Clock
	clocksKnown bool
	// limit is the length of a forgotten clock, where limitKnown.
	limit      int64
	limitKnown bool
}

// A stamp is what an entry keeps of its delivery.
type stamp struct {
	number  uint32
	receipt [entryReceiptBytes]byte
}

// tallies are kept by their owner. Deleting entries, or taking many in, drops the
// owner's.
type tallies map[string]*tally

func (k tallies) drop(owner []byte) { delete(k, string(owner)) }

func (k tallies) clear() { clear(k) }

func (k tallies) keep(owner []byte, t *tally) {
	for other := range k {
		if len(k) < talliesMost {
			break
		}
		delete(k, other)
	}
	k[string(owner)] = t
}

// book is the member's book for who has the turn at writing.
func (s *Store) book(ctx context.Context, tx *transaction, owner []byte) (*Book, error) {
	t, there := s.tallies[string(owner)]
	if !there {
		var err error
		if t, err = s.readTally(ctx, tx, owner); err != nil {
			return nil, err
		}
		s.tallies.keep(owner, t)
	}
	return &Book{tx: tx, owner: owner, tally: t, certain: s.commits.certain}, nil
}

func (s *Store) readTally(ctx context.Context, tx *transaction, owner []byte) (*tally, error) {
	t := &tally{next: 1, nextPiece: 1, nextLot: 1, lastPiece: -1, kept: true, newest: make([]stamp, 0, newestHeld)}
	err := tx.QueryRowContext(ctx, "SELECT next_entry, next_piece, next_lot, receipts_until FROM book WHERE owner = ?", owner).
		Scan(&t.next, &t.nextPiece, &t.nextLot, &t.until)
	if errors.Is(err, sql.ErrNoRows) {
		// Nothing was ever kept, or all of it was deleted.
		t.kept, t.clocksKnown, t.limitKnown = false, true, true
		err = tx.QueryRowContext(ctx, "SELECT coalesce(max(expires), 0) FROM receipt WHERE receipt = ?", s.wipedReceipt(owner)).Scan(&t.until)
		return t, err
	}
	if err != nil {
		return nil, err
	}
	looked := 0
	err = (&Book{tx: tx, owner: owner}).back(ctx, func(p passing) (bool, error) {
		if looked++; looked == 1 {
			t.next, t.lastPiece = max(t.next, p.number+1), p.piece
		}
		if len(p.receipt) > 0 {
			t.newest = append(t.newest, stamp{uint32(p.number), [entryReceiptBytes]byte(p.receipt)})
		}
		return looked < newestHeld, nil
	})
	slices.Reverse(t.newest)
	return t, err
}

// given gives the number of the newest entry that the delivery added.
func (t *tally) given(receipt []byte) (number int, again bool) {
	want := [entryReceiptBytes]byte(receipt)
	for _, m := range slices.Backward(t.newest) {
		if m.receipt == want {
			return int(m.number), true
		}
	}
	return 0, false
}

// delivered gives what the delivery did to the ledger, and false where it did nothing.
func (t *tally) delivered(ctx context.Context, tx *transaction, receipt []byte, now time.Time) (number int, again bool, err error) {
	if number, again := t.given(receipt); again {
		return number, true, nil
	}
	if t.until < int(pool.DayAt(now)) {
		return 0, false, nil
	}
	number, again, left, hasLeft, err := doneEither(ctx, tx, receipt, leftReceipt(receipt))
	if hasLeft {
		return left, true, err
	}
	return number, again, err
}

// note keeps an entry that was added in mind.
func (t *tally) note(e price.Entry, receipt []byte) {
	t.kept, t.next, t.lastPiece = true, e.Number+1, e.Piece
	if len(receipt) > 0 {
		old := 0
		for old < len(t.newest) && int(t.newest[old].number)+newestHeld < t.next {
			old++
		}
		t.newest = append(slices.Delete(t.newest, 0, old), stamp{uint32(e.Number), [entryReceiptBytes]byte(receipt)})
	}
	switch e.Kind {
	case price.EntryOpen:
		t.nextPiece = max(t.nextPiece, e.Piece+1)
		t.current = e.Piece
	case price.EntryIn, price.EntryTake, price.EntryReopen:
		t.current = e.Piece
	case price.EntryLot:
		t.nextLot = max(t.nextLot, e.Lot+1)
	case price.EntryUndo:
		t.current, t.limitKnown = 0, false
	case price.EntryLimit:
		t.limit, t.limitKnown = e.Seconds, true
	}
}

// leftReceipt is what an entry leaves behind when it is deleted.
func leftReceipt(receipt []byte) []byte {
	return append(slices.Clone(receipt[:entryReceiptBytes]), make([]byte, 32-entryReceiptBytes)...)
}

// noEntry is the number of an entry that was deleted with its ledger: its own may be
// given again.
const noEntry = 0

// wipedReceipt says that a ledger was deleted whole.
func (s *Store) wipedReceipt(owner []byte) []byte {
	return s.keys.mac(receipts, "wiped", string(owner))
}

// leaveEntries lets a delivery that comes again be known when its entry is no longer
// there, or no longer among the newest, and its number not be given again.
func (s *Store) leaveEntries(ctx context.Context, tx *transaction, owner []byte, now time.Time) error {
	t, err := s.leaveNewest(ctx, tx, owner, now, func(number int) int { return number })
	if err != nil || !t.kept {
		return err
	}
	_, err = execute(ctx, tx, "UPDATE book SET next_entry = ?, receipts_until = ? WHERE owner = ?",
		t.next, int(pool.DayAt(now))+receiptLife, owner)
	return err
}

// leaveLedger is leaveEntries where all of a ledger is deleted: the numbers begin anew.
func (s *Store) leaveLedger(ctx context.Context, tx *transaction, owner []byte, now time.Time) error {
	t, err := s.leaveNewest(ctx, tx, owner, now, func(int) int { return noEntry })
	if err != nil || !t.kept {
		return err
	}
	return leave(ctx, tx, s.wipedReceipt(owner), 0, now)
}

func (s *Store) leaveNewest(ctx context.Context, tx *transaction, owner []byte, now time.Time, as func(number int) int) (*tally, error) {
	t, err := s.readTally(ctx, tx, owner)
	if err != nil {
		return nil, err
	}
	s.tallies.drop(owner)
	for _, m := range t.newest {
		if err := leave(ctx, tx, leftReceipt(m.receipt[:]), as(int(m.number)), now); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// samePerson compares as the list of clocks does.
func samePerson(a, b string) bool { return a == b || lower(a) == lower(b) }

// lower makes small letters of those that SQLite's NOCASE does: the ones of ASCII.
func lower(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' {
			return r + 'a' - 'A'
		}
		return r
	}, s)
}
