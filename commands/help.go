package commands

import (
	"context"
	"strings"

	"tallystick/calc/measure"
)

// help is made from the list that it is in itself.
func help(list *[]Command) Command {
	return Command{
		Path:    "help",
		Summary: "what I can do, or how one command is used",
		Private: true,
		Options: []Option{{
			Name: "command", Summary: "the command to explain", Kind: Word, Example: "price",
			Complete: func(_ context.Context, _ Request, typed string) ([]Choice, error) {
				var all []Choice
				for _, c := range *list {
					all = append(all, Choice{Value: c.Path, Label: c.Path})
				}
				return matching(all, typed), nil
			},
		}},
		Examples: []string{"/help", "/help command:price"},
		Run: func(_ context.Context, req Request) (Reply, error) {
			asked := strings.ToLower(strings.Join(strings.Fields(strings.TrimPrefix(req.Options["command"], "/")), " "))
			if asked == "" {
				return overview(*list), nil
			}
			var paths []string
			for _, c := range *list {
				if c.Path == asked {
					return usage(c), nil
				}
				paths = append(paths, c.Path)
			}
			m := &Mistake{Option: "command", Given: measure.Quote(asked), Problem: "is not a command I know", Try: "/help"}
			if near, ok := closest(asked, paths); ok {
				m.Try = "/help command:" + near
			}
			return Reply{}, m
		},
	}
}

func overview(list []Command) Reply {
	t := Table{Columns: []string{"command", "what it tells you"}}
	for _, c := range list {
		t.Rows = append(t.Rows, []string{"/" + c.Path, c.Summary})
	}
	return Reply{
		Title:   "What I can do",
		Private: true,
		Tables:  []Table{t},
		Notes: []string{
			"A finished line looks like this: " + list[0].Examples[0],
			"Options and examples of one command: /help command:price",
		},
	}
}

func usage(c Command) Reply {
	reply := Reply{Title: "/" + c.Path, Private: true, Notes: []string{capital(c.Summary) + "."}}
	if len(c.Options) > 0 {
		t := Table{Title: "Options", Columns: []string{"option", "takes", "for"}}
		for _, o := range c.Options {
			meaning := o.Summary
			if o.Required {
				meaning += " (needed)"
			}
			t.Rows = append(t.Rows, []string{o.Name + ":", string(o.Kind), meaning})
		}
		reply.Tables = []Table{t}
	}
	for _, e := range c.Examples {
		reply.Notes = append(reply.Notes, "Example: "+e)
	}
	return reply
}

func capital(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// Markdown is the command table as the README shows it.
func (s *Set) Markdown() string {
	var b strings.Builder
	b.WriteString("| command | what it tells you | options |\n| --- | --- | --- |\n")
	for _, c := range s.list {
		names := make([]string, len(c.Options))
		for i, o := range c.Options {
			names[i] = "`" + o.Name + ":`"
		}
		b.WriteString("| `/" + c.Path + "` | " + c.Summary + " | " + strings.Join(names, " ") + " |\n")
	}
	return b.String()
}
