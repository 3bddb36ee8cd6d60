package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"tallystick/store"
)

type backupCommand struct {
	which
	Force bool   `help:"Write over a file that is there."`
	File  string `arg:"" help:"The file to write, such as /mnt/backup/tallystick.db."`
}

// Run copies the database while it is in use, and looks at the copy before it gets
// its name.
func (c backupCommand) Run(p *process) error {
	for _, name := range []string{server, own, practice} {
		if p.files(name).Owns(c.File) {
			return &settingsError{[]string{fmt.Sprintf("%q is a file that tallystick works with; name another for the backup, such as /mnt/backup/tallystick.db", c.File)}}
		}
	}
	if err := aFile("there can be no backup", c.File); err != nil {
		return err
	}
	files := c.files(p)
	if err := haveDatabase(files); err != nil {
		return err
	}
	if folder, err := os.Stat(filepath.Dir(c.File)); err != nil || !folder.IsDir() {
		return &settingsError{[]string{fmt.Sprintf("there is no folder %q to write a backup to. Make it first, or try another", filepath.Dir(c.File))}}
	}
	told := -1
	err := store.Backup(p.ctx, files, c.File, c.Force, func(done, all int) {
		if tenth := 10 * done / max(all, 1); tenth > told {
			told = tenth
			fmt.Fprintf(p.stderr, "%d %% of %d pages copied\n", 10*tenth, all)
		}
	})
	if errors.Is(err, store.ErrThere) {
		return &settingsError{[]string{fmt.Sprintf("there is a file %q already; choose another name, or write over it with --force", c.File)}}
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s: backed up and checked. Keep %s beside it: it tells whether the copy is still whole.\n"+
		"The keys are not in it. Back them up too, in another place: %s\n", c.File, c.File+".seal", files.KeysPath)
	return nil
}

// aFile refuses a path at which something is that is no file.
func aFile(problem, path string) error {
	info, err := os.Stat(path)
	if err != nil || info.Mode().IsRegular() {
		return nil
	}
	is, works := "not a file", "/mnt/backup/tallystick.db"
	if info.IsDir() {
		is, works = "a folder", filepath.Join(path, "tallystick.db")
	}
	return &settingsError{[]string{fmt.Sprintf("%s %q: that is %s; name a file, such as %s", problem, path, is, works)}}
}

// note says in the terminal what would stand in the log of serve.
func (p *process) note(text string) { fmt.Fprintf(p.stderr, "tallystick: %s.\n", text) }

type restoreCommand struct {
	which
	File string `arg:"" help:"The backup to restore from."`
}

// Run puts a backup where there is no database yet.
func (c restoreCommand) Run(p *process) error {
	if err := aFile("there is no backup", c.File); err != nil {
		return err
	}
	files := c.files(p)
	if err := haveFile(c.File); err != nil {
		return &settingsError{[]string{fmt.Sprintf("there is no backup %q: %v. Try the file that backup wrote", c.File, err)}}
	}
	if err := p.haveFolder(); err != nil {
		return err
	}
	keys, err := store.Restore(p.ctx, files, c.File)
	if errors.Is(err, store.ErrThere) {
		return fmt.Errorf("%w; a backup is restored where there is no database: "+
			"end the program that uses it and move %s and %s away first", err, files.Path, files.Path+"-wal")
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s: checked and restored.\n", files.Path)
	if keys != nil {
		fmt.Fprintf(p.stdout, "Its key file is not there. Put it back before you start: %s\n", files.KeysPath)
	}
	return nil
}
