package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// A seal says how the database file was when it was closed. It stands beside the
// file as long as nobody has it open: who opens it takes the seal away before
// writing, so that a seal beside another file means damage or a file put in place.
type seal struct {
	size, modified int64 // bytes; nanoseconds since 1970
	inode          uint64
	sum            [sha256.Size]byte
}

const sealHeader = "tallystick seal 1"

func sealPath(path string) string { return path + ".seal" }

// text is the content of the seal's file. Its last line is a sum of the others, so
// that a damaged seal accuses no sound file.
func (s seal) text() string {
	body := fmt.Sprintf("%s\nsize %d\nmodified %d\ninode %d\nsha256 %x\n", sealHeader, s.size, s.modified, s.inode, s.sum)
	return body + fmt.Sprintf("check %x\n", sha256.Sum256([]byte(body)))
}

// parseSeal reads what text wrote, and nothing else.
func parseSeal(text string) (s seal, ok bool) {
	var sum string
	_, err := fmt.Sscanf(text, sealHeader+"\nsize %d\nmodified %d\ninode %d\nsha256 %s\n", &s.size, &s.modified, &s.inode, &sum)
	if err != nil {
		return seal{}, false
	}
	raw, err := hex.DecodeString(sum)
	if err != nil || len(raw) != len(s.sum) {
		return seal{}, false
	}
	copy(s.sum[:], raw)
	return s, s.text() == text
}

// readSeal gives the seal beside the file, and false where there is none that can
// be read.
func readSeal(path string) (seal, bool, error) {
	text, err := os.ReadFile(sealPath(path))
	if errors.Is(err, fs.ErrNotExist) {
		return seal{}, false, nil
	}
	if err != nil {
		return seal{}, false, fmt.Errorf("reading seal: %w", err)
	}
	s, ok := parseSeal(string(text))
	return s, ok, nil
}

// write puts the seal beside the file, whole or not at all. It need not outlast a
// loss of power: without it the file is checked.
func (s seal) write(path string) error {
	temp, err := os.CreateTemp(filepath.Dir(path), ".seal-*")
	if err != nil {
		return fmt.Errorf("making seal: %w", err)
	}
	_, err = temp.WriteString(s.text())
	if err = errors.Join(err, temp.Close()); err == nil {
		err = os.Rename(temp.Name(), sealPath(path))
	}
	if err != nil {
		return errors.Join(fmt.Errorf("writing seal: %w", err), os.Remove(temp.Name()))
	}
	return nil
}

// dropSeal takes the seal away for good: one that came back after a loss of power
// would accuse what was written since.
func dropSeal(path string) error {
	err := os.Remove(sealPath(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("taking seal away: %w", err)
	}
	return syncFolder(path)
}

// look gives the file as it is, without its sum.
func look(path string) (seal, error) {
	info, err := os.Stat(path)
	if err != nil {
		return seal{}, fmt.Errorf("looking at database file: %w", err)
	}
	return seal{size: info.Size(), modified: info.ModTime().UnixNano(), inode: inode(info)}, nil
}

// untouched says whether nobody has written to the file since.
func (s seal) untouched(now seal) bool {
	return s.size == now.size && s.modified == now.modified && s.inode == now.inode
}

// sumFile reads the whole file of that path.
func sumFile(ctx context.Context, path string) ([sha256.Size]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return [sha256.Size]byte{}, fmt.Errorf("opening file to sum it: %w", err)
	}
	sum, err := sumOf(ctx, file, io.Discard, func() {})
	return sum, errors.Join(err, file.Close())
}

// sumPiece is how much of a file is read at a time.
const sumPiece = 1 << 20

// sumOf reads all there is, gives it to another too, and rests after each piece.
func sumOf(ctx context.Context, from io.Reader, also io.Writer, rest func()) (sum [sha256.Size]byte, err error) {
	h := sha256.New()
	both := io.MultiWriter(h, also)
	for {
		if err := ctx.Err(); err != nil {
			return sum, err
		}
		_, err := io.CopyN(both, from, sumPiece)
		if errors.Is(err, io.EOF) {
			return [sha256.Size]byte(h.Sum(nil)), nil
		}
		if err != nil {
			return sum, fmt.Errorf("summing file: %w", err)
		}
		rest()
	}
}

// journalled says whether the journal beside the file holds anything.
func journalled(path string) (bool, error) {
	info, err := os.Stat(path + "-wal")
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("looking at journal: %w", err)
	}
	return info.Size() > 0, nil
}

// sealUp seals a closed file. One that is as it was found keeps the sum it had; of
// another, each page is what was written to it, or there is no seal.
func (s *Store) sealUp() error {
	if left, err := journalled(s.path); err != nil || left {
		return err // somebody else has it open, and what is in the journal is not in the file
	}
	now, err := look(s.path)
	if err != nil {
		return err
	}
	if now.sum = s.found.sum; !s.found.untouched(now) {
		if now.sum, err = s.sumClosed(); err != nil {
			return err
		}
	}
	if err := now.write(s.path); err != nil {
		return err
	}
	if s.sums == nil || s.sums.seal(now.sum) == nil {
		return nil
	}
	return dropSums(s.path) // the seal does without
}

// sumClosed sums a file that was just closed and holds its pages against their sums,
// which it makes where there are none.
func (s *Store) sumClosed() (sum [sha256.Size]byte, err error) {
	file, err := os.Open(s.path)
	if err != nil {
		return sum, fmt.Errorf("opening file to sum it: %w", err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	pages := &pageSums{sums: []uint32{}}
	if pages.page, err = pageSize(file); err != nil {
		return sum, err
	}
	if sum, err = sumOf(context.Background(), file, pages, func() {}); err != nil {
		return sum, err
	}
	if s.sums == nil {
		made := &sums{path: s.path, page: pages.page, table: pages.sums}
		if made.rewrite(false) == nil {
			s.sums = made
			return sum, nil
		}
		return sum, errors.Join(made.close(), dropSums(s.path))
	}
	same := len(pages.sums) == len(s.sums.table)
	for i := 0; same && i < len(pages.sums); i++ {
		same = s.sums.table[i] == 0 || s.sums.table[i] == pages.sums[i]
	}
	if !same {
		return sum, &OpenError{Refusal: Damaged, Path: s.path, Part: s.path}
	}
	return sum, nil
}

// summedAtOnce is the size up to which a file is summed before the first answer:
// that takes a few hundredths of a second.
const summedAtOnce = 8 << 20

// sumRest is how long the summing of a larger file rests after each piece, so that
// it takes a small part of the machine: 64 MiB a second at most.
const sumRest = time.Second / 64
