package discord

import (
	"context"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// What a list of suggestions may hold.
// https://discord.com/developers/docs/interactions/receiving-and-responding
const (
	suggestionsMost = 25
	suggestionName  = 100
	suggestionValue = 100
)

// suggestions has a form of its own because the library leaves the key out when
// there are none.
type suggestions struct {
	Choices []suggestion `json:"choices"`
}

type suggestion struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// complete answers a completion, with an empty list when there is no time left.
func (x *exchange) complete() {
	ctx, cancel := context.WithDeadline(x.desk.working, x.arrived.Add(x.desk.config.Timing.Defer))
	defer cancel()
	var found []commands.Choice
	defer func() { x.offer(found) }() // also after a panic, which goes on to be logged
	if ctx.Err() == nil {
		x.desk.handle(ctx, func() {
			found = x.desk.config.Set.Suggest(ctx, x.ask.request, x.ask.option, x.ask.typed, suggestionsMost)
		})
	}
}

func (x *exchange) offer(found []commands.Choice) {
	body := callback{discordgo.InteractionApplicationCommandAutocompleteResult, suggestions{suggest(found)}}
	x.acknowledgeOr(body, "completing")
}

// suggest draws choices. A name too long ends in an ellipsis; a value too long
// could not be used and is left out: it can still be typed.
func suggest(found []commands.Choice) []suggestion {
	out := []suggestion{}
	for _, c := range found {
		name := oneLine(orDefault(c.Label, c.Value))
		if name == "" || c.Value == "" || units(c.Value) > suggestionValue || len(out) == suggestionsMost {
			continue
		}
		out = append(out, suggestion{shorten(name, suggestionName), c.Value})
	}
	return out
}
