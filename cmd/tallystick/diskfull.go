package main

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
)

// roomWanted is how much has to fit on the disk: more than what an entry takes.
const roomWanted = 64 << 10

// diskTrouble tries whether the disk of a folder takes a little more, and says why it
// does not; nil is that it does, or that the trouble is another. What is tried is not
// made to last, so that asking often wears out no card. The file has one name: one
// that a killed process left is written over.
func diskTrouble(folder string) error {
	path := filepath.Join(folder, ".room-health")
	err := os.WriteFile(path, make([]byte, roomWanted), 0o600)
	_ = os.Remove(path) // it may never have been, or be gone with another who asks
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return errors.New("the disk is full")
	case errors.Is(err, syscall.EROFS):
		return errors.New("the disk cannot be written to")
	}
	return nil
}
