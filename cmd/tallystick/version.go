package main

import (
	"fmt"
	"runtime/debug"
)

type versionCommand struct{}

// Run prints the module's version, the commit and the toolchain, as far as the
// build recorded them.
func (versionCommand) Run(p *process) error {
	text := "tallystick"
	info, ok := debug.ReadBuildInfo()
	if ok {
		if v := info.Main.Version; v != "" {
			text += " " + v
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				text += " " + s.Value
			}
		}
		text += " " + info.GoVersion
	}
	_, err := fmt.Fprintln(p.stdout, text)
	return err
}
