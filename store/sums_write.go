package store

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
)

// add adds a record, and makes it last where it must.
func (m *sums) add(kind uint32, payload []byte, last bool) error {
	b := binary.LittleEndian.AppendUint32(nil, kind)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(payload)))
	b = summed(append(b, payload...))
	_, err := m.file.WriteAt(b, m.end)
	if err == nil && last {
		err = m.file.Sync()
	}
	if err != nil {
		return errors.Join(fmt.Errorf("writing sums: %w", err), m.file.Truncate(m.end))
	}
	m.end += int64(len(b))
	m.take(kind, payload)
	return m.note(m.noted)
}

// note says how far the journal has been answered for. It need not be on the disk:
// whatever of it is there after a loss of power is true.
func (m *sums) note(at mark) error {
	if _, err := m.file.WriteAt(noteText(at, m.end), noteAt); err != nil {
		return fmt.Errorf("writing sums: %w", err)
	}
	m.noted = at
	return nil
}

// noteText also says where the records end, so that one that is gone as if it had
// never been is missed.
func noteText(at mark, end int64) []byte {
	b := make([]byte, recordsAt-noteAt-4)
	copy(b, binary.LittleEndian.AppendUint64(at.append(nil), uint64(end)))
	return summed(b)
}

// ready records the sums of what the journal holds, so that it may be moved into the
// file.
func (m *sums) ready(j *journal) error {
	if j.mark == m.covered || j.mark.frames == 0 {
		return nil
	}
	b := binary.LittleEndian.AppendUint32(j.mark.append(nil), j.size)
	for page, sum := range j.fresh {
		if page <= j.size {
			b = binary.LittleEndian.AppendUint32(binary.LittleEndian.AppendUint32(b, page), sum)
		}
	}
	if m.end > recordsMost+8*int64(len(m.table)) {
		if err := m.rewrite(true); err != nil {
			return err
		}
	}
	if err := m.add(recordPages, b, true); err != nil {
		return err
	}
	clear(j.fresh)
	return nil
}

// rewrite puts in the file's place one with the same sums and no more records than
// they need.
func (m *sums) rewrite(last bool) error {
	temp, err := os.OpenFile(newSumsPath(m.path), os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return fmt.Errorf("making sums: %w", err)
	}
	head := append(make([]byte, 0, recordsAt), sumsHeader...)
	head = binary.LittleEndian.AppendUint32(head, uint32(m.page))
	head = summed(head[:noteAt-4])
	every := m.covered.append(nil)
	for _, sum := range m.table {
		every = binary.LittleEndian.AppendUint32(every, sum)
	}
	other := &sums{path: m.path, file: temp, page: m.page, end: recordsAt, noted: m.noted}
	_, err = temp.WriteAt(head, 0)
	if err == nil {
		err = other.add(recordEvery, every, false)
	}
	if err == nil {
		err = other.add(recordClosed, m.of[:], false)
	}
	if err == nil && !m.sealed {
		err = other.add(recordOpened, nil, false)
	}
	if err == nil && last {
		err = temp.Sync()
	}
	// A file that is open cannot be named everywhere.
	if err = errors.Join(err, temp.Close(), m.close()); err == nil {
		err = os.Rename(temp.Name(), sumsPath(m.path))
	}
	named := err == nil
	if !named {
		err = errors.Join(fmt.Errorf("writing sums: %w", err), os.Remove(temp.Name()))
	} else if last {
		// Else what is recorded from now on could be lost with the name.
		err = syncFolder(m.path)
	}
	file, problem := os.OpenFile(sumsPath(m.path), os.O_RDWR, 0)
	if problem != nil {
		return errors.Join(err, fmt.Errorf("opening sums: %w", problem))
	}
	if m.file = file; named {
		m.end, m.torn = other.end, false
	}
	return err
}

// seal says that the file was closed as it is now. Like the seal, that need not
// outlast a loss of power.
func (m *sums) seal(sum [sha256.Size]byte) error {
	if m.end > recordsMost+4*int64(len(m.table)) { // the next start reads it
		m.of, m.sealed = sum, true
		return m.rewrite(false)
	}
	return m.add(recordClosed, sum[:], false)
}

// summed adds the sum.
func summed(b []byte) []byte {
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b, castagnoli))
}

func (m mark) append(b []byte) []byte {
	return binary.LittleEndian.AppendUint32(append(b, m.salts[:]...), m.frames)
}
