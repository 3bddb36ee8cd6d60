package discord

import (
	"context"
	"strings"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// What a form may hold.
// https://discord.com/developers/docs/interactions/receiving-and-responding
// https://discord.com/developers/docs/components/reference#text-input
const (
	formTitleLimit   = 45
	fieldLabelLimit  = 45
	placeholderLimit = 100
	fieldMost        = 4000
	// longField is the length from which a field has several lines.
	longField = 300
)

// modal is the platform's body of a form. The rows around the fields are the older
// of two ways to write it, the one that every client and the library read.
type modal struct {
	CustomID   string     `json:"custom_id"`
	Title      string     `json:"title"`
	Components []modalRow `json:"components"`
}

type modalRow struct {
	Type       discordgo.ComponentType `json:"type"`
	Components []textInput             `json:"components"`
}

type textInput struct {
	Type        discordgo.ComponentType  `json:"type"`
	CustomID    string                   `json:"custom_id"`
	Style       discordgo.TextInputStyle `json:"style"`
	Label       string                   `json:"label"`
	Value       string                   `json:"value,omitempty"`
	Placeholder string                   `json:"placeholder,omitempty"`
	Required    bool                     `json:"required"`
	MaxLength   int                      `json:"max_length"`
}

// drawForm makes the modal of a form; false when what is settled already does not
// fit into its id.
func drawForm(f *commands.Form) (modal, bool) {
	id, fits := encodeAction(commands.Action{Path: f.Path, Options: f.Options}, "")
	m := modal{CustomID: id, Title: shorten(oneLine(orDefault(f.Title, "/"+f.Path)), formTitleLimit)}
	for _, field := range f.Fields {
		input := textInput{Type: discordgo.TextInputComponent, CustomID: field.Option, Style: discordgo.TextInputShort,
			Label:       fieldLabel(field),
			Placeholder: shorten(oneLine(field.Example), placeholderLimit), Required: field.Required,
			// What stands in the field must not be longer than the field.
			MaxLength: min(max(field.MaxLength, units(field.Value), 1), fieldMost)}
		input.Value = field.Value
		if units(input.Value) > fieldMost {
			input.Value = input.Value[:prefix(input.Value, fieldMost)]
		}
		if input.MaxLength >= longField {
			input.Style = discordgo.TextInputParagraph
		} else {
			input.Value = oneLine(input.Value)
		}
		m.Components = append(m.Components, modalRow{discordgo.ActionsRowComponent, []textInput{input}})
	}
	return m, fits && len(m.Components) > 0
}

// fieldLabel is the summary where it fits: a bare name such as "to" asks for the wrong
// thing.
func fieldLabel(f commands.Field) string {
	if summary := oneLine(f.Summary); summary != "" && units(summary) <= fieldLabelLimit {
		return summary
	}
	return shorten(oneLine(orDefault(f.Label, f.Option)), fieldLabelLimit)
}

// wantsForm is true for a press that asks for a form, and for a command that has
// one and was typed without any option: on a phone, fields are quicker to fill in
// than options are to find.
func (d *desk) wantsForm(a ask) bool {
	if a.form {
		return true
	}
	if a.kind != command || len(d.known[a.request.Path].Ask) == 0 {
		return false
	}
	for name := range a.request.Options {
		if name != "public" {
			return false
		}
	}
	return true
}

// openForm answers with the command's form. It cannot be deferred.
func (x *exchange) openForm() {
	ctx, cancel := context.WithDeadline(x.desk.working, x.arrived.Add(x.desk.config.Timing.Defer))
	defer cancel()
	var form *commands.Form
	var reply commands.Reply
	if !x.desk.handle(ctx, func() { form, reply = x.desk.config.Set.Form(ctx, x.ask.request) }) {
		x.turnAway()
		return
	}
	if form == nil {
		x.answer(reply)
		return
	}
	m, fits := drawForm(form)
	if !fits {
		x.answer(commands.Reply{Private: true, Refusal: &commands.Refusal{
			Sentence: "There is more in this than a form can carry. Type it: " + commands.FormatLine(x.ask.request.Path, x.ask.request.Options)}})
		return
	}
	if !x.begin() {
		return
	}
	x.acknowledgeOr(callback{discordgo.InteractionResponseModal, m}, "opening a form")
}

// putRight is the button under a mistake that opens the form with everything that
// was typed, where the command has a form with a field for what was mistaken.
func putRight(reply commands.Reply, req commands.Request, c commands.Command) []row {
	asked := false
	for _, name := range c.Ask {
		asked = asked || name == reply.Mistake.Option
	}
	if !asked {
		return nil
	}
	options := map[string]string{}
	for name, text := range req.Options {
		if strings.TrimSpace(text) != "" {
			options[name] = text
		}
	}
	id, fits := encodeAction(commands.Action{Path: req.Path, Options: options, Asks: true}, ownerMark(req.Member))
	if !fits {
		return nil
	}
	return []row{rowOf(newButton("Put it right", id))}
}
