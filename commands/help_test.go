package commands_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

func TestHelpByTaskLeadsToCommandsThatExist(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	var help commands.Command
	var paths []string
	for _, command := range c.set.Commands() {
		paths = append(paths, command.Path)
		if command.Path == "help" {
			help = command
		}
	}
	task, _ := help.Option("task")
	require.NotEmpty(t, task.Choices)
	led := map[string]bool{}
	for _, choice := range task.Choices {
		reply := c.do("ann", "help", map[string]string{"task": choice.Value})
		require.Equal(t, commands.Answered, reply.Outcome(), choice.Value)
		assert.GreaterOrEqual(t, len(reply.Tables[0].Rows), 2, choice.Value)
		for _, a := range reply.Actions {
			require.Contains(t, paths, a.Options["command"])
			led[a.Options["command"]] = true
			explained := c.do("ann", a.Path, a.Options)
			assert.Contains(t, strings.Join(explained.Notes, "\n"), "Example: /"+a.Options["command"])
		}
	}
	assert.True(t, led["charge"] && led["room ask"] && led["offer"] && led["rate"] && led["boardfeet"] && led["panel from-boards"])
}

// Whatever is wrong with an option, the sentence ends with something that works.
func TestEveryCommandsMistakesPointToWhatWorks(t *testing.T) {
	t.Parallel()
	c, met := newChat(t), 0
	for _, command := range c.set.Commands() {
		if command.HostOnly {
			continue // ann is no host, and is told so before anything else
		}
		needed := map[string]string{}
		for _, o := range command.Options {
			if o.Required {
				needed[o.Name] = o.Example
			}
		}
		if len(needed) > 0 {
			reply := c.do("ann", command.Path, map[string]string{})
			require.NotNil(t, reply.Mistake, "/%s", command.Path)
			o, _ := command.Option(reply.Mistake.Option)
			assert.Contains(t, reply.Mistake.Try, o.Example, "/%s", command.Path)
		}
		for _, o := range command.Options {
			if slices.Contains([]commands.Kind{commands.Word, commands.Code}, o.Kind) {
				continue // any word may be one
			}
			options := map[string]string{o.Name: "§§§"}
			for name, example := range needed {
				if name != o.Name {
					options[name] = example
				}
			}
			reply := c.do("ann", command.Path, options)
			if reply.Mistake == nil {
				continue // an option that has nothing to do beside the others
			}
			met++
			assert.NotEmpty(t, reply.Mistake.Try, "/%s %s:§§§: %s", command.Path, o.Name, reply.Sentence())
		}
	}
	assert.Greater(t, met, 100)
}
