package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"

	"github.com/alecthomas/kong"

	"tallystick/commands"
	"tallystick/store"
)

// Exit codes. tallystick.service goes by them: after exitFault it starts the program
// again, after exitMistake it leaves that to the host.
const (
	exitAnswered = 0
	exitFault    = 1
	exitMistake  = 2
)

// arguments are the sub-commands and their flags.
type arguments struct {
	Console  consoleCommand  `cmd:"" default:"withargs" help:"Ask in this terminal, line by line (the default)."`
	Ask      askCommand      `cmd:"" help:"Answer one line and end."`
	Serve    serveCommand    `cmd:"" help:"Answer the members of a Discord server."`
	Register registerCommand `cmd:"" help:"Tell Discord which commands there are; serve does it too."`
	Backup   backupCommand   `cmd:"" help:"Copy the database to a file, also while it is in use."`
	Restore  restoreCommand  `cmd:"" help:"Put a backup where there is no database."`
	Check    checkCommand    `cmd:"" help:"Look whether the database is sound."`
	Vacuum   vacuumCommand   `cmd:"" help:"Rebuild the database without the room that deleted rows left."`
	Erase    eraseCommand    `cmd:"" help:"Erase what is kept of one server's members, or of all, for closing down."`
	Unit     unitCommand     `cmd:"" help:"Print a systemd unit to serve by."`
	Version  versionCommand  `cmd:"" help:"Say which version this is."`
}

// process is what a sub-command has to work with.
type process struct {
	ctx      context.Context
	settings settings
	stdin    io.Reader
	stdout   io.Writer
	stderr   io.Writer
	log      *slog.Logger
}

// outcome carries an exit code that is no failure of ours.
type outcome int

func (o outcome) Error() string { return fmt.Sprintf("exit code %d", int(o)) }

func run(ctx context.Context, args, environ []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	var parsed arguments
	ended := -1
	parser, err := kong.New(&parsed, kong.Name("tallystick"),
		kong.Description("What to charge, what your stock yields, and what such pieces sell for around here."),
		kong.Writers(stdout, stderr), kong.Exit(func(c int) { ended = c }))
	if err != nil {
		fmt.Fprintln(stderr, err)
		return exitFault
	}
	chosen, err := parser.Parse(args)
	if ended >= 0 { // --help has been printed
		return ended
	}
	if err != nil {
		fmt.Fprintf(stderr, "tallystick: %v. Try tallystick --help.\n", err)
		return exitMistake
	}
	set, err := readSettings(environ, ".env")
	if err != nil {
		fmt.Fprintf(stderr, "tallystick: %v\n", err)
		return exitMistake
	}
	usual := slog.LevelError // a line a request would stand between the answers
	if chosen.Command() == "serve" {
		usual = slog.LevelInfo
	}
	p := &process{ctx: ctx, settings: set, stdin: stdin, stdout: stdout, stderr: stderr, log: set.logger(stderr, usual)}
	for _, sentence := range set.unknown {
		if chosen.Command() == "serve" {
			p.log.Warn(sentence)
		} else {
			fmt.Fprintf(stderr, "tallystick: %s\n", sentence)
		}
	}
	return exitCode(chosen.Run(p), stderr)
}

func exitCode(err error, stderr io.Writer) int {
	if err == nil {
		return exitAnswered
	}
	if o, ok := errors.AsType[outcome](err); ok {
		return int(o)
	}
	fmt.Fprintf(stderr, "tallystick: %v\n", err)
	_, settings := errors.AsType[*settingsError](err)
	_, opening := errors.AsType[*store.OpenError](err)
	_, serving := errors.AsType[hopelessError](err)
	if settings || opening || serving || errors.Is(err, store.ErrThere) || errors.Is(err, fs.ErrPermission) {
		return exitMistake
	}
	return exitFault
}

// ended turns a reply's outcome into the process's.
func ended(o commands.Outcome) error {
	switch o {
	case commands.Answered:
		return nil
	case commands.WasFault:
		return outcome(exitFault)
	}
	return outcome(exitMistake)
}

// isTerminal is true for a file that a person sits at.
func isTerminal(stream any) (*os.File, bool) {
	f, ok := stream.(*os.File)
	return f, ok && terminal(f)
}
