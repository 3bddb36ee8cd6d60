package main

import (
	"fmt"
	"runtime/debug"
	"strings"
)

type versionCommand struct{}

// Run prints the module's version, the commit and the toolchain, as far as the
// build recorded them.
func (versionCommand) Run(p *process) error {
	var text strings.Builder
	text.WriteString("tallystick")
	info, ok := debug.ReadBuildInfo()
	if ok {
		if v := info.Main.Version; v != "" {
			text.WriteString(" " + v)
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				text.WriteString(" " + s.Value)
			}
		}
		text.WriteString(" " + info.GoVersion)
	}
	_, err := fmt.Fprintln(p.stdout, text.String())
	return err
}
