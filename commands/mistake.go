package commands

import (
	"cmp"
	"errors"
	"strings"

	"tallystick/calc/measure"
)

// Mistake is something the asker can put right: one option, what was given, what
// is wrong with it, and a value that works.
type Mistake struct {
	// Option is the option's name, or "command" when the command itself is meant.
	Option string `json:"option"`
	// Given is the text as typed, cut for repeating.
	Given string `json:"given"`
	// Problem completes the sentence that begins with the quoted text.
	Problem string `json:"problem"`
	// Try is a value, or two joined by "or", that works.
	Try string `json:"try"`
}

// Error is the sentence people read.
func (m *Mistake) Error() string {
	var b strings.Builder
	if m.Option != "" && m.Option != "command" {
		b.WriteString(m.Option + ": ")
	}
	if m.Given != "" {
		b.WriteString("\"" + m.Given + "\" ")
	}
	b.WriteString(m.Problem + ".")
	if m.Try != "" {
		b.WriteString(" Try " + m.Try + ".")
	}
	return b.String()
}

// mistaken puts the option's name to what a parser of calc refused. A try that
// the parser did not give is taken from the option's own example.
func mistaken(option Option, err error) error {
	input, ok := errors.AsType[*measure.InputError](err)
	if !ok {
		return err
	}
	return mistakeOf(option, input)
}

func mistakeOf(option Option, input *measure.InputError) *Mistake {
	m := &Mistake{Option: option.Name, Given: measure.Quote(input.Value), Problem: input.Problem, Try: input.Hint}
	if m.Try == "" {
		m.Try = option.Example
	}
	return m
}

// blamed puts a name to what calc refused after the options were read: that of the
// option that says it, else the command's, for what came out of several.
func blamed(c *Command, req Request, input *measure.InputError) *Mistake {
	for _, o := range c.Options {
		if text := req.Options[o.Name]; text != "" && strings.TrimSpace(text) == strings.TrimSpace(input.Value) {
			return mistakeOf(o, input)
		}
	}
	return &Mistake{Option: "command", Problem: "What comes out, \"" + measure.Quote(input.Value) + "\", " + input.Problem, Try: cmp.Or(input.Hint, c.Examples[0])}
}

// Refusal is a request that was understood and is not allowed, or not now.
type Refusal struct {
	Sentence string `json:"sentence"`
}

// Error makes a refusal an error that handlers return.
func (r *Refusal) Error() string { return r.Sentence }
