package main

import (
	_ "embed" // for the unit
	"fmt"
)

//go:embed tallystick.service
var unitFile string

type unitCommand struct{}

// Run prints the unit.
func (unitCommand) Run(p *process) error {
	_, err := fmt.Fprint(p.stdout, unitFile)
	return err
}
