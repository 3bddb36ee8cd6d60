package commands

import (
	"context"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceOffer() Command {
	who := textOption("who", price.FactWho, "a nickname of the buyer; you choose it", "Blue van")
	who.Required = true
	return Command{
		Path:    "piece offer",
		Summary: "who would pay how much, and until when the piece is held",
		Private: true,
		Options: []Option{
			who,
			{Name: "amount", Summary: "what they would pay", Kind: Money, Example: "400"},
			{Name: "hold", Summary: "how long, or until which day, it is held", Kind: Date, Example: "48h"},
			yesOption("gone", "they no longer want it"), onOption("the day; today unless you say"), h.pieceOption(),
		},
		Examples: []string{"/piece offer who:Blue van amount:400 hold:48h", "/piece offer who:Blue van gone:yes"},
		Ask:      []string{"who", "amount", "hold"}, FormTitle: "an offer",
		Run: h.answerPieceOffer,
	}
}

func (h house) answerPieceOffer(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		if err := ended(m.sheet, m.piece.Number); err != nil {
			return price.Entry{}, err
		}
		e := price.Entry{Kind: price.EntryOffer, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Facts: in.facts(map[string]price.Fact{"who": price.FactWho})}
		if in.yes("gone", false) {
			e.Kind = price.EntryGone
			return e, in.knownOffer(m.sheet)
		}
		if !in.has("amount") {
			in.fail(&Mistake{Option: "amount", Problem: "is needed: what they would pay", Try: "amount:400"})
		}
		e.Amount = in.minor(in.money("amount"))
		if hold := in.until("hold"); hold > 0 {
			e.Facts[price.FactHold] = price.NumberFact(hold)
		}
		return e, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	who := oneLine(e.Facts[price.FactWho])
	if e.Kind == price.EntryGone {
		return h.entered(ctx, in, e, who+" no longer wants it")
	}
	c, err := price.ParseCurrency(e.Currency)
	if err != nil {
		return Reply{}, err
	}
	at := price.NewMoney(e.Amount, c)
	reply, err := h.entered(ctx, in, e, who+" would pay "+moneyText(at, req.Locale))
	if err != nil {
		return Reply{}, err
	}
	if hold := e.Facts.Number(price.FactHold); hold > 0 {
		reply.Figures = append(reply.Figures, momentFigure("held_until", "Held for them until", time.Unix(hold, 0)))
	}
	reply.Actions = append([]Action{{Label: "Sell it for that", Path: "piece sold", Options: map[string]string{
		"price": at.Plain(), "piece": strconv.Itoa(e.Piece), "to": e.Facts[price.FactWho]}}}, reply.Actions...)
	return reply, h.withHourly(ctx, in, &reply, e.Piece, "offer_hourly", "The offer would pay", at)
}

func (in *reading) knownOffer(s price.Sheet) error {
	for _, o := range s.Offers {
		if price.StageKey(o.Who) == price.StageKey(in.text("who")) && !o.Gone {
			return in.err
		}
	}
	try := "/piece show"
	if len(s.Offers) > 0 {
		try = measure.Quote(s.Offers[len(s.Offers)-1].Who)
	}
	return &Mistake{Option: "who", Given: measure.Quote(in.text("who")), Problem: "has no offer open on this piece", Try: try}
}

// sheet reads one piece's sheet.
func (h house) sheet(ctx context.Context, in *reading, piece int) (price.Sheet, error) {
	var sheet price.Sheet
	err := h.Store.ReadBook(ctx, whoAsks(in.req), func(b *store.Book) (err error) {
		sheet, err = b.Sheet(ctx, piece)
		return err
	})
	return sheet, err
}
