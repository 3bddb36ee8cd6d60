package commands

import "slices"

// helpTask is something a maker wants to get done, with the commands that do it.
type helpTask struct {
	name, label string
	steps       []helpStep
}

// helpStep is one command of a task: why, and which of its examples.
type helpStep struct{ path, why string }

// helpTasks are in the order in which a piece comes about. A step whose command
// does not exist in this set is left out.
var helpTasks = []helpTask{
	{"found-wood", "I found wood", []helpStep{
		{"stamp", "what the mark on a pallet or crate says, before you cut it"},
		{"boardfeet", "how much there is"},
		{"species", "what kind of wood is like"},
		{"weight", "what it weighs, before you lift it"},
		{"budget", "the most such stock is worth to you"},
		{"sawlog", "what a log saws out to"},
	}},
	{"what-size", "what size can I make", []helpStep{
		{"panel from-boards", "the panel your boards give"},
		{"panel needs", "the boards a panel of a size takes"},
		{"deflection", "whether a shelf or top holds its load"},
		{"movement", "how far it moves over the year"},
		{"weight", "what it will weigh"},
	}},
	{"what-it-costs", "what it costs me", []helpStep{
		{"cost share", "your part of a tin of finish or a box of screws"},
		{"cost trip", "the drive"},
		{"cost tool", "a tool's part"},
		{"cost overhead", "an hour in the shop"},
		{"cost time", "how long an operation takes"},
		{"finish", "how much finish to buy"},
	}},
	{"what-to-ask", "what to ask", []helpStep{
		{"charge", "one line in your own words, one answer"},
		{"price", "the whole sum, with venues and tax"},
		{"market show", "what such pieces sold for here"},
		{"room ask", "what the others here would charge"},
		{"listing", "the words of a listing"},
		{"batch", "several alike"},
	}},
	{"an-offer", "an offer came", []helpStep{
		{"offer", "what it pays an hour, and what to counter"},
		{"price", "how far down you can go"},
	}},
	{"it-sold", "it sold", []helpStep{
		{"rate", "what it really paid an hour"},
		{"sale share", "add it to the local log, rounded and without your name"},
		{"sale mine", "what you have shared"},
		{"sale withdraw", "take it back"},
	}},
	{"my-settings", "say it once for always", []helpStep{
		{"settings set", "your rate, tax, units and the like"},
		{"settings venue", "what a place takes"},
		{"settings show", "what is set"},
		{"settings forget", "drop it"},
	}},
}

func taskChoices() []Choice {
	choices := make([]Choice, len(helpTasks))
	for i, t := range helpTasks {
		choices[i] = Choice{Value: t.name, Label: t.label}
	}
	return choices
}

// taskCalled finds a task by its name.
func taskCalled(name string) (helpTask, bool) {
	i := slices.IndexFunc(helpTasks, func(t helpTask) bool { return t.name == name })
	if i < 0 {
		return helpTask{}, false
	}
	return helpTasks[i], true
}

// reply shows the commands of a task with a line to type for each.
func (t helpTask) reply(list []Command, ours examples) Reply {
	reply := Reply{Title: capital(t.label), Private: true}
	table := Table{Columns: []string{"command", "tells you"}}
	for _, step := range t.steps {
		for _, c := range list {
			if c.Path == step.path {
				table.Rows = append(table.Rows, []string{"/" + c.Path, step.why})
				reply.Notes = append(reply.Notes, ours(c.Examples[0]))
				reply.Actions = append(reply.Actions, Action{Label: "About /" + c.Path, Path: "help", Options: map[string]string{"command": c.Path}})
			}
		}
	}
	reply.Tables = []Table{table}
	reply.Notes = append([]string{"For example:"}, reply.Notes...)
	return reply
}
