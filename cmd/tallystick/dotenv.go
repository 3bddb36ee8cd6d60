package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/hashicorp/go-envparse"
)

// readDotEnv reads the file .env, if there is one. Nobody names it, so one in a
// folder that this user may not look into is as if there were none: whoever starts
// the program by sudo or cron often stands in somebody else's home.
func readDotEnv(path string, problems *settingsError) map[string]string {
	text, err := os.ReadFile(path)
	if err != nil {
		if _, look := os.Lstat(path); errors.Is(look, fs.ErrNotExist) || errors.Is(look, fs.ErrPermission) {
			return nil
		}
		problems.add("the file %q cannot be read: %v", whole(path), because(err))
		return nil
	}
	set, err := envparse.Parse(bytes.NewReader(text))
	if err != nil { // its text may hold part of a secret
		problems.add("the file %q cannot be read: a line is not NAME=value", whole(path))
	}
	return set
}

// whole is a path from the root, where that can be told.
func whole(path string) string {
	if from, err := filepath.Abs(path); err == nil {
		return from
	}
	return path
}
