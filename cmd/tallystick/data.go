package main

import (
	"errors"
	"path/filepath"

	"tallystick/store"
)

// server is the name of the database of a server's members.
const server = "server"

// which are the flags that choose a database; the server's is the usual one.
type which struct {
	Own      bool `help:"The database of 'console --own' instead of the server's." xor:"which"`
	Practice bool `help:"The database of the practice community instead of the server's." xor:"which"`
}

// files are those of the database chosen.
func (w which) files(p *process) store.Config {
	name := server
	switch {
	case w.Own:
		name = own
	case w.Practice:
		name = practice
	}
	files := p.files(name)
	files.Notice = p.note
	return files
}

// files are those of a database of the data folder.
func (p *process) files(name string) store.Config {
	return store.Config{
		Path:     filepath.Join(p.settings.Data, name+".db"),
		KeysPath: filepath.Join(p.settings.Data, name+".keys"),
		Lost: func(cause error) {
			p.log.Error("the database is damaged; stop the program and put back a backup", "cause", cause)
		},
		Notice: func(text string) { p.log.Warn(text, "database", name) },
	}
}

// unsound is the exit code of a check that found something.
func unsound(err error) error {
	if errors.Is(err, store.ErrUnsound) {
		return outcome(exitFault)
	}
	return err
}
