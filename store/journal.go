package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
)

// How SQLite's write-ahead journal is laid out (SQLite, Database File Format, 4.1).
const (
	journalHead  = 32
	frameHead    = 24
	magicLittle  = 0x377f0682
	magicBig     = 0x377f0683
	journalSince = 3007000
	framesAtOnce = 32
)

// castagnoli sums pages: CRC-32C finds every damage of up to three bits, and of any
// number within 32 in a row (from memory), and is counted by the processor itself.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// A mark is a place in the journal: the time of which it is, told by the salts that
// SQLite draws whenever it begins the journal anew, and how many frames.
type mark struct {
	salts  [8]byte
	frames uint32
}

// A journal reads, by SQLite's own rules, which transactions the journal beside a
// file holds whole, and goes on where it stopped. Only the database file itself is
// never opened beside SQLite; the journal carries no locks.
type journal struct {
	path  string
	file  *os.File
	head  [journalHead]byte
	order binary.ByteOrder // nil where the head is none
	page  int              // bytes of a page
	chain [2]uint32        // the sum that the last whole transaction ended with
	mark  mark             // the end of that
	size  uint32           // pages of the database after it
	pages map[uint32]uint32
	// fresh are the sums of the pages that are in no record of sums yet.
	fresh  map[uint32]uint32
	buffer []byte
}

func newJournal(path string) *journal {
	return &journal{path: path + "-wal", pages: map[uint32]uint32{}, fresh: map[uint32]uint32{}}
}

// readOn takes in the transactions that have ended since.
func (j *journal) readOn() error {
	if j.file == nil {
		file, err := os.Open(j.path)
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("opening journal: %w", err)
		}
		j.file = file
	}
	var head [journalHead]byte
	if _, err := j.file.ReadAt(head[:], 0); errors.Is(err, io.EOF) {
		head = [journalHead]byte{}
	} else if err != nil {
		return fmt.Errorf("reading journal: %w", err)
	}
	if head != j.head {
		j.begin(head)
	}
	if j.order == nil {
		return nil
	}
	chain, at, open := j.chain, j.mark.frames, map[uint32]uint32{}
	for {
		frames, err := j.framesAt(at)
		if err != nil || len(frames) == 0 {
			return err
		}
		for ; len(frames) > 0; frames = frames[j.frame():] {
			f := frames[:j.frame()]
			if !j.timely(f) || number(f) == 0 {
				return nil
			}
			if chain = j.sumOn(chain, f); chain != stored(f) {
				return nil
			}
			at++
			open[number(f)] = sumPage(f[frameHead:])
			if committed(f) == 0 {
				continue
			}
			for page, sum := range open {
				j.pages[page], j.fresh[page] = sum, sum
			}
			clear(open)
			j.chain, j.mark.frames, j.size = chain, at, committed(f)
		}
	}
}

// begin takes up a journal that was begun anew, or none where its head does not fit.
func (j *journal) begin(head [journalHead]byte) {
	j.head, j.order, j.mark, j.size = head, nil, mark{}, 0
	clear(j.pages)
	word := func(at int) uint32 { return binary.BigEndian.Uint32(head[at:]) }
	order := map[uint32]binary.ByteOrder{magicLittle: binary.LittleEndian, magicBig: binary.BigEndian}[word(0)]
	page := int(word(8))
	if order == nil || word(4) != journalSince || page < 512 || page > 64<<10 || page&(page-1) != 0 {
		return
	}
	j.order, j.page = order, page
	j.chain = j.sumOver([2]uint32{}, head[:24])
	if j.chain != [2]uint32{word(24), word(28)} {
		j.order = nil
		return
	}
	j.mark.salts = [8]byte(head[16:24])
}

// beheaded says whether there is a journal whose head does not fit: one that was
// only begun when the power went is empty or all zeros.
func (j *journal) beheaded() bool { return j.order == nil && j.head != [journalHead]byte{} }

// frame is how many bytes a frame has.
func (j *journal) frame() int { return frameHead + j.page }

// framesAt reads frames behind so many, none where there is no whole one.
func (j *journal) framesAt(at uint32) ([]byte, error) {
	if want := framesAtOnce * j.frame(); len(j.buffer) != want {
		j.buffer = make([]byte, want)
	}
	n, err := j.file.ReadAt(j.buffer, journalHead+int64(at)*int64(j.frame()))
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading journal: %w", err)
	}
	return j.buffer[:n-n%j.frame()], nil
}

// beyond looks at what lies behind the last whole transaction: how many frames of
// this journal's time, and whether a transaction among them was on the disk once.
// That is so where a frame goes on from the last one of a transaction, for none is
// begun before the one before it is on the disk.
func (j *journal) beyond() (left int, lost bool, err error) {
	if j.order == nil {
		return 0, false, nil
	}
	// What the frame before ended with: as it says, and as it should.
	says, should, ended, broken := j.chain, j.chain, false, false
	for at := j.mark.frames; ; {
		frames, err := j.framesAt(at)
		if err != nil || len(frames) == 0 {
			return left, lost, err
		}
		for ; len(frames) > 0; frames = frames[j.frame():] {
			f := frames[:j.frame()]
			at++
			next := j.sumOn(says, f)
			fits := next == stored(f)
			if !fits && should != says {
				next = j.sumOn(should, f)
				fits = next == stored(f)
			}
			if j.timely(f) {
				left++
			}
			lost = lost || fits && ended && broken && j.timely(f)
			broken = broken || !fits || !j.timely(f)
			says, should = stored(f), next
			ended = committed(f) != 0 && (fits || j.timely(f))
		}
	}
}

// close gives the journal's file back.
func (j *journal) close() error {
	if j == nil || j.file == nil {
		return nil
	}
	err := j.file.Close()
	j.file = nil
	return err
}

func number(frame []byte) uint32    { return binary.BigEndian.Uint32(frame) }
func committed(frame []byte) uint32 { return binary.BigEndian.Uint32(frame[4:]) }

// timely says whether a frame is of this journal's time and of none before.
func (j *journal) timely(frame []byte) bool { return [8]byte(frame[8:16]) == [8]byte(j.head[16:24]) }

func stored(frame []byte) [2]uint32 {
	return [2]uint32{binary.BigEndian.Uint32(frame[16:]), binary.BigEndian.Uint32(frame[20:])}
}

// sumOn goes on summing over a frame.
func (j *journal) sumOn(chain [2]uint32, frame []byte) [2]uint32 {
	return j.sumOver(j.sumOver(chain, frame[:8]), frame[frameHead:])
}

// sumOver is the sum of section 4.2 of the format.
func (j *journal) sumOver(chain [2]uint32, data []byte) [2]uint32 {
	a, b := chain[0], chain[1]
	if j.order == binary.ByteOrder(binary.LittleEndian) { // nearly always: told apart once, and not at each word
		for ; len(data) >= 8; data = data[8:] {
			a += binary.LittleEndian.Uint32(data) + b
			b += binary.LittleEndian.Uint32(data[4:]) + a
		}
		return [2]uint32{a, b}
	}
	for ; len(data) >= 8; data = data[8:] {
		a += j.order.Uint32(data) + b
		b += j.order.Uint32(data[4:]) + a
	}
	return [2]uint32{a, b}
}

// sumPage is the sum of a page. 0 says that none is known.
func sumPage(page []byte) uint32 { return max(crc32.Checksum(page, castagnoli), 1) }
