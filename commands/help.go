package commands

import (
	"context"
	"strings"
	"unicode"
	"unicode/utf8"

	"tallystick/calc/measure"
)

// help is made from the list that it is in itself.
func help(list *[]Command) Command {
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
		Run: func(_ context.Context, req Request) (Reply, error) {
			if task, known := taskCalled(req.Options["task"]); known {
				if !blank(req.Options["command"]) {
					return Reply{}, &Mistake{Option: "command", Given: measure.Quote(req.Options["command"]), Problem: "and a task are two questions", Try: "one of the two"}
				}
				return task.reply(*list), nil
			}
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
	tasks := Table{Title: "By task", Columns: []string{"task", "commands"}}
	for _, task := range helpTasks {
		var paths []string
		for _, row := range task.reply(list).Tables[0].Rows {
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
			"To begin with, in your own words: /charge about:" + aboutExample,
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
