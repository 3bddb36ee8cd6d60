package commands

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tallystick/store"
)

const (
	// usualRoomDays is how long a room is open unless the asker says.
	usualRoomDays = 3
	mostRoomDays  = 30
	// A card is read on a phone.
	roomNoteLimit = 300
	roomNameLimit = 40
)

func (h house) roomAsk() Command {
	return Command{
		Path:    "room ask",
		Summary: "ask everybody here what they would charge: a card without your costs",
		Options: []Option{
			{Name: "draft", Summary: "the code of what you asked by /charge; only the kind, wood, size and weight are shown", Kind: Code, Required: true, Example: "K7Q2MX"},
			{Name: "note", Summary: "what else to say about it, for all to read", Kind: Word, MaxLength: roomNoteLimit, Example: "oiled, through tenons"},
			{Name: "name", Summary: "the name to ask under; none unless you say", Kind: Word, MaxLength: roomNameLimit, Example: "ann"},
			{Name: "days", Summary: "how many days it is open, 1 to 30; 3 unless you say", Kind: Days, Example: "3"},
		},
		Examples:  []string{"/room ask draft:K7Q2MX days:5"},
		Ask:       []string{"note", "name", "days"},
		FormTitle: "Ask the room, without your costs",
		Run:       h.answerRoomAsk,
	}
}

func (h house) answerRoomAsk(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	days := usualRoomDays
	if in.has("days") {
		days = in.whole("days", 1, mostRoomDays)
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	told, err := h.question(ctx, req, req.Options["draft"])
	if err != nil {
		return Reply{}, err
	}
	asked := req.as(h.charge(), told)
	f, r, err := h.chargeFields(ctx, asked)
	if err != nil {
		return Reply{}, err
	}
	c, priced, err := h.charged(ctx, asked, f, r)
	if err != nil {
		return Reply{}, err
	}
	// What the answer used of the member's settings is not for the room.
	if req.used != nil {
		*req.used = nil
	}
	room, err := h.Store.OpenRoom(ctx, store.Who{Community: req.Community, Member: req.Member}, req.Delivery, store.Room{
		Currency: f.currency.Code(), Card: roomCard(f, c, priced, req), Closes: req.Time.Add(time.Duration(days) * 24 * time.Hour),
	}, req.Time)
	if errors.Is(err, store.ErrConflict) {
		return Reply{}, &Refusal{Sentence: fmt.Sprintf("You have %d questions open in the room, and that is as many as I keep for one member. Close one first: /room close.", store.RoomLimit)}
	}
	if err != nil {
		return Reply{}, full(err)
	}
	reply, err := h.roomReply(room, req)
	reply.Update = false // a card for all, beside the answer that only the asker sees
	return reply, err
}

// roomCard is what the room sees of a piece: nothing that was paid, wanted or taken.
func roomCard(f fields, c *charged, priced Reply, req Request) map[string]string {
	card := map[string]string{"piece": f.named()}
	put := func(name, text string) {
		if !blank(text) {
			card[name] = text
		}
	}
	if f.size != nil {
		put("size", sizeText(f.size, c.deal.in))
	}
	if len(f.woods) > 0 {
		put("wood", woodWords(f.woods))
	}
	for _, figure := range priced.Figures {
		if figure.Key == "weight" || figure.Key == "board_feet" {
			put(figure.Key, figure.Text)
		}
	}
	put("note", cutLine(req.Options["note"], roomNoteLimit))
	put("name", cutLine(req.Options["name"], roomNameLimit))
	return card
}

// cutLine keeps a member's own words to one line.
func cutLine(text string, most int) string {
	runes := []rune(plainWords(text))
	return string(runes[:min(len(runes), most)])
}
