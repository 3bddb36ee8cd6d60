package main

import (
	"fmt"

	"tallystick/store"
)

type checkCommand struct {
	which
}

// Run prints a line a check, and exits with 1 when one found something.
func (c checkCommand) Run(p *process) error {
	files := c.files(p)
	if err := haveDatabase(files); err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s\n", files.Path)
	err := store.Audit(p.ctx, files, func(f store.Finding) {
		if f.Problem != nil {
			fmt.Fprintf(p.stdout, "WRONG  %s\n       %v\n", f.Check, f.Problem)
			return
		}
		if f.Later {
			fmt.Fprintf(p.stdout, "later  %s\n       when the next start has brought the database up to date\n", f.Check)
			return
		}
		fmt.Fprintf(p.stdout, "ok     %s\n", f.Check)
	})
	return unsound(err)
}

type vacuumCommand struct {
	which
}

// Run rebuilds the file without the room that deleted rows left.
func (c vacuumCommand) Run(p *process) (err error) {
	files := c.files(p)
	if err := haveDatabase(files); err != nil {
		return err
	}
	before, err := store.Size(files.Path)
	if err != nil {
		return err
	}
	s, err := store.Open(p.ctx, files)
	if err != nil {
		return err
	}
	err = s.Vacuum(p.ctx)
	if err := s.Close(); err != nil {
		return err
	}
	if err != nil {
		return err
	}
	after, err := store.Size(files.Path)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s: %s, before %s.\n", files.Path, sizeText(after), sizeText(before))
	return nil
}

// sizeText writes a number of bytes in MB.
func sizeText(bytes int64) string { return fmt.Sprintf("%.1f MB", float64(bytes)/1e6) }
