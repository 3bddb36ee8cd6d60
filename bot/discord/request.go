package discord

import (
	"strconv"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/valyala/fastjson"

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

// read turns an interaction, as it came by either door, into an ask; what is not ours
// to answer has a problem. Only what is used is looked at, so that nothing else that
// the platform adds is in the way.
func read(raw []byte, arrived time.Time) (a ask, problem string) {
	parser := parsers.Get()
	defer parsers.Put(parser)
	i, err := parser.ParseBytes(raw)
	if err != nil {
		return ask{}, "it cannot be read"
	}
	a = ask{id: textAt(i, "id"), application: textAt(i, "application_id"), token: textAt(i, "token")}
	data := i.Get("data")
	switch {
	case a.id == "" || a.token == "" || a.application == "":
		return ask{}, "it has no id, token or application"
	case data == nil || data.Type() != fastjson.TypeObject:
		return ask{}, "it has no data that I can read"
	}
	a.request = commands.Request{Delivery: a.id, Community: textAt(i, "guild_id"), Locale: textAt(i, "locale"), Time: madeAt(a.id, arrived)}
	a.readAsker(i)
	if a.request.Member == "" {
		return ask{}, "nobody made it"
	}
	switch discordgo.InteractionType(i.GetUint("type")) {
	case discordgo.InteractionApplicationCommandAutocomplete:
		a.kind = completion
		a.readCommand(data)
	case discordgo.InteractionApplicationCommand:
		a.readCommand(data)
	case discordgo.InteractionMessageComponent:
		a.kind = press
		id := textAt(data, "custom_id")
		if chosen := textAt(data, "values", "0"); chosen != "" { // of a menu: what was chosen says it all
			id = chosen
		}
		a.readPress(id)
		a.readCard(i.Get("message"), id)
	case discordgo.InteractionModalSubmit:
		a.kind = submission
		a.readPress(textAt(data, "custom_id"))
		a.readCard(i.Get("message"), a.id)
		a.form = false
		a.readFields(data)
	default:
		return ask{}, "it is of a kind that I do not offer"
	}
	return a, ""
}

// parsers have room for what is being read.
var parsers fastjson.ParserPool

// textAt is a copy of the text at a key, or at one in another, and "" where there is
// none: what was read goes with its parser.
func textAt(v *fastjson.Value, keys ...string) string {
	return strings.ToValidUTF8(string(v.GetStringBytes(keys...)), "\ufffd")
}

// readAsker notes who made the interaction, where, and whether the platform says that
// they may manage the server.
func (a *ask) readAsker(i *fastjson.Value) {
	r := &a.request
	if r.Member = textAt(i, "member", "user", "id"); r.Member == "" {
		r.Member = textAt(i, "user", "id")
	} else {
		const manages = discordgo.PermissionManageGuild | discordgo.PermissionAdministrator
		may, _ := strconv.ParseInt(textAt(i, "member", "permissions"), 10, 64)
		r.Host = r.Community != "" && may&manages != 0
	}
	if r.Community == "" {
		r.Community = "direct" + r.Member
	}
}

func (a *ask) readCommand(data *fastjson.Value) {
	a.request.Path = textAt(data, "name")
	options := data.GetArray("options")
	for len(options) == 1 && nests(options[0]) {
		a.request.Path += " " + textAt(options[0], "name")
		options = options[0].GetArray("options")
	}
	a.request.Options = make(map[string]string, len(options))
	for _, o := range options {
		if o.Type() != fastjson.TypeObject {
			continue
		}
		name, text := textAt(o, "name"), typedText(o.Get("value"))
		if optionType(o) == discordgo.ApplicationCommandOptionAttachment {
			if a.files == nil {
				a.files = map[string]sentFile{}
			}
			file := data.Get("resolved", "attachments", text)
			a.files[name] = sentFile{Name: textAt(file, "filename"), Size: file.GetInt64("size"), URL: textAt(file, "url")}
			continue
		}
		a.request.Options[name] = text
		if o.GetBool("focused") {
			a.option, a.typed = name, text
		}
	}
}

func optionType(o *fastjson.Value) discordgo.ApplicationCommandOptionType {
	return discordgo.ApplicationCommandOptionType(o.GetUint("type"))
}

func nests(o *fastjson.Value) bool {
	t := optionType(o)
	return t == discordgo.ApplicationCommandOptionSubCommand || t == discordgo.ApplicationCommandOptionSubCommandGroup
}

// typedText is an option's value as text. All our options are text; a command
// registered by an older version may still send a number for a short while.
func typedText(value *fastjson.Value) string {
	if value == nil {
		return ""
	}
	switch value.Type() {
	case fastjson.TypeString:
		return textAt(value)
	case fastjson.TypeNumber:
		return strconv.FormatFloat(value.GetFloat64(), 'f', -1, 64)
	case fastjson.TypeTrue:
		return "yes"
	case fastjson.TypeFalse:
		return "no"
	}
	return ""
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
func (a *ask) readCard(m *fastjson.Value, pressed string) {
	if id := textAt(m, "id"); id != "" {
		a.card = &card{hidden: discordgo.MessageFlags(m.GetInt("flags"))&discordgo.MessageFlagsEphemeral != 0,
			key: strings.Join([]string{id, textAt(m, "edited_timestamp"), a.request.Member, pressed}, "\x00")}
	}
}

// readFields fills in a form's fields, from what they stand in downwards: the platform
// has rows, which hold components, and labels, which hold one.
func (a *ask) readFields(v *fastjson.Value) {
	if id, text := textAt(v, "custom_id"), v.Get("value"); id != "" && text != nil && text.Type() == fastjson.TypeString {
		a.fill(id, textAt(text))
	}
	for _, c := range v.GetArray("components") {
		a.readFields(c)
	}
	if c := v.Get("component"); c != nil {
		a.readFields(c)
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
