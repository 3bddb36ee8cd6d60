package discord

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// What a registration may hold.
// https://discord.com/developers/docs/interactions/application-commands
const (
	commandsMost     = 100
	optionsMost      = 25
	choicesMost      = 25
	choiceTextMost   = 100
	descriptionMost  = 100
	optionLengthMost = 6000
	commandTextMost  = 8000
)

// namePattern is the platform's, for names in lower case.
var namePattern = regexp.MustCompile(`^[-_'\p{Ll}\p{Lm}\p{Lo}\p{N}\p{Devanagari}\p{Thai}]{1,32}$`)

// registered is one top-level command as the platform keeps it. The platform's
// own answer is read into the same form, which leaves out ids, versions and
// whatever else is not ours, so that the two can be compared.
type registered struct {
	Type        discordgo.ApplicationCommandType   `json:"type"`
	Name        string                             `json:"name"`
	Description string                             `json:"description"`
	Contexts    []discordgo.InteractionContextType `json:"contexts"`
	Permissions any                                `json:"default_member_permissions,omitempty"`
	AgeLimited  bool                               `json:"nsfw,omitempty"`
	Options     []*registeredOption                `json:"options,omitempty"`
}

type registeredOption struct {
	Type         discordgo.ApplicationCommandOptionType `json:"type"`
	Name         string                                 `json:"name"`
	Description  string                                 `json:"description"`
	Required     bool                                   `json:"required,omitempty"`
	Autocomplete bool                                   `json:"autocomplete,omitempty"`
	MinLength    int                                    `json:"min_length,omitempty"`
	MaxLength    int                                    `json:"max_length,omitempty"`
	Choices      []suggestion                           `json:"choices,omitempty"`
	Options      []*registeredOption                    `json:"options,omitempty"`
}

// RegistrationBody is the body with which the set's commands are registered, as
// indented JSON. A set that the platform would not take is refused.
func RegistrationBody(set *commands.Set) ([]byte, error) {
	body, err := registration(set)
	if err != nil {
		return nil, err
	}
	text, err := json.MarshalIndent(body, "", "  ")
	return append(text, '\n'), err
}

// registration makes commands of one-word paths, sub-commands of two-word paths
// and grouped sub-commands of three-word paths.
func registration(set *commands.Set) ([]*registered, error) {
	list := []*registered{}
	byName := map[string]*registered{}
	words := map[string][]string{}
	for _, c := range set.Commands() {
		path := strings.Fields(c.Path)
		if len(path) == 0 || len(path) > 3 {
			return nil, fmt.Errorf("command %q: a path has one to three words", c.Path)
		}
		options, err := registerOptions(c)
		if err != nil {
			return nil, fmt.Errorf("command %q: %w", c.Path, err)
		}
		top := byName[path[0]]
		if top == nil {
			top = &registered{Type: discordgo.ChatApplicationCommand, Name: path[0], Description: c.Summary,
				Contexts: []discordgo.InteractionContextType{discordgo.InteractionContextGuild, discordgo.InteractionContextBotDM}}
			byName[path[0]] = top
			list = append(list, top)
		} else if len(path) == 1 || len(words[path[0]]) == 0 {
			return nil, fmt.Errorf("command %q: the word %q is a command already, and one with further words cannot be called by itself", c.Path, path[0])
		}
		if len(path) == 1 {
			top.Options = options
			continue
		}
		words[path[0]] = append(words[path[0]], strings.Join(path[1:], " "))
		leaf := &registeredOption{Type: discordgo.ApplicationCommandOptionSubCommand,
			Name: path[len(path)-1], Description: c.Summary, Options: options}
		if err := place(&top.Options, path[1:], leaf); err != nil {
			return nil, fmt.Errorf("command %q: %w", c.Path, err)
		}
	}
	for _, top := range list {
		top.gate(set)
		if names := words[top.Name]; len(names) > 0 {
			top.Description = family(names)
			for _, o := range top.Options {
				if o.Type == discordgo.ApplicationCommandOptionSubCommandGroup {
					o.Description = family(wordsAfter(names, o.Name))
				}
			}
		}
		if err := top.check(); err != nil {
			return nil, fmt.Errorf("command %q: %w", top.Name, err)
		}
	}
	if len(list) > commandsMost {
		return nil, fmt.Errorf("%d commands are more than the platform's %d", len(list), commandsMost)
	}
	return list, nil
}

// manageServer is the permission that a host has, as the platform writes it.
// https://discord.com/developers/docs/topics/permissions
const manageServer = "32"

// gate has the platform show a command to hosts only, where all of it is theirs.
// It knows no permission of a single sub-command; those are refused when asked.
func (r *registered) gate(set *commands.Set) {
	for _, c := range set.Commands() {
		if first, _, _ := strings.Cut(c.Path, " "); first == r.Name && !c.HostOnly {
			return
		}
	}
	r.Permissions = manageServer
	r.Contexts = r.Contexts[:1] // a direct message has no host
}

// place puts a sub-command into its command, or into the group the path names.
func place(into *[]*registeredOption, path []string, leaf *registeredOption) error {
	for _, o := range *into {
		if o.Name != path[0] {
			continue
		}
		if len(path) == 1 || o.Type != discordgo.ApplicationCommandOptionSubCommandGroup {
			return fmt.Errorf("the word %q is a command already", path[0])
		}
		return place(&o.Options, path[1:], leaf)
	}
	if len(path) == 1 {
		*into = append(*into, leaf)
		return nil
	}
	group := &registeredOption{Type: discordgo.ApplicationCommandOptionSubCommandGroup, Name: path[0]}
	*into = append(*into, group)
	return place(&group.Options, path[1:], leaf)
}

func wordsAfter(names []string, group string) []string {
	var out []string
	for _, n := range names {
		if rest, ok := strings.CutPrefix(n, group+" "); ok {
			out = append(out, rest)
		}
	}
	return out
}

// family describes a command by the words that go on from it.
func family(names []string) string {
	const more = " and more"
	text := names[0]
	for i, n := range names[1:] {
		joint := ", "
		if i == len(names)-2 {
			joint = " or "
		}
		if units(text+joint+n) > descriptionMost-len(more) {
			return shorten(text, descriptionMost-len(more)) + more
		}
		text += joint + n
	}
	return shorten(text, descriptionMost)
}

func registerOptions(c commands.Command) ([]*registeredOption, error) {
	var options []*registeredOption
	short := map[string]string{}
	for _, o := range c.Options {
		if other, taken := short[shortName(o.Name)]; taken && other != o.Name {
			return nil, fmt.Errorf("options %q and %q cannot be told apart in a button's id: rename one", o.Name, other)
		}
		short[shortName(o.Name)] = o.Name
		r := &registeredOption{Type: discordgo.ApplicationCommandOptionString,
			Name: o.Name, Description: o.Summary, Required: o.Required, Autocomplete: o.Complete != nil}
		switch {
		case o.Kind == commands.FileText:
			r.Type = discordgo.ApplicationCommandOptionAttachment
		case len(o.Choices) > choicesMost: // offered while typing instead
			r.Autocomplete = true
			fallthrough
		case len(o.Choices) == 0:
			r.MaxLength = min(o.Limit(), optionLengthMost)
		default:
			for _, ch := range o.Choices {
				label := orDefault(ch.Label, ch.Value)
				if ch.Value == "" || units(ch.Value) > choiceTextMost || units(label) > choiceTextMost {
					return nil, fmt.Errorf("option %q: the choice %q is empty or over %d characters", o.Name, cut(ch.Value, 32), choiceTextMost)
				}
				r.Choices = append(r.Choices, suggestion{label, ch.Value})
			}
		}
		options = append(options, r)
	}
	return options, nil
}

// check holds the platform's limits that no type can.
func (r *registered) check() error {
	if err := checkNamed(r.Name, r.Description); err != nil {
		return err
	}
	if n := utf8.RuneCountInString(r.Name+r.Description) + textOf(r.Options); n > commandTextMost {
		return fmt.Errorf("its texts have %d characters and the platform takes %d", n, commandTextMost)
	}
	return checkOptions(r.Options)
}

func checkOptions(options []*registeredOption) error {
	if len(options) > optionsMost {
		return fmt.Errorf("%d options or sub-commands are more than the platform's %d", len(options), optionsMost)
	}
	seen, optional := map[string]bool{}, false
	for _, o := range options {
		if err := checkNamed(o.Name, o.Description); err != nil {
			return fmt.Errorf("option %q: %w", o.Name, err)
		}
		if seen[o.Name] {
			return fmt.Errorf("option %q occurs twice", o.Name)
		}
		if o.Required && optional {
			return fmt.Errorf("option %q is required and comes after one that is not", o.Name)
		}
		seen[o.Name], optional = true, optional || !o.Required
		if err := checkOptions(o.Options); err != nil {
			return fmt.Errorf("%s: %w", o.Name, err)
		}
	}
	return nil
}

func checkNamed(name, description string) error {
	if !namePattern.MatchString(name) {
		return errors.New("its name is not 1 to 32 letters, digits, hyphens or underscores in lower case")
	}
	if n := units(description); n < 1 || n > descriptionMost {
		return fmt.Errorf("its summary has %d characters and the platform takes 1 to %d", n, descriptionMost)
	}
	return nil
}

func textOf(options []*registeredOption) int {
	n := 0
	for _, o := range options {
		n += utf8.RuneCountInString(o.Name+o.Description) + textOf(o.Options)
		for _, ch := range o.Choices {
			n += utf8.RuneCountInString(ch.Name + ch.Value)
		}
	}
	return n
}
