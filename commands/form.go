package commands

import (
	"context"
	"maps"
	"strings"
	"time"
)

// Form asks for several values of one command at once. What is filled in becomes
// a request to Path with Options beside it.
type Form struct {
	Title string `json:"title"`
	Path  string `json:"path"`
	// Options are settled already and not asked for.
	Options map[string]string `json:"options"`
	// Fields are one to MaxFields.
	Fields []Field `json:"fields"`
}

// Field is one value of a form.
type Field struct {
	// Option is the option's name in the request.
	Option string `json:"option"`
	Label  string `json:"label"`
	// Summary says what it is, in a phrase that stands in the label's place where
	// there is room for it.
	Summary string `json:"summary"`
	// Value stands in the field already.
	Value string `json:"value"`
	// Example is a value that works.
	Example   string `json:"example"`
	Required  bool   `json:"required"`
	MaxLength int    `json:"max_length"`
}

// MaxFields is how many fields a form may have: what the platform shows at once.
const MaxFields = 5

// Form makes the form of a command: the options that Command.Ask lists, filled in
// from the request and from Command.Prefill. Where there is none, the reply says
// why and form is nil.
func (s *Set) Form(ctx context.Context, req Request) (form *Form, reply Reply) {
	command, known := s.byPath[req.Path]
	if !known || len(command.Ask) == 0 {
		return nil, Reply{Private: true, Mistake: s.unknown(req.Path)}
	}
	if command.HostOnly && !req.Host {
		return nil, Reply{Private: true, Refusal: forHosts(command.Path)}
	}
	if refused := s.limited(req, time.Now()); refused != nil {
		return nil, *refused
	}
	req.asked, req.command = command, command
	settled := map[string]string{}
	maps.Copy(settled, req.Options)
	values := maps.Clone(req.Options)
	if command.Prefill != nil {
		filled, err := s.prefill(ctx, command, req)
		if err != nil {
			return nil, s.failed(command, req, err)
		}
		// What the request says of a field was typed, and wins.
		values = map[string]string{}
		maps.Copy(values, filled)
		maps.Copy(values, req.Options)
	}
	form = &Form{Title: capital(command.FormTitle), Path: command.Path, Options: settled}
	for _, name := range command.Ask {
		o, _ := command.Option(name)
		delete(settled, name)
		form.Fields = append(form.Fields, Field{Option: name, Label: capital(strings.ReplaceAll(name, "-", " ")), Summary: capital(o.Summary),
			Value: values[name], Example: o.Example, Required: o.Required, MaxLength: o.Limit()})
	}
	return form, Reply{}
}

// prefill keeps a panic of a command's own from ending the process.
func (s *Set) prefill(ctx context.Context, c *Command, req Request) (values map[string]string, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = panicked(p)
		}
	}()
	return c.Prefill(ctx, req)
}
