// Package console lets one person talk to the bot in a terminal. It reads lines,
// hands them over as requests and prints the replies; it decides nothing. Where
// there is no terminal on both sides it reads and prints plainly, so that a pipe
// or a script works the same.
package console

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/peterh/liner"

	"tallystick/commands"
)

// Config is what a console needs.
type Config struct {
	Set *commands.Set
	// Community and Member are who speaks.
	Community, Member, Locale string
	// Delivery makes a fresh id for each line.
	Delivery func() string
	Now      func() time.Time
	// Greeting is printed before the first prompt on a terminal.
	Greeting string
	// History is the file that keeps the typed lines; empty keeps none.
	History string
	// Pictures is the folder that pictures and files are saved in; empty saves none.
	Pictures string
	// Width wraps running text; 0 leaves it as it is.
	Width int
}

// Console is a talk in progress.
type Console struct {
	Config
	out   io.Writer
	worst commands.Outcome
	// next are the actions of the last reply, by number.
	next []commands.Action
	// ask puts one question and gives the answer; nil where nobody can be asked.
	ask func(prompt string) (string, error)
}

// Ask answers one line and returns the reply.
func Ask(ctx context.Context, cfg Config, line string) commands.Reply {
	path, options, mistake := cfg.Set.ParseLine(line)
	if mistake != nil {
		return commands.Reply{Private: true, Mistake: mistake}
	}
	if mistake := cfg.readFiles(path, options); mistake != nil {
		return commands.Reply{Private: true, Mistake: mistake}
	}
	return cfg.Set.Do(ctx, cfg.request(path, options))
}

func (cfg Config) request(path string, options map[string]string) commands.Request {
	return commands.Request{
		Delivery: cfg.Delivery(), Community: cfg.Community, Member: cfg.Member, Locale: cfg.Locale,
		Host: true, Path: path, Options: options, Time: cfg.Now(),
	}
}

// RunPlain answers every line of in and returns the worst outcome. Blank lines
// and lines beginning with # are passed over. A mistake does not end the run.
func RunPlain(ctx context.Context, cfg Config, in io.Reader, out io.Writer) (commands.Outcome, error) {
	c := &Console{Config: cfg, out: out, worst: commands.Answered}
	lines := bufio.NewScanner(in)
	lines.Buffer(make([]byte, 0, 4096), 4*commands.MaxLine)
	for lines.Scan() && ctx.Err() == nil {
		if c.line(ctx, lines.Text(), false) {
			break
		}
	}
	if err := lines.Err(); err != nil {
		return c.worst, fmt.Errorf("reading a line: %w", err)
	}
	return c.worst, nil
}

// RunTerminal prompts until the member leaves by quit, Ctrl-D or ctx.
func RunTerminal(ctx context.Context, cfg Config, out io.Writer) error {
	c := &Console{Config: cfg, out: out, worst: commands.Answered}
	prompt := liner.NewLiner()
	defer func() { _ = prompt.Close() }()
	prompt.SetCtrlCAborts(true)
	prompt.SetTabCompletionStyle(liner.TabPrints)
	prompt.SetWordCompleter(func(line string, pos int) (string, []string, string) {
		head, offers := c.complete(ctx, line[:pos])
		return head, offers, line[pos:]
	})
	c.ask = prompt.Prompt
	c.recall(prompt)
	fmt.Fprint(out, wrap(cfg.Greeting, cfg.Width))
	for ctx.Err() == nil {
		line, err := prompt.Prompt("tallystick> ")
		switch {
		case errors.Is(err, liner.ErrPromptAborted):
			continue // Ctrl-C drops the line
		case errors.Is(err, io.EOF):
			fmt.Fprintln(out)
			return nil
		case err != nil:
			return fmt.Errorf("reading the terminal: %w", err)
		}
		if strings.TrimSpace(line) != "" {
			prompt.AppendHistory(line)
			c.remember(prompt)
		}
		if c.line(ctx, line, true) {
			return nil
		}
	}
	return nil
}

// line answers one line; it reports whether the member is leaving.
func (c *Console) line(ctx context.Context, text string, terminal bool) (leave bool) {
	text = strings.TrimSpace(text)
	switch strings.TrimPrefix(strings.ToLower(text), "/") {
	case "":
		return false
	case "quit", "exit":
		return true
	}
	if strings.HasPrefix(text, "#") {
		return false
	}
	reply, left := c.reply(ctx, text)
	if left {
		fmt.Fprintln(c.out, "Left. Nothing was sent.")
		return false
	}
	c.note(reply.Outcome())
	c.next = reply.Actions
	c.print(reply, terminal)
	return false
}

// reply answers a typed line or a numbered action of the reply before. Where it
// wants to know more and somebody can be asked, it asks; left is true when the
// member left the form.
func (c *Console) reply(ctx context.Context, text string) (reply commands.Reply, left bool) {
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(c.next) {
		a := c.next[n-1]
		req := c.request(a.Path, a.Options)
		if a.Asks && c.ask != nil {
			return c.fill(ctx, req)
		}
		return c.Set.Do(ctx, req), false
	}
	path, options, mistake := c.Set.ParseLine(text)
	if mistake == nil && len(options) == 0 && c.ask != nil && c.asks(path) {
		return c.fill(ctx, c.request(path, options))
	}
	return Ask(ctx, c.Config, text), false
}

// Show prints a reply as text, saves what came with it, and says where.
func (cfg Config) Show(out io.Writer, reply commands.Reply) {
	fmt.Fprint(out, wrap(reply.Plain(), cfg.Width))
	if reply.Picture != nil && cfg.Pictures != "" {
		const failed = "The picture could not be saved; the tables above say the same."
		if file, err := reply.Picture.PNG(); err != nil {
			fmt.Fprintln(out, failed)
		} else {
			cfg.save(out, reply.Picture.Name, file, failed)
		}
	}
	if reply.File != nil {
		cfg.save(out, reply.File.Name, reply.File.Bytes, "The file could not be saved; look whether the disk is full, and ask again.")
	}
}

func (c *Console) print(reply commands.Reply, terminal bool) {
	actions := reply.Actions
	if terminal {
		reply.Actions = nil
	}
	c.Show(c.out, reply)
	if terminal {
		for i, a := range actions {
			fmt.Fprint(c.out, wrap(fmt.Sprintf("  %d  %s  (%s)\n", i+1, a.Label, a.Line()), c.Width))
		}
		if len(actions) > 0 {
			fmt.Fprintln(c.out, "Type a number to choose.")
		}
	}
	fmt.Fprintln(c.out)
}

// note keeps the worst outcome: a fault is worse than a mistake.
func (c *Console) note(o commands.Outcome) {
	if o == commands.WasFault || (o != commands.Answered && c.worst != commands.WasFault) {
		c.worst = o
	}
}

// recall and remember keep the typed lines in a file that only the member reads.
func (c *Console) recall(prompt *liner.State) {
	if c.History == "" {
		return
	}
	if f, err := os.Open(c.History); err == nil {
		_, _ = prompt.ReadHistory(f)
		_ = f.Close()
	}
}

func (c *Console) remember(prompt *liner.State) {
	if c.History == "" {
		return
	}
	f, err := os.OpenFile(c.History, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return // a lost history is no reason to stop answering
	}
	_, _ = prompt.WriteHistory(f)
	_ = f.Close()
}

// save writes a picture or a file where only the member reads it, and prints where
// it is.
func (cfg Config) save(out io.Writer, name string, content []byte, failed string) {
	if cfg.Pictures == "" {
		return
	}
	path := filepath.Join(cfg.Pictures, cfg.Now().UTC().Format("2006-01-02-150405-")+filepath.Base(name))
	err := os.MkdirAll(cfg.Pictures, 0o700)
	if err == nil {
		path, err = writeNew(path, content)
	}
	if err != nil {
		fmt.Fprintln(out, failed)
		return
	}
	fmt.Fprintln(out, "Saved as "+path)
}

// writeNew writes a file that is not there yet: of two in one second the later has
// a number before its name's ending.
func writeNew(path string, content []byte) (string, error) {
	ending := filepath.Ext(path)
	for n := 1; ; n++ {
		name := path
		if n > 1 {
			name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(path, ending), n, ending)
		}
		f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = f.Write(content)
		return name, errors.Join(err, f.Close())
	}
}
