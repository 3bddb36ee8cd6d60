package discord

import (
	"fmt"
	"strconv"
	"time"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

type kind int

const (
	command kind = iota
	press
	completion
)

// ask is an interaction as read: the request and what is needed to answer it.
type ask struct {
	kind    kind
	request commands.Request
	// id, application and token address the answer. The token is a secret.
	id, application, token string
	// option and typed are what a completion is for.
	option, typed string
	// refusal is why a press is not for the commands to answer, or "".
	refusal string
}

// known is the request's path when it is one of ours: what else stands there may
// be anything and is not logged.
func (a ask) known(d *desk) string {
	if _, ok := d.private[a.request.Path]; ok {
		return a.request.Path
	}
	return ""
}

// read turns an interaction into an ask. The library hands on an interaction that
// it could not decode as an empty one; such and what is not ours to answer have a
// problem.
func read(event *discordgo.InteractionCreate, arrived time.Time) (a ask, problem string) {
	switch {
	case event == nil || event.Interaction == nil:
		return ask{}, "it is empty"
	case event.ID == "" || event.Token == "" || event.AppID == "":
		return ask{}, "it has no id, token or application"
	case event.Data == nil:
		return ask{}, "it has no data that I can read"
	}
	user, host := asker(event.Interaction)
	if user == "" {
		return ask{}, "nobody made it"
	}
	a = ask{id: event.ID, application: event.AppID, token: event.Token}
	a.request = commands.Request{Delivery: event.ID, Community: event.GuildID, Member: user,
		Locale: string(event.Locale), Host: host, Time: madeAt(event.ID, arrived)}
	if event.GuildID == "" {
		a.request.Community = "direct" + user
	}
	switch data := event.Data.(type) {
	case discordgo.ApplicationCommandInteractionData:
		a.readCommand(data)
		if event.Type == discordgo.InteractionApplicationCommandAutocomplete {
			a.kind = completion
		}
		return a, ""
	case discordgo.MessageComponentInteractionData:
		a.kind = press
		a.readPress(data.CustomID)
		return a, ""
	}
	return ask{}, "it is of a kind that I do not offer"
}

// asker is the id of who made the interaction and whether the platform says that
// they may manage the server.
func asker(i *discordgo.Interaction) (user string, host bool) {
	if i.Member != nil && i.Member.User != nil {
		const manages = discordgo.PermissionManageGuild | discordgo.PermissionAdministrator
		return i.Member.User.ID, i.GuildID != "" && i.Member.Permissions&manages != 0
	}
	if i.User != nil {
		return i.User.ID, false
	}
	return "", false
}

func (a *ask) readCommand(data discordgo.ApplicationCommandInteractionData) {
	a.request.Path, a.request.Options = data.Name, map[string]string{}
	options := data.Options
	for len(options) == 1 && options[0] != nil && nests(options[0].Type) {
		a.request.Path += " " + options[0].Name
		options = options[0].Options
	}
	for _, o := range options {
		if o == nil {
			continue
		}
		text := typedText(o.Value)
		a.request.Options[o.Name] = text
		if o.Focused {
			a.option, a.typed = o.Name, text
		}
	}
}

func nests(t discordgo.ApplicationCommandOptionType) bool {
	return t == discordgo.ApplicationCommandOptionSubCommand || t == discordgo.ApplicationCommandOptionSubCommandGroup
}

// typedText is an option's value as text. All our options are text; a command
// registered by an older version may still send a number for a short while.
func typedText(value any) string {
	switch v := value.(type) {
	case nil:
		return ""
	case string:
		return v
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	}
	return fmt.Sprint(value)
}

func (a *ask) readPress(id string) {
	action, owner, ok := decodeAction(id)
	switch {
	case !ok:
		a.refusal = "This button is from an older version of mine. Type the command instead."
	case owner != "" && owner != ownerMark(a.request.Member):
		a.refusal = "This button belongs to somebody else's private answer. Type the command to get your own."
	}
	a.request.Path, a.request.Options = action.Path, action.Options
}

// epoch is when the platform's ids begin, in milliseconds since 1970.
// https://discord.com/developers/docs/reference#snowflakes
const epoch = 1420070400000

// madeAt is the time in an interaction's id. An id that is no snowflake, or tells
// a time more than a day from its arrival, is not believed.
func madeAt(id string, arrived time.Time) time.Time {
	n, err := strconv.ParseUint(id, 10, 64)
	if err != nil {
		return arrived
	}
	made := time.UnixMilli(int64(n>>22) + epoch)
	if made.Sub(arrived).Abs() > 24*time.Hour {
		return arrived
	}
	return made
}
