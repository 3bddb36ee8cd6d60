package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"tallystick/bot/discord"
	"tallystick/commands"
	"tallystick/store"
)

type registerCommand struct {
	DryRun bool `help:"Only say what would change."`
}

// Run compares the commands with those the platform has, says what differs, and
// sends it. Members' data is not touched: the commands are built over an empty
// database of their own.
func (c registerCommand) Run(p *process) error {
	config, err := p.discord(nil)
	if err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "tallystick-")
	if err != nil {
		return fmt.Errorf("making a folder for the moment: %w", err)
	}
	defer func() { _ = os.RemoveAll(folder) }()
	aside := *p
	aside.settings.Data = folder
	r, err := aside.open("register", store.Community{Currency: p.settings.Currency, Categories: usualCategories})
	if err != nil {
		return err
	}
	defer func() { _ = r.store.Close() }()
	config.Set = r.set
	changes, err := discord.Register(p.ctx, config, c.DryRun)
	if _, token := errors.AsType[discord.TokenError](err); token {
		return hopelessError{err}
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(p.stdout, c.told(changes, r.set))
	return err
}

// told is what changes, a line a command, and what came of it.
func (c registerCommand) told(changes []discord.Change, set *commands.Set) string {
	if len(changes) == 0 {
		return fmt.Sprintf("Nothing to change: all commands are registered as they are (%d paths).\n", len(set.Commands()))
	}
	var b strings.Builder
	for _, change := range changes {
		fmt.Fprintf(&b, "%-8s /%s\n", change.What, change.Command)
	}
	number := fmt.Sprintf("%d commands", len(changes))
	if len(changes) == 1 {
		number = "1 command"
	}
	if c.DryRun {
		b.WriteString(number + " would change. Nothing was sent.\n")
	} else {
		b.WriteString(number + " sent.\n")
	}
	return b.String()
}
