package discord

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

type kind int

const (
	command kind = iota
	press
	completion
	submission
)

// ask is an interaction as read: the request and what is needed to answer it.
type ask struct {
	kind    kind
	request commands.Request
	// id, application and token address the answer. The token is a secret.
	id, application, token string
	// option and typed are what a completion is for.
	option, typed string
	// files are what was sent with an option, by its name.
	files map[string]sentFile
	// refusal is why a press is not for the commands to answer, or "".
	refusal string
	// form is true when the command's form is to be opened instead of answering.
	form bool
	// picture is true when the answer is to come with its picture.
	picture bool
	// card is the message that was pressed, or whose form was filled in; nil for
	// what was typed.
	card *card
}

// card is a message of ours that is shown already.
type card struct {
	// key tells one press of one state of the card from every other.
	key string
	// hidden is true when only the asker sees it.
	hidden bool
}

// known is the request's path when it is one of ours: what else stands there may
// be anything and is not logged.
func (a ask) known(d *desk) string { return d.known[a.request.Path].Path }

// read turns an interaction into an ask; what is not ours to answer has a problem.
func read(i *incoming, arrived time.Time) (a ask, problem string) {
	switch {
	case i == nil:
		return ask{}, "it is empty"
	case i.ID == "" || i.Token == "" || i.Application == "":
		return ask{}, "it has no id, token or application"
	case i.Data == nil:
		return ask{}, "it has no data that I can read"
	}
	asker, host := i.asker()
	if asker == "" {
		return ask{}, "nobody made it"
	}
	a = ask{id: i.ID, application: i.Application, token: i.Token}
	a.request = commands.Request{Delivery: i.ID, Community: i.Guild, Member: asker,
		Locale: i.Locale, Host: host, Time: madeAt(i.ID, arrived)}
	if i.Guild == "" {
		a.request.Community = "direct" + asker
	}
	switch i.Type {
	case discordgo.InteractionApplicationCommandAutocomplete:
		a.kind = completion
		a.readCommand(i.Data)
	case discordgo.InteractionApplicationCommand:
		a.readCommand(i.Data)
	case discordgo.InteractionMessageComponent:
		a.kind = press
		id := i.Data.CustomID
		if len(i.Data.Values) > 0 { // of a menu: what was chosen says it all
			id = i.Data.Values[0]
		}
		a.readPress(id)
		a.readCard(i.Message, id)
	case discordgo.InteractionModalSubmit:
		a.kind = submission
		a.readPress(i.Data.CustomID)
		a.readCard(i.Message, i.ID)
		a.form = false
		for _, c := range i.Data.Components {
			c.fields(a.fill)
		}
	default:
		return ask{}, "it is of a kind that I do not offer"
	}
	return a, ""
}

// asker is the id of who made the interaction and whether the platform says that
// they may manage the server.
func (i *incoming) asker() (id string, host bool) {
	if i.Member != nil && i.Member.User != nil {
		const manages = discordgo.PermissionManageGuild | discordgo.PermissionAdministrator
		may, _ := strconv.ParseInt(i.Member.Permissions, 10, 64)
		return i.Member.User.ID, i.Guild != "" && may&manages != 0
	}
	if i.User != nil {
		return i.User.ID, false
	}
	return "", false
}

func (a *ask) readCommand(data *incomingData) {
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
		if o.Type == discordgo.ApplicationCommandOptionAttachment {
			if a.files == nil {
				a.files = map[string]sentFile{}
			}
			a.files[o.Name] = data.Resolved.Attachments[text]
			continue
		}
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
	action, owner, shows, ok := decodeAction(id)
	switch {
	case !ok:
		a.refusal = "This button is from an older version of mine. Type the command instead."
	case owner != "" && owner != ownerMark(a.request.Member):
		a.refusal = "This button belongs to somebody else's answer. Type the command to get your own."
	}
	a.request.Path, a.request.Options, a.form = action.Path, action.Options, action.Asks && a.refusal == ""
	a.picture = shows
}

// readCard notes the message. An edit gives it another state, in which the same
// button may be pressed anew.
func (a *ask) readCard(m *shownMessage, pressed string) {
	if m != nil && m.ID != "" {
		a.card = &card{hidden: m.Flags&discordgo.MessageFlagsEphemeral != 0,
			key: strings.Join([]string{m.ID, m.Edited, a.request.Member, pressed}, "\x00")}
	}
}

// fill puts a field of a form into the request. One that was left empty is not
// given, the same as an option that was not typed.
func (a *ask) fill(name, text string) {
	if a.request.Options == nil || strings.TrimSpace(text) == "" {
		return
	}
	a.request.Options[name] = text
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
