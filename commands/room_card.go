package commands

import (
	"context"
	"errors"
	"strconv"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
	"tallystick/calc/pool"
	"tallystick/calc/price"
	"tallystick/store"
)

// roomReply draws the card as it stands. It is the same for everybody, the asker
// included, and holds nobody's own figure.
func (h house) roomReply(room store.Room, req Request) (Reply, error) {
	currency, err := price.ParseCurrency(room.Currency)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "What would you charge? " + capital(room.Card["piece"]), Update: true}
	t := Table{Columns: []string{"what", "it is"}}
	for _, row := range []struct{ key, label string }{{"size", "size"}, {"wood", "wood"}, {"board_feet", "wood in it"}, {"weight", "weight"}, {"note", "the asker says"}, {"name", "asked by"}} {
		if text := room.Card[row.key]; text != "" {
			t.Rows = append(t.Rows, []string{row.label, text})
		}
	}
	if len(t.Rows) > 0 {
		reply.Tables = append(reply.Tables, t)
	}
	answers := several(room.Answers, "answer")
	switch {
	case room.Shown:
		reply.Figures = []Figure{
			roomFigure("room_median", "The room would charge, in the middle", room.Median, currency, req.Locale),
			roomFigure("room_low", "The middle half from", room.Low, currency, req.Locale),
			roomFigure("room_high", "to", room.High, currency, req.Locale),
		}
		reply.Notes = append(reply.Notes, capital(answers)+". Median and middle half, rounded to steps of about 12 %, the half outwards; nobody's own figure is shown, to the asker neither.")
	case room.Closed:
		reply.Notes = append(reply.Notes, capital(answers)+", and it takes "+strconv.Itoa(store.RoomLeast)+" before anything is shown.")
	default:
		reply.Notes = append(reply.Notes, capital(answers)+" so far. From "+strconv.Itoa(store.RoomLeast)+" on I show the median and the middle half, rounded, and nobody's own figure.")
	}
	if room.Closed {
		reply.Figures = append(reply.Figures, momentFigure("room_closed", "Closed", room.Closes))
		reply.Notes = append(reply.Notes, "The single answers are deleted.")
		return reply, nil
	}
	reply.Figures = append(reply.Figures, momentFigure("room_closes", "Open until", room.Closes))
	reply.Notes = append(reply.Notes, "One answer each in "+room.Currency+", which can be changed; single answers are deleted when it closes. What you would charge is your own opinion: each maker sets their own price.")
	reply.Actions = []Action{
		{Label: "Say your price", Path: "room answer", Options: map[string]string{"room": room.Code, "card": "yes"}, Asks: true},
		{Label: "Close it (asker)", Path: "room close", Options: map[string]string{"room": room.Code, "card": "yes"}},
	}
	return reply, nil
}

func roomFigure(key, label string, v pool.Micros, c price.Currency, locale string) Figure {
	return Figure{Key: key, Label: label, Value: plainMicros(v), Unit: c.Code(), Text: moneyText(moneyOf(v, c), locale)}
}

var (
	roomOption = Option{Name: "room", Summary: "the code on the card", Kind: Code, Required: true, Example: "K7Q2MX"}
	// cardOption tells a press on the card, which everybody sees changing, from a
	// line that was typed, whose words others could look at beside a public answer.
	cardOption = Option{Name: "card", Summary: "yes changes the card for all, as its own buttons do", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}}
)

func roomUnknown(req Request) error {
	return &Mistake{Option: "room", Given: measure.Quote(req.Options["room"]), Problem: "is no question to the room that I know here, or one closed long ago", Try: "the code on its card"}
}

func (h house) roomShow() Command {
	return Command{
		Path:     "room show",
		Summary:  "the card of a question to the room, as it stands now",
		Options:  []Option{roomOption},
		Examples: []string{"/room show room:K7Q2MX"},
		Run: func(ctx context.Context, req Request) (Reply, error) {
			room, err := h.Store.Room(ctx, store.Who{Community: req.Community, Member: req.Member}, req.Options["room"], req.Time)
			if errors.Is(err, store.ErrNotFound) {
				return Reply{}, roomUnknown(req)
			}
			if err != nil {
				return Reply{}, err
			}
			return h.roomReply(room, req)
		},
	}
}

func (h house) roomAnswer() Command {
	return Command{
		Path:    "room answer",
		Summary: "say what you would charge for the piece on a card; only the pooled figures are shown",
		Private: true,
		Options: []Option{
			roomOption,
			{Name: "price", Summary: "what you would charge", Kind: Money, Required: true, Example: "430"},
			cardOption,
		},
		Examples:  []string{"/room answer room:K7Q2MX price:430"},
		Ask:       []string{"price"},
		FormTitle: "What would you charge?",
		Prefill:   func(context.Context, Request) (map[string]string, error) { return map[string]string{}, nil },
		Run:       h.answerRoomAnswer,
	}
}

// mostRoomPrice is a billion of any currency: no piece is worth it.
var mostRoomPrice = decimal.New(1, 9)

func (h house) answerRoomAnswer(ctx context.Context, req Request) (Reply, error) {
	who := store.Who{Community: req.Community, Member: req.Member}
	room, err := h.Store.Room(ctx, who, req.Options["room"], req.Time)
	if errors.Is(err, store.ErrNotFound) {
		return Reply{}, roomUnknown(req)
	}
	if err != nil {
		return Reply{}, err
	}
	value, said, err := roomPrice(room, req)
	if err != nil {
		return Reply{}, err
	}
	before := room
	room, err = h.Store.AnswerRoom(ctx, who, room.Code, value, req.Time)
	if errors.Is(err, store.ErrOwnRoom) {
		return Reply{}, &Refusal{Sentence: "You asked this one, so the others answer it."}
	}
	if errors.Is(err, store.ErrConflict) {
		return Reply{}, &Refusal{Sentence: "You have changed your answer " + several(store.RoomChanges, "time") + ", and I take no more changes: whoever could change it at will could find out what others said."}
	}
	if err != nil {
		return Reply{}, err
	}
	reply, err := h.roomReply(room, req)
	if err != nil || req.Options["card"] == "yes" {
		return reply, err
	}
	reply.Private = true
	switch {
	case room.Closed:
		reply.Notes = append([]string{"It was closed already: your price was not kept."}, reply.Notes...)
	case room.Answers == before.Answers:
		reply.Notes = append([]string{"Changed: your answer is now " + said + ". Only you see this line."}, reply.Notes...)
	default:
		reply.Notes = append([]string{"Kept: your answer is " + said + ". Only you see this line."}, reply.Notes...)
	}
	return reply, nil
}

// roomPrice reads an answer in the currency of the room.
func roomPrice(room store.Room, req Request) (pool.Micros, string, error) {
	currency, err := price.ParseCurrency(room.Currency)
	if err != nil {
		return 0, "", err
	}
	option, _ := req.command.Option("price")
	m, _, err := price.ParseMoney(req.Options["price"], currency)
	if err != nil {
		return 0, "", mistaken(option, err)
	}
	wrong := func(problem, try string) error {
		return &Mistake{Option: "price", Given: measure.Quote(req.Options["price"]), Problem: problem, Try: try}
	}
	switch {
	case m.Currency() != currency:
		return 0, "", wrong("is in "+m.Currency().Code()+" and this question counts in "+room.Currency+"; I never convert money", "the amount in "+room.Currency)
	case !m.IsPositive():
		return 0, "", wrong("is nothing", option.Example)
	case m.Decimal().GreaterThan(mostRoomPrice):
		return 0, "", wrong("is more than I count here", option.Example)
	}
	return micros(rat(m)), moneyText(m, req.Locale), nil
}

func (h house) roomClose() Command {
	return Command{
		Path:     "room close",
		Summary:  "close your own question to the room before its time",
		Options:  []Option{roomOption, cardOption},
		Examples: []string{"/room close room:K7Q2MX"},
		Run: func(ctx context.Context, req Request) (Reply, error) {
			who := store.Who{Community: req.Community, Member: req.Member}
			room, err := h.Store.Room(ctx, who, req.Options["room"], req.Time)
			if err == nil && !room.Own && !room.Closed {
				return Reply{}, &Refusal{Sentence: "Only who asked it can close it before its time. It closes by itself on " + momentText(room.Closes) + "."}
			}
			if err == nil {
				room, err = h.Store.CloseRoom(ctx, who, room.Code, req.Time)
			}
			if errors.Is(err, store.ErrNotFound) {
				return Reply{}, roomUnknown(req)
			}
			if err != nil {
				return Reply{}, err
			}
			return h.roomReply(room, req)
		},
	}
}
