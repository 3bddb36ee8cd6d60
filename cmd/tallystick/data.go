package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

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

// haveFolder makes the data folder, or says why there can be none.
func (p *process) haveFolder() error {
	folder := p.settings.Data
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return &settingsError{[]string{fmt.Sprintf("TALLYSTICK_DATA: there can be no folder %q: %v. Try a folder that you may write to", folder, because(err))}}
	}
	return nil
}

// haveDatabase says that there is no database, where there is none.
func haveDatabase(files store.Config) error {
	if err := haveFile(files.Path); err != nil {
		return &settingsError{[]string{fmt.Sprintf("there is no database %q: %v. TALLYSTICK_DATA names its folder", files.Path, err)}}
	}
	return nil
}

// haveFile gives why there is no file of a name, in the system's words.
func haveFile(path string) error {
	info, err := os.Stat(path)
	if err == nil && info.IsDir() {
		err = syscall.EISDIR
	}
	return because(err)
}

// because is what the system says, without the call and the path.
func because(err error) error {
	if in, ok := errors.AsType[*fs.PathError](err); ok {
		return in.Err
	}
	return err
}

// unsound is the exit code of a check that found something.
func unsound(err error) error {
	if errors.Is(err, store.ErrUnsound) {
		return outcome(exitFault)
	}
	return err
}
