package discord

import (
	"encoding/json"

	"github.com/bwmarrin/discordgo"
)

// incoming is as much of an interaction as is used here, from either door. The
// library's own type gives up a whole event over one component that it does not
// know; this one does not look at a message's components at all, and at a form's
// only for their ids and values.
type incoming struct {
	ID          string                    `json:"id"`
	Application string                    `json:"application_id"`
	Type        discordgo.InteractionType `json:"type"`
	Token       string                    `json:"token"`
	Guild       string                    `json:"guild_id"`
	Locale      string                    `json:"locale"`
	Member      *member                   `json:"member"`
	User        *user                     `json:"user"`
	Message     *shownMessage             `json:"message"`
	Data        *incomingData             `json:"data"`
}

type user struct {
	ID string `json:"id"`
}

type member struct {
	User        *user  `json:"user"`
	Permissions string `json:"permissions"`
}

// shownMessage is the message that a component stands under.
type shownMessage struct {
	ID     string                 `json:"id"`
	Edited string                 `json:"edited_timestamp"`
	Flags  discordgo.MessageFlags `json:"flags"`
}

// incomingData is of a command, a completion, a component or a form; each has its
// own keys.
type incomingData struct {
	Name       string            `json:"name"`
	Options    []*incomingOption `json:"options"`
	CustomID   string            `json:"custom_id"`
	Values     []string          `json:"values"`
	Components []filled          `json:"components"`
	Resolved   struct {
		Attachments map[string]sentFile `json:"attachments"`
	} `json:"resolved"`
}

type incomingOption struct {
	Name    string                                 `json:"name"`
	Type    discordgo.ApplicationCommandOptionType `json:"type"`
	Value   any                                    `json:"value"`
	Focused bool                                   `json:"focused"`
	Options []*incomingOption                      `json:"options"`
}

// filled is a component of a form that was sent in: a field, or what fields stand
// in. The platform has two kinds of the latter, rows and labels.
type filled struct {
	CustomID   string   `json:"custom_id"`
	Value      any      `json:"value"`
	Components []filled `json:"components"`
	Component  *filled  `json:"component"`
}

// fields calls see with every field's id and text.
func (f filled) fields(see func(id, text string)) {
	if text, ok := f.Value.(string); ok && f.CustomID != "" {
		see(f.CustomID, text)
	}
	for _, c := range f.Components {
		c.fields(see)
	}
	if f.Component != nil {
		f.Component.fields(see)
	}
}

func decode(raw []byte) (*incoming, error) {
	var i *incoming
	err := json.Unmarshal(raw, &i)
	return i, err
}
