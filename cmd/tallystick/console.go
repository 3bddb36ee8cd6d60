package main

import (
	"os"
	"path/filepath"

	"golang.org/x/term"

	"tallystick/bot/console"
)

type consoleCommand struct {
	Own bool `help:"Work alone, in an empty community of your own, instead of the practice community."`
}

const (
	practiceGreeting = "tallystick, practice community. Every sale in its log is invented, so that each command has something to show. Your own, empty one: tallystick console --own.\n" +
		"Try: /charge about:hall bench 48x14x18 elm, 14h15, 84 materials + 11.50 glue and oil, want 25/h, shop takes 30%\n" +
		"/help lists what I can do, the tab key completes, quit leaves.\n\n"
	ownGreeting = "tallystick, your own community: what you put here stays on this machine.\n" +
		"/help lists what I can do, the tab key completes, quit leaves.\n\n"
)

// Run talks until the line ends. Without a terminal on both sides it reads and
// prints plainly, and the exit code tells the worst that happened.
func (c *consoleCommand) Run(p *process) error {
	r, cfg, err := p.openConsole(c.Own)
	if err != nil {
		return err
	}
	defer func() { _ = r.store.Close() }()
	_, typed := isTerminal(p.stdin)
	screen, shown := isTerminal(p.stdout)
	if !typed || !shown {
		worst, err := console.RunPlain(p.ctx, cfg, p.stdin, p.stdout)
		if err != nil {
			return err
		}
		return ended(worst)
	}
	cfg.Greeting = practiceGreeting
	if c.Own {
		cfg.Greeting = ownGreeting
	}
	cfg.History = filepath.Join(p.settings.Data, "history")
	cfg.Width = width(screen)
	return console.RunTerminal(p.ctx, cfg, p.stdout)
}

func terminal(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }

// width is how wide running text may be: the screen, but never a line too long
// to read.
func width(screen *os.File) int {
	columns, _, err := term.GetSize(int(screen.Fd()))
	if err != nil || columns <= 0 {
		return 80
	}
	return min(columns, 100)
}
