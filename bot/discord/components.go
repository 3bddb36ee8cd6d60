package discord

import "github.com/bwmarrin/discordgo"

// row is a row of components as a message's body holds it, and button what mostly
// stands in one. The library's own encode each button, and then each row, by
// itself and once more into what holds it; these are encoded with the body.
type row struct {
	Components []any                   `json:"components"`
	Type       discordgo.ComponentType `json:"type"`
}

func rowOf(components ...any) row { return row{components, discordgo.ActionsRowComponent} }

type button struct {
	Label    string                  `json:"label"`
	Style    discordgo.ButtonStyle   `json:"style"`
	Disabled bool                    `json:"disabled"`
	CustomID string                  `json:"custom_id"`
	Type     discordgo.ComponentType `json:"type"`
}

// newButton is a button that asks with its id.
func newButton(label, id string) button {
	return button{Label: label, Style: discordgo.SecondaryButton, CustomID: id, Type: discordgo.ButtonComponent}
}

// embed is as much of the library's own as is used here: it is encoded with every
// answer.
type embed struct {
	Title       string                       `json:"title,omitempty"`
	Description string                       `json:"description,omitempty"`
	Image       *discordgo.MessageEmbedImage `json:"image,omitempty"`
}
