package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
)

// weigh holds the file of a process that was killed, and its journal, against the
// sums, before SQLite opens either. It is not sound where there is nothing that says
// so, and an *OpenError where something is known to be damaged.
func weigh(path string, file *os.File, m *sums, j *journal) (sound bool, err error) {
	_, lost, err := j.beyond()
	if err != nil || m == nil || m.sealed {
		// Without sums, or where the seal is gone that they are of, nobody can say.
		return false, err
	}
	if lost || j.beheaded() || j.order != nil && j.page != m.page || m.misses(j) {
		return false, &OpenError{Refusal: Damaged, Path: path, Part: path + "-wal"}
	}
	wrong, err := m.wrong(file, j)
	if err != nil || wrong == 0 || m.torn {
		return err == nil && wrong == 0, err
	}
	return false, &OpenError{Refusal: Damaged, Path: path, Part: path}
}

// misses says whether the journal lacks what was answered for: it is shorter than it
// was, or is not that journal although not all of that may have been moved into the
// file. SQLite begins a journal anew only when all of it is there, on the disk.
func (m *sums) misses(j *journal) bool {
	if j.order != nil && j.mark.salts == m.noted.salts {
		return j.mark.frames < m.noted.frames
	}
	moved := m.covered.salts == m.noted.salts && m.covered.frames >= m.noted.frames
	return !moved && m.noted.frames > 0 && !m.torn
}

// wrong counts the pages that are read from the file, and not from the journal, and
// have another sum than they were written with.
func (m *sums) wrong(file *os.File, j *journal) (wrong int, err error) {
	info, err := file.Stat()
	if err != nil {
		return 0, fmt.Errorf("looking at database file: %w", err)
	}
	pages := uint32(len(m.table))
	if j.mark.frames > 0 {
		pages = j.size
	} else if info.Size() != int64(pages)*int64(m.page) {
		wrong++ // each checkpoint gives the file its length
	}
	found, err := sumPages(file, m.page)
	if err != nil {
		return 0, err
	}
	for i := range pages {
		if _, held := j.pages[i+1]; held || int(i) >= len(m.table) || m.table[i] == 0 {
			continue
		}
		if int(i) >= len(found) || found[i] != m.table[i] {
			wrong++
		}
	}
	return wrong, nil
}

// sumPages sums every whole page of a file.
func sumPages(file *os.File, page int) ([]uint32, error) {
	p := &pageSums{page: page, sums: []uint32{}}
	if _, err := io.CopyBuffer(p, io.NewSectionReader(file, 0, 1<<62), make([]byte, sumPiece)); err != nil {
		return nil, fmt.Errorf("summing pages: %w", err)
	}
	return p.sums, nil
}

// pageSums sums the pages of what is written to it.
type pageSums struct {
	page, filled int
	sum          uint32
	sums         []uint32
}

// Write takes in a piece.
func (p *pageSums) Write(b []byte) (int, error) {
	all := len(b)
	for len(b) > 0 {
		n := min(p.page-p.filled, len(b))
		p.sum = crc32.Update(p.sum, castagnoli, b[:n])
		if p.filled += n; p.filled == p.page {
			p.sums = append(p.sums, max(p.sum, 1))
			p.sum, p.filled = 0, 0
		}
		b = b[n:]
	}
	return all, nil
}

// pageSize reads how many bytes a page of the file has, 0 for a file that has none
// (SQLite, Database File Format, 1.3.2).
func pageSize(file *os.File) (int, error) {
	head := make([]byte, 18)
	if _, err := file.ReadAt(head, 0); errors.Is(err, io.EOF) {
		return 0, nil
	} else if err != nil {
		return 0, fmt.Errorf("reading page size: %w", err)
	}
	size := int(binary.BigEndian.Uint16(head[16:]))
	if size == 1 {
		size = 64 << 10
	}
	return size, nil
}
