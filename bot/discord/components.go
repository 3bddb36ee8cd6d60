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

type (
	plainButton discordgo.Button

	button struct {
		plainButton
		Type discordgo.ComponentType `json:"type"`
	}
)

// newButton is a button that asks with its id.
func newButton(label, id string) button {
	return button{plainButton{Label: label, Style: discordgo.SecondaryButton, CustomID: id}, discordgo.ButtonComponent}
}
