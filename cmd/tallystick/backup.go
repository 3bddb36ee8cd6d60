package main

import (
	"errors"
	"fmt"
	"io/fs"
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
	if err := aFile(c.File); err != nil {
		return err
	}
	files := c.files(p)
	files.Notice = p.note
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

// aFile refuses what is there and is no file, and a file in a folder that is not there.
func aFile(path string) error {
	problem := ""
	info, err := os.Stat(path)
	folder, missing := os.Stat(filepath.Dir(path))
	switch {
	case err == nil && info.IsDir():
		problem = fmt.Sprintf("%q is a folder; name the file, such as %s", path, filepath.Join(path, "tallystick.db"))
	case err == nil && !info.Mode().IsRegular():
		problem = fmt.Sprintf("%q is not a file; name one, such as /mnt/backup/tallystick.db", path)
	case errors.Is(missing, fs.ErrNotExist), missing == nil && !folder.IsDir():
		problem = fmt.Sprintf("there is no folder %q; make it, or name a file in another, such as /mnt/backup/tallystick.db", filepath.Dir(path))
	default:
		return nil
	}
	return &settingsError{[]string{problem}}
}

// note says in the terminal what else would stand in the log.
func (p *process) note(text string) { fmt.Fprintf(p.stderr, "tallystick: %s.\n", text) }

type restoreCommand struct {
	which
	File string `arg:"" help:"The backup to restore from."`
}

// Run puts a backup where there is no database yet.
func (c restoreCommand) Run(p *process) error {
	if err := aFile(c.File); err != nil {
		return err
	}
	files := c.files(p)
	files.Notice = p.note
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
