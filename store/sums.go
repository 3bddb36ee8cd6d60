package store

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
)

// The sums of the pages of a database file stand in a file beside it, so that what
// rots in the file of a process that was killed is found. The file has a head, a note
// of how far the journal was answered for, and records, each with a sum of its own:
//
//   - pages: what a checkpoint that is about to be made may write, and up to which
//     place in the journal. It is on the disk before SQLite moves anything, so a page
//     of the file that the journal does not hold has the newest sum that is recorded;
//   - every: the sums of all pages, once;
//   - opened and closed: whether the file has been worked on since it was sealed.
//
// A record is never changed: what a kill or a loss of power cut short is at the end.
const (
	sumsHeader = "tallystick sums 1\n"
	noteAt     = 512 // a sector of its own: it is written over
	recordsAt  = 1024
	// recordsMost is how many bytes of records are kept beside twice those of one
	// record of every page.
	recordsMost = 64 << 10
)

// The kinds of records.
const (
	recordPages uint32 = iota + 1
	recordEvery
	recordOpened
	recordClosed
)

// sums is that file, open. Who has the turn at writing uses it.
type sums struct {
	path  string
	file  *os.File
	page  int      // bytes of a page
	table []uint32 // of page 1 and on; 0 where no sum is known
	end   int64    // of the last record
	// covered is how much of the journal the last record of pages speaks of, and noted
	// how much was answered for.
	covered, noted mark
	of             [sha256.Size]byte // the file that was sealed last
	sealed         bool              // and not opened since
	torn           bool              // a record or the note cannot be read
}

func sumsPath(path string) string { return path + ".sums" }

// newSumsPath is where they are written before they take their place.
func newSumsPath(path string) string { return path + ".sums-new" }

// dropSums takes the sums away for good: they would accuse what is written without
// them.
func dropSums(path string) error {
	_ = os.Remove(newSumsPath(path))
	err := os.Remove(sumsPath(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("taking sums away: %w", err)
	}
	return syncFolder(path)
}

// readSums gives the sums beside the file, nil where there are none that can be read.
func readSums(path string) (*sums, error) {
	content, err := os.ReadFile(sumsPath(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("reading sums: %w", err)
	}
	m := &sums{path: path, end: recordsAt}
	if len(content) < recordsAt || string(content[:len(sumsHeader)]) != sumsHeader || !whole(content[:noteAt]) {
		return nil, nil
	}
	m.page = int(binary.LittleEndian.Uint32(content[len(sumsHeader):]))
	said := int64(0)
	if note := content[noteAt:recordsAt]; whole(note) {
		m.noted, note = parseMark(note)
		said = int64(binary.LittleEndian.Uint64(note))
	} else {
		m.torn = true
	}
	for rest := content[recordsAt:]; len(rest) > 0; {
		if len(rest) < 8 {
			m.torn = true
			break
		}
		length := 12 + int64(binary.LittleEndian.Uint32(rest[4:]))
		if length > int64(len(rest)) || !whole(rest[:length]) || !m.take(binary.LittleEndian.Uint32(rest), rest[8:length-4]) {
			m.torn = true
			break
		}
		m.end += length
		rest = rest[length:]
	}
	if m.table == nil {
		return nil, nil
	}
	m.torn = m.torn || m.end < said
	if m.file, err = os.OpenFile(sumsPath(path), os.O_RDWR, 0); err != nil {
		return nil, fmt.Errorf("opening sums: %w", err)
	}
	return m, nil
}

// whole says whether bytes end with the sum of those before.
func whole(b []byte) bool {
	return crc32.Checksum(b[:len(b)-4], castagnoli) == binary.LittleEndian.Uint32(b[len(b)-4:])
}

func parseMark(b []byte) (m mark, rest []byte) {
	copy(m.salts[:], b)
	m.frames = binary.LittleEndian.Uint32(b[8:])
	return m, b[12:]
}

// take does what a record says.
func (m *sums) take(kind uint32, b []byte) bool {
	word := binary.LittleEndian.Uint32
	switch {
	case kind == recordPages && len(b) >= 16 && len(b)%8 == 0:
		m.covered, b = parseMark(b)
		m.resize(word(b))
		for b = b[4:]; len(b) > 0; b = b[8:] {
			page := word(b)
			if page == 0 || int(page) > len(m.table) {
				return false
			}
			m.table[page-1] = word(b[4:])
		}
	case kind == recordEvery && len(b) >= 12 && len(b)%4 == 0:
		m.covered, b = parseMark(b)
		m.table = make([]uint32, len(b)/4)
		for i := range m.table {
			m.table[i] = word(b[4*i:])
		}
	case kind == recordOpened && len(b) == 0:
		m.sealed = false
	case kind == recordClosed && len(b) == len(m.of):
		m.of, m.sealed = [sha256.Size]byte(b), true
	default:
		return false
	}
	return true
}

// resize makes the table that of a file of so many pages. Of a page that is in no
// record nothing was ever written.
func (m *sums) resize(pages uint32) {
	if more := int(pages) - len(m.table); more > 0 {
		m.table = append(m.table, make([]uint32, more)...)
	}
	m.table = m.table[:pages]
}

// close gives the file back.
func (m *sums) close() error {
	if m == nil || m.file == nil {
		return nil
	}
	err := m.file.Close()
	m.file = nil
	return err
}
