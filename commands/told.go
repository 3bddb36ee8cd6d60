package commands

import (
	"errors"

	"tallystick/calc/measure"
)

// told puts the option it is about to what calc refused after all options were read.
func (in *reading) told(err error, name string) error {
	input, ok := errors.AsType[*measure.InputError](err)
	if !ok {
		return err
	}
	o, _ := in.req.command.Option(name)
	m := mistakeOf(o, input)
	m.Given = measure.Quote(in.req.Options[name])
	return m
}
