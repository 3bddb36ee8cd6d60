package console

import (
	"context"
	"regexp"
	"slices"
	"strings"

	"tallystick/commands"
)

const maxOffers = 25

var lastOption = regexp.MustCompile(`(?:^|\s)([A-Za-z][A-Za-z-]*):([^:]*)$`)

// complete offers what may stand at the end of a line: a command's words, an
// option's name, or a value of the option that is being typed. head is the part
// of the line that stays.
func (c *Console) complete(ctx context.Context, line string) (head string, offers []string) {
	path, options, mistake := c.Set.ParseLine(line)
	if mistake != nil {
		// Half an option's name is stray text to the parser; look before it.
		cut := strings.LastIndexByte(line, ' ') + 1
		if p, o, m := c.Set.ParseLine(line[:cut]); m == nil && p != "" {
			if names := c.optionNames(p, o, line[cut:]); len(names) > 0 {
				return line[:cut], names
			}
		}
		return "", c.paths(line)
	}
	if m := lastOption.FindStringSubmatchIndex(line); m != nil {
		name, typed := strings.ToLower(line[m[2]:m[3]]), line[m[4]:m[5]]
		offers = c.values(ctx, c.request(path, options), name, strings.TrimSpace(typed))
		finished := strings.HasSuffix(typed, " ") && slices.Contains(offers, strings.TrimSpace(typed))
		if len(offers) > 0 && !finished {
			return line[:m[4]], offers
		}
		if at := strings.LastIndexByte(typed, ' '); at >= 0 {
			head = line[:m[4]+at+1]
			return head, c.optionNames(path, options, typed[at+1:])
		}
		return line, nil
	}
	if !strings.HasSuffix(line, " ") {
		if longer := c.paths(line); len(longer) > 1 {
			return "", longer
		}
		line += " "
	}
	return line, c.optionNames(path, options, "")
}

// values offers an option's values: those that go on from what was typed, or, where
// none does, those it may have been meant for.
func (c *Console) values(ctx context.Context, req commands.Request, option, typed string) []string {
	var onward, near []string
	for _, choice := range c.Set.Suggest(ctx, req, option, typed, maxOffers) {
		if strings.HasPrefix(choice.Value, strings.ToLower(typed)) {
			onward = append(onward, choice.Value)
		} else {
			near = append(near, choice.Value)
		}
	}
	if len(onward) > 0 {
		return onward
	}
	return near
}

// paths offers the commands that begin with what was typed.
func (c *Console) paths(line string) []string {
	typed := strings.ToLower(strings.TrimPrefix(strings.TrimLeft(line, " "), "/"))
	var out []string
	for _, command := range c.Set.Commands() {
		if strings.HasPrefix(command.Path, typed) {
			out = append(out, "/"+command.Path+" ")
		}
	}
	return out
}

func (c *Console) optionNames(path string, used map[string]string, typed string) []string {
	var out []string
	for _, command := range c.Set.Commands() {
		if command.Path != path {
			continue
		}
		for _, o := range command.Options {
			if _, taken := used[o.Name]; !taken && strings.HasPrefix(o.Name, strings.ToLower(typed)) {
				out = append(out, o.Name+":")
			}
		}
	}
	return out
}
