package discord

import (
	"fmt"
	"maps"
	"strings"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// What a message may hold.
// https://discord.com/developers/docs/resources/message
const (
	contentLimit     = 2000
	titleLimit       = 256
	descriptionLimit = 4096
)

// message is the part of a message's body that is used here. The library's own
// would blank fields that are not set.
type message struct {
	Content         string                            `json:"content,omitempty"`
	Embeds          []*embed                          `json:"embeds,omitempty"`
	Components      []row                             `json:"components,omitempty"`
	AllowedMentions *discordgo.MessageAllowedMentions `json:"allowed_mentions"`
	Flags           discordgo.MessageFlags            `json:"flags,omitempty"`
	Attachments     []attachment                      `json:"attachments,omitempty"`

	files []enclosed
}

// private is true when only the asker sees the message.
func (m message) private() bool { return m.Flags&discordgo.MessageFlagsEphemeral != 0 }

// updated is a message that takes another's place: whatever it does not have is
// taken away from there too.
type updated struct {
	Content         string                            `json:"content"`
	Embeds          []*embed                          `json:"embeds"`
	Components      []row                             `json:"components"`
	AllowedMentions *discordgo.MessageAllowedMentions `json:"allowed_mentions"`
	Attachments     []attachment                      `json:"attachments"`

	files []enclosed
}

func (m message) inPlace() updated {
	u := updated{m.Content, m.Embeds, m.Components, m.AllowedMentions, m.Attachments, m.files}
	if u.Embeds == nil {
		u.Embeds = []*embed{}
	}
	if u.Components == nil {
		u.Components = []row{}
	}
	if u.Attachments == nil {
		u.Attachments = []attachment{}
	}
	return u
}

// noMentions is sent with every message: whatever stands in it, nobody is pinged.
func noMentions() *discordgo.MessageAllowedMentions { return &nobody }

var nobody = discordgo.MessageAllowedMentions{Parse: []discordgo.AllowedMentionType{}}

// sentence is a message of one sentence of ours, to the asker alone.
func sentence(text string) message {
	return message{Content: escape(text), AllowedMentions: noMentions(), Flags: discordgo.MessageFlagsEphemeral}
}

func busy() message { return sentence("I am busy just now; try again in a moment.") }

func unsendable() message {
	return sentence("I have an answer, but the chat did not take it as I sent it. Whoever runs me finds the reason in the log.")
}

// render turns a reply into the messages that show it, at least one.
func render(reply commands.Reply, req commands.Request) []message {
	return renderFor(reply, req, commands.Command{}, shownPicture{})
}

// renderFor knows the command that was asked, too, and how the picture is shown.
func renderFor(reply commands.Reply, req commands.Request, c commands.Command, picture shownPicture) []message {
	if reply.Outcome() != commands.Answered {
		return renderSentence(reply, req, c)
	}
	owner := ""
	// A button asks with the settings of who presses it. Under what is the asker's
	// own it stays the asker's, also where they let all see the card. What a private
	// command answers for all of its own accord is everybody's card.
	if reply.Private || c.Private && c.Public {
		owner = ownerMark(req.Member)
	}
	rows, typed := drawActions(reply.Actions, owner, picture.again)
	title, blocks := titled(reply.Title)
	if under := body(reply, typed); blocks == nil {
		blocks = under
	} else {
		blocks = append(blocks, under...)
	}
	texts := paginate(blocks, descriptionLimit)
	if len(texts) == 0 {
		if title == "" {
			texts = []string{"There is nothing to show."}
		} else {
			texts = []string{""}
		}
	}
	pages := make([]message, len(texts))
	for i, text := range texts {
		shown := &embed{Description: text, Title: numbered(title, i, len(texts))}
		pages[i] = message{Embeds: []*embed{shown}, AllowedMentions: noMentions()}
		if reply.Private {
			pages[i].Flags = discordgo.MessageFlagsEphemeral
		}
	}
	pages[0].enclose(reply.Picture, picture.png)
	pages[0].append(reply.File)
	pages[len(pages)-1].Components = rows
	return pages
}

// titled is a reply's title, or, when it is too long for one, its first block.
func titled(title string) (string, []block) {
	title = escapeLine(title)
	if units(title) > titleLimit-len(" (99 of 99)") {
		return "", []block{prose("**" + title + "**")}
	}
	return title, nil
}

func numbered(title string, i, of int) string {
	if title == "" || of == 1 {
		return title
	}
	return fmt.Sprintf("%s (%d of %d)", title, i+1, of)
}

// body lays out what stands under a reply's title.
func body(reply commands.Reply, typed []commands.Action) []block {
	blocks := make([]block, 0, 2+2*len(reply.Tables)+len(reply.Notes)+len(reply.Cautions)+2*len(typed))
	if len(reply.Figures) > 0 {
		var b strings.Builder
		b.Grow(64 * len(reply.Figures))
		for i, f := range reply.Figures {
			if i > 0 {
				b.WriteByte('\n')
			}
			b.WriteString("**")
			b.WriteString(escapeLine(f.Label))
			b.WriteString("**: ")
			b.WriteString(figureText(f))
		}
		blocks = append(blocks, prose(b.String()))
	}
	for _, t := range reply.Tables {
		blocks = append(blocks, drawTable(t)...)
	}
	for _, note := range reply.Notes {
		blocks = append(blocks, prose(escape(note)))
	}
	for _, c := range reply.Cautions {
		text := "**Caution**: " + escapeLine(c.Text)
		if c.Issuer != "" {
			text += " (" + escapeLine(c.Issuer) + ")"
		}
		blocks = append(blocks, prose(text))
	}
	for _, a := range typed {
		blocks = append(blocks, prose(escapeLine(orDefault(a.Label, "Next"))+": type"), quoted(a.Line()))
	}
	return blocks
}

// figureText is the figure's text; a moment is left to the platform to write, in
// each reader's own time zone and language.
// https://discord.com/developers/docs/reference#message-formatting
func figureText(f commands.Figure) string {
	if f.At.IsZero() {
		return escapeLine(f.Text)
	}
	return fmt.Sprintf("<t:%d:f>", f.At.Unix())
}

// quoted is a line to copy, as it is typed.
func quoted(line string) block {
	return block{text: verbatim(line), fenced: true}
}

// lineMost is the longest line that is repeated, in units: a text as long as the
// platform takes one, and what stands around it. The longest answer of a sentence is
// so a handful of messages.
const lineMost = 8000

// renderSentence shows a mistake, a refusal or a fault to the asker alone. After a
// mistake, and where it may be sent again, stands the line as typed, so that nothing
// has to be typed again.
func renderSentence(reply commands.Reply, req commands.Request, c commands.Command) []message {
	blocks := []block{prose(shorten(escape(reply.Sentence()), contentLimit))}
	if reply.Mistake != nil || reply.Again {
		if line := commands.FormatLine(req.Path, typedOptions(req, c)); units(line) <= lineMost {
			blocks = append(blocks, quoted(line))
		}
	}
	var pages []message
	for _, text := range paginate(blocks, contentLimit) {
		page := message{Content: text, AllowedMentions: noMentions()}
		page.Flags = discordgo.MessageFlagsEphemeral | discordgo.MessageFlagsSuppressEmbeds
		pages = append(pages, page)
	}
	if len(pages) == 0 {
		pages = []message{unsendable()}
	}
	if reply.Mistake != nil {
		pages[len(pages)-1].Components = putRight(reply, req, c)
	}
	return pages
}

// typedOptions are a request's options without what came from a file: its text was
// not typed, and can be as long as a book.
func typedOptions(req commands.Request, c commands.Command) map[string]string {
	typed := maps.Clone(req.Options)
	for _, o := range c.Options {
		if o.Kind == commands.FileText {
			delete(typed, o.Name)
		}
	}
	return typed
}
