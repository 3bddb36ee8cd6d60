package store

import (
	"errors"
	"os"
	"path/filepath"
)

// ErrOwn is a file that a database is at work with, in the place where another was to
// be made.
var ErrOwn = errors.New("it is a file that a database is at work with")

// Files are all files of the database, whether they are there or not.
func (c Config) Files() []string {
	files := []string{c.KeysPath, c.Path}
	for _, ending := range []string{"-wal", "-shm", "-journal", ".seal", ".sums", ".sums-new", ".lock"} {
		files = append(files, c.Path+ending)
	}
	return files
}

// Owns says whether a path, by whatever name, leads to one of the files of the database.
func (c Config) Owns(path string) bool {
	for _, file := range c.Files() {
		if oneFile(path, file) {
			return true
		}
	}
	return false
}

// oneFile says whether two paths are of one file, be it there or still to be made.
func oneFile(a, b string) bool {
	one, err := os.Stat(a)
	other, problem := os.Stat(b)
	if err == nil && problem == nil {
		return os.SameFile(one, other)
	}
	return err != nil && problem != nil && placed(a) == placed(b)
}

// placed gives the path of a file in the folder that it is in, past all links.
func placed(path string) string {
	folder := filepath.Dir(path)
	if whole, err := filepath.Abs(folder); err == nil {
		folder = whole
	}
	if past, err := filepath.EvalSymlinks(folder); err == nil {
		folder = past
	}
	return filepath.Join(folder, filepath.Base(path))
}
