package console

import (
	"context"
	"fmt"
	"maps"
	"strings"

	"tallystick/commands"
)

// empties is what is typed to empty a field that has a value.
const empties = "-"

// asks reports whether a command has a form.
func (c *Console) asks(path string) bool {
	for _, command := range c.Set.Commands() {
		if command.Path == path {
			return len(command.Ask) > 0
		}
	}
	return false
}

// fill asks a form's fields one at a time and makes the request of what was said.
// left is true when the member left the form by Ctrl-C or Ctrl-D.
func (c *Console) fill(ctx context.Context, req commands.Request) (reply commands.Reply, left bool) {
	form, reply := c.Set.Form(ctx, req)
	if form == nil {
		return reply, false
	}
	fmt.Fprintln(c.out, form.Title)
	fmt.Fprint(c.out, wrap("Enter alone keeps what stands there, "+empties+" empties it, Ctrl-C leaves.\n", c.Width))
	options := maps.Clone(form.Options)
	if options == nil {
		options = map[string]string{}
	}
	for _, f := range form.Fields {
		fmt.Fprint(c.out, wrap(describe(f), c.Width))
		said, err := c.ask("  " + f.Option + "> ")
		if err != nil || ctx.Err() != nil {
			return commands.Reply{}, true
		}
		switch said = strings.TrimSpace(said); said {
		case "":
			said = f.Value
		case empties:
			said = ""
		}
		// An empty field is said too: it takes back what stood there.
		if said != "" || f.Value != "" {
			options[f.Option] = said
		}
	}
	return c.Set.Do(ctx, c.request(form.Path, options)), false
}

// describe is a field with its present value and an example.
func describe(f commands.Field) string {
	text := f.Label
	if f.Required {
		text += " (needed)"
	}
	if f.Value != "" {
		text += ", now: " + f.Value
	}
	return text + ". For example: " + f.Example + "\n"
}
