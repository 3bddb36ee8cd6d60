package commands

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"tallystick/calc/measure"
)

// check holds what can be said of options without knowing what they mean.
func (s *Set) check(c *Command, req Request) *Mistake {
	if name, ok := c.firstUnknown(req.Options); ok {
		return s.unknownOption(c, name)
	}
	for i := range c.Options {
		o := &c.Options[i]
		text, given := req.Options[o.Name]
		if o.Required && strings.TrimSpace(text) == "" {
			return &Mistake{Option: o.Name, Problem: "is needed: " + o.Summary, Try: o.Name + ":" + o.Example}
		}
		if !given {
			continue
		}
		if n := utf8.RuneCountInString(text); n > o.Limit() {
			return &Mistake{Option: o.Name, Given: measure.Quote(text),
				Problem: fmt.Sprintf("is %d characters long and I read at most %d", n, o.Limit()), Try: o.Example}
		}
		if len(o.Choices) > 0 && !o.choice(text) {
			return &Mistake{Option: o.Name, Given: measure.Quote(text), Problem: "is not one of the choices", Try: choicesOf(o)}
		}
	}
	return nil
}

// firstUnknown is the first by name of the options that the command has not.
func (c *Command) firstUnknown(typed map[string]string) (first string, found bool) {
	for name := range typed {
		if !c.has(name) && (!found || name < first) {
			first, found = name, true
		}
	}
	return first, found
}

func (c *Command) has(option string) bool {
	for i := range c.Options {
		if c.Options[i].Name == option {
			return true
		}
	}
	return false
}

// chosen takes a choice by the words shown for it too, and in either case.
func chosen(c *Command, typed map[string]string) map[string]string {
	for i := range c.Options {
		o := &c.Options[i]
		if len(o.Choices) == 0 {
			continue
		}
		text := strings.TrimSpace(typed[o.Name])
		if text == "" || o.choice(typed[o.Name]) {
			continue
		}
		for _, ch := range o.Choices {
			if strings.EqualFold(ch.Value, text) || strings.EqualFold(ch.Label, text) {
				typed = maps.Clone(typed)
				typed[o.Name] = ch.Value
				break
			}
		}
	}
	return typed
}

func (o *Option) choice(text string) bool {
	return slices.ContainsFunc(o.Choices, func(ch Choice) bool { return ch.Value == text })
}

func choicesOf(o *Option) string {
	values := make([]string, len(o.Choices))
	for i, ch := range o.Choices {
		values[i] = ch.Value
	}
	return strings.Join(values, " or ")
}

func (s *Set) unknownOption(c *Command, name string) *Mistake {
	names := make([]string, len(c.Options))
	for i, o := range c.Options {
		names[i] = o.Name
	}
	m := &Mistake{Option: measure.Quote(name), Problem: "is not an option of /" + c.Path, Try: "/help command:" + c.Path}
	if near, ok := closest(name, names); ok {
		m.Try = near + ":"
	} else if len(names) > 0 {
		m.Try = strings.Join(names, ":, ") + ":"
	}
	return m
}
