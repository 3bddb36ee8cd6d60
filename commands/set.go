package commands

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"strings"
	"time"

	"tallystick/calc/measure"
)

// Set is a checked list of commands and the one door to them.
type Set struct {
	list      []Command
	byPath    map[string]*Command
	log       *slog.Logger
	reference func() string
	limits    *limits
	observe   func(Observed)
}

// An Observed is what is told of a request that has been answered, beside the log.
type Observed struct {
	// Path is the command's, or "" where there is no such command.
	Path    string
	Outcome Outcome
	Took    time.Duration
}

// Limit holds the members to limits from here on; a new set has none. It is called
// before the set is used.
func (s *Set) Limit(l Limits) { s.limits = newLimits(l) }

// Observe has every answered request told to f, which must not wait. It is called
// before the set is used.
func (s *Set) Observe(f func(Observed)) { s.observe = f }

// NewSet checks the definitions and refuses the first that is unsound.
// reference gives each fault its mark.
func NewSet(list []Command, log *slog.Logger, reference func() string) (*Set, error) {
	s := &Set{byPath: map[string]*Command{}, log: log, reference: reference, limits: newLimits(Limits{}), observe: func(Observed) {}}
	for _, c := range list {
		if c.Public {
			c.Options = append(slices.Clone(c.Options), publicOption)
		}
		if err := sound(c); err != nil {
			return nil, fmt.Errorf("command %q: %w", c.Path, err)
		}
		if _, twice := s.byPath[c.Path]; twice {
			return nil, fmt.Errorf("command %q is defined twice", c.Path)
		}
		s.byPath[c.Path] = &c
		s.list = append(s.list, c)
	}
	slices.SortFunc(s.list, func(a, b Command) int { return strings.Compare(a.Path, b.Path) })
	return s, nil
}

func sound(c Command) error {
	if c.Path == "" || c.Summary == "" || c.Run == nil || len(c.Examples) == 0 {
		return errors.New("wants a path, a summary, an example and a handler")
	}
	if len(c.Ask) > MaxFields || (len(c.Ask) > 0) != (c.FormTitle != "") {
		return fmt.Errorf("asks for %d options under the title %q: a form has a title and at most %d", len(c.Ask), c.FormTitle, MaxFields)
	}
	for _, name := range c.Ask {
		if _, ok := c.Option(name); !ok {
			return fmt.Errorf("asks for %q, which is no option", name)
		}
	}
	seen, optional := map[string]bool{}, false
	for _, o := range c.Options {
		switch {
		case o.Name == "" || o.Summary == "" || o.Kind == "" || o.Example == "":
			return fmt.Errorf("option %q wants a name, a summary, a kind and an example", o.Name)
		case seen[o.Name]:
			return fmt.Errorf("option %q is defined twice", o.Name)
		case o.Required && optional:
			return fmt.Errorf("required option %q comes after an optional one", o.Name)
		case len(o.Choices) > 0 && o.Complete != nil:
			return fmt.Errorf("option %q has both choices and completion", o.Name)
		}
		seen[o.Name] = true
		optional = optional || !o.Required
	}
	return nil
}

// Commands lists the definitions by path.
func (s *Set) Commands() []Command { return slices.Clone(s.list) }

// Command finds a definition by its path.
func (s *Set) Command(path string) (Command, bool) {
	if c, known := s.byPath[path]; known {
		return *c, true
	}
	return Command{}, false
}

// Do answers, always: an unknown command, a mistake, a refusal, a fault of ours
// and a panic each have a reply.
func (s *Set) Do(ctx context.Context, req Request) Reply {
	reply, note := s.Answer(ctx, req)
	note()
	return reply
}

// Answer is Do for who has the reply to send first: note writes down, in the log and
// for who observes, that it was given, and is called once afterwards.
func (s *Set) Answer(ctx context.Context, req Request) (reply Reply, note func()) {
	begun := time.Now()
	command, known := s.byPath[req.Path]
	path := ""
	if known {
		path = command.Path // never what was typed
	}
	defer func() {
		if p := recover(); p != nil {
			reply = s.fault(path, panicked(p))
		}
		note = s.noting(ctx, Observed{Path: path, Outcome: reply.Outcome(), Took: time.Since(begun)})
	}()
	return s.answer(ctx, req, command, begun), nil
}

func (s *Set) noting(ctx context.Context, seen Observed) func() {
	return func() {
		s.log.LogAttrs(ctx, slog.LevelInfo, "request", slog.String("command", seen.Path),
			slog.String("outcome", string(seen.Outcome)), slog.Duration("took", seen.Took))
		s.observe(seen)
	}
}

// Admit holds a request to the limits before it is answered, for who has costly work
// to do first. What it gives back is not counted again by Answer. refused is the reply
// to a request that has to wait, noted already, else nil.
func (s *Set) Admit(ctx context.Context, req Request) (admitted Request, refused *Reply) {
	begun := time.Now()
	if refused = s.limited(req, begun); refused != nil {
		command, _ := s.Command(req.Path)
		s.noting(ctx, Observed{Path: command.Path, Outcome: refused.Outcome(), Took: time.Since(begun)})()
	}
	req.admitted = true
	return req, refused
}

// limited is the reply to a request that has to wait, else nil.
func (s *Set) limited(req Request, now time.Time) *Reply {
	if req.admitted {
		return nil
	}
	if sentence := s.limits.refuse(req, now); sentence != "" {
		return &Reply{Private: true, Refusal: &Refusal{sentence}, Again: true}
	}
	return nil
}

func (s *Set) answer(ctx context.Context, req Request, command *Command, begun time.Time) Reply {
	if refused := s.limited(req, begun); refused != nil {
		return *refused
	}
	if command == nil {
		return Reply{Private: true, Mistake: s.unknown(req.Path)}
	}
	if command.HostOnly && !req.Host {
		return Reply{Private: true, Refusal: forHosts(command.Path)}
	}
	req.Options = chosen(command, req.Options)
	if m := s.check(command, req); m != nil {
		return Reply{Private: true, Mistake: m}
	}
	req.asked, req.command = command, command
	answer, err := command.Run(ctx, req)
	if err != nil {
		return s.failed(command, req, err)
	}
	if command.Public && req.Options["public"] == "yes" {
		answer.Private = false
	}
	return answer
}

func forHosts(path string) *Refusal {
	return &Refusal{"Only the host of this community may use /" + path + "."}
}

func panicked(p any) error { return fmt.Errorf("panic: %v", p) }

// Private tells, before there is a reply, whether a request's answer may be for
// the asker alone. Mistakes always are.
func (s *Set) Private(req Request) bool {
	c, known := s.byPath[req.Path]
	return !known || c.Private && !(c.Public && req.Options["public"] == "yes")
}

func (s *Set) failed(c *Command, req Request, err error) Reply {
	if m, ok := errors.AsType[*Mistake](err); ok {
		return Reply{Private: true, Mistake: m}
	}
	if input, ok := errors.AsType[*measure.InputError](err); ok {
		return Reply{Private: true, Mistake: blamed(c, req, input)}
	}
	if r, ok := errors.AsType[*Refusal](err); ok {
		return Reply{Private: true, Refusal: r}
	}
	if reply, was := s.unkept(c.Path, err); was {
		return reply
	}
	return s.fault(c.Path, err)
}

func (s *Set) fault(path string, err error) Reply {
	f := &Fault{Reference: s.reference()}
	s.log.Error("fault", "command", path, "reference", f.Reference, "cause", err)
	return Reply{Private: true, Fault: f}
}

func (s *Set) unknown(path string) *Mistake {
	m := &Mistake{Option: "command", Given: "/" + measure.Quote(path), Problem: "is not a command I know", Try: "/help"}
	if near, ok := closest(path, slices.Sorted(maps.Keys(s.byPath))); ok {
		m.Try = "/" + near
	}
	return m
}

// Suggest offers values for one option of a command, at most limit.
func (s *Set) Suggest(ctx context.Context, req Request, option, typed string, limit int) []Choice {
	command, ok := s.byPath[req.Path]
	if !ok || command.HostOnly && !req.Host || !s.limits.suggests(req, time.Now()) {
		return nil
	}
	o, ok := command.Option(option)
	if !ok {
		return nil
	}
	req.asked, req.command = noCommand, noCommand // a completion is for one option, whatever the others say
	var offered []Choice
	switch {
	case len(o.Choices) > 0:
		offered = matching(o.Choices, typed)
	case o.Complete != nil:
		var err error
		if offered, err = o.Complete(ctx, req, typed); err != nil {
			s.log.Error("completion failed", "command", command.Path, "option", o.Name, "cause", err)
			return nil
		}
	}
	return offered[:min(limit, len(offered))]
}
