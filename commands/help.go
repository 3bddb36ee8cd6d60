package commands

import (
	"context"
	"strings"
	"unicode"
	"unicode/utf8"

	"tallystick/calc/measure"
)

// help is made from the list that it is in itself.
func (h house) help(list *[]Command) Command {
	return Command{
		Path:    "help",
		Summary: "what I can do, by task or by command",
		Private: true,
		Options: []Option{{
			Name: "task", Summary: "what you want to get done", Kind: Word, Example: "what-to-ask", Choices: taskChoices(),
		}, {
			Name: "command", Summary: "the command to explain", Kind: Word, Example: "price",
			Complete: func(_ context.Context, _ Request, typed string) ([]Choice, error) {
				var all []Choice
				for _, c := range *list {
					all = append(all, Choice{Value: c.Path, Label: c.Path})
				}
				return matching(all, typed), nil
			},
		}},
		Examples: []string{"/help", "/help task:what-to-ask", "/help command:price"},
		Run: func(ctx context.Context, req Request) (Reply, error) {
			ours := h.ownExamples(ctx, req)
			if task, known := taskCalled(req.Options["task"]); known {
				if !blank(req.Options["command"]) {
					return Reply{}, &Mistake{Option: "command", Given: measure.Quote(req.Options["command"]), Problem: "and a task are two questions", Try: "one of the two"}
				}
				return task.reply(*list, ours), nil
			}
			asked := strings.ToLower(strings.Join(strings.Fields(strings.TrimPrefix(req.Options["command"], "/")), " "))
			if asked == "" {
				return overview(*list, ours), nil
			}
			var paths []string
			for _, c := range *list {
				if c.Path == asked {
					return usage(c, ours), nil
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

// examples write a command's example in the member's own system.
type examples func(example string) string

// ownExamples gives who measures in millimetres the one example whose numbers are
// bare, as people write them, in those; all others have their units in them. Help is
// there without a database too, in the community's own way.
func (h house) ownExamples(ctx context.Context, req Request) examples {
	bare := h.Bare
	if in, err := h.read(ctx, req); err == nil {
		bare = in.bare
	}
	return func(example string) string {
		if bare == measure.Millimetre {
			return strings.ReplaceAll(example, aboutExample, aboutMetric)
		}
		return example
	}
}

func overview(list []Command, ours examples) Reply {
	tasks := Table{Title: "By task", Columns: []string{"task", "commands"}}
	for _, task := range helpTasks {
		var paths []string
		for _, row := range task.reply(list, ours).Tables[0].Rows {
			paths = append(paths, row[0])
		}
		tasks.Rows = append(tasks.Rows, []string{task.label, strings.Join(paths[:min(len(paths), 3)], ", ")})
	}
	t := Table{Title: "Every command", Columns: []string{"command", "what it tells you"}}
	for _, c := range list {
		t.Rows = append(t.Rows, []string{"/" + c.Path, c.Summary})
	}
	return Reply{
		Title:   "What I can do",
		Private: true,
		Tables:  []Table{tasks, t},
		Notes: []string{
			"To begin with, in your own words: /charge about:" + ours(aboutExample),
			"More of a task: /help task:what-to-ask. Options and examples of one command: /help command:price",
		},
		Actions: taskActions(),
	}
}

// taskActions are a button a task, as many as a card has room for.
func taskActions() []Action {
	var actions []Action
	for _, t := range helpTasks {
		actions = append(actions, Action{Label: capital(t.label), Path: "help", Options: map[string]string{"task": t.name}})
	}
	return actions
}

func usage(c Command, ours examples) Reply {
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
		reply.Notes = append(reply.Notes, "Example: "+ours(e))
	}
	return reply
}

func capital(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
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
