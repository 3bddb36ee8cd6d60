package console

import (
	"io"
	"os"
	"path/filepath"
	"strings"

	"tallystick/commands"
)

// readFiles puts what is in a file in place of its name, where an option takes a
// file and its value begins with @: json:@job-sheets.json. No more is read than the
// option takes, and a byte beyond, so that it is found to be too long.
func (cfg Config) readFiles(path string, options map[string]string) *commands.Mistake {
	for _, c := range cfg.Set.Commands() {
		if c.Path != path {
			continue
		}
		for _, o := range c.Options {
			name, named := strings.CutPrefix(options[o.Name], "@")
			if o.Kind != commands.FileText || !named {
				continue
			}
			text, err := readFile(name, int64(4*o.Limit()+1))
			if err != nil {
				return &commands.Mistake{Option: o.Name, Given: shortName(name), Problem: "is not a file that I can read", Try: "@ and the file's name"}
			}
			options[o.Name] = text
		}
	}
	return nil
}

func readFile(name string, most int64) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	text, err := io.ReadAll(io.LimitReader(f, most))
	if closed := f.Close(); err == nil {
		err = closed
	}
	return strings.TrimSpace(string(text)), err
}

// shortName is the end of a path, cut for repeating.
func shortName(name string) string {
	const shown = 32
	if r := []rune(filepath.Base(name)); len(r) > shown {
		return string(r[:shown]) + "…"
	}
	return filepath.Base(name)
}
