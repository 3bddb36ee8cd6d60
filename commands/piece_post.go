package commands

import (
	"context"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) piecePost() Command {
	where := textOption("where", price.FactVenue, "where it is offered", "market board")
	where.Required = true
	return Command{
		Path:    "piece post",
		Summary: "where the piece is offered and at what price; a lower price is a cut",
		Private: true,
		Options: []Option{
			where,
			{Name: "price", Summary: "the asking price", Kind: Money, Example: "480"},
			onOption("the day; today unless you say"), yesOption("down", "no longer offered there"), h.pieceOption(),
		},
		Examples: []string{"/piece post where:market board price:480", "/piece post where:market board down:yes"},
		Run:      h.answerPiecePost,
	}
}

func (h house) answerPiecePost(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	var before price.Sheet
	e, err := h.enter(ctx, in, func(m making) (price.Entry, error) {
		before = m.sheet
		if err := ended(m.sheet, m.piece.Number); err != nil {
			return price.Entry{}, err
		}
		e := price.Entry{Kind: price.EntryPost, Day: in.day("on"), Currency: m.sheet.Currency.Code(), Facts: in.facts(map[string]price.Fact{"where": price.FactVenue})}
		if in.yes("down", false) {
			e.Kind = price.EntryDown
			if !isPosted(m.sheet, in.text("where")) {
				in.fail(&Mistake{Option: "where", Given: measure.Quote(in.text("where")), Problem: "is not where the piece is offered", Try: venues(m.sheet)})
			}
			return e, in.err
		}
		if !in.has("price") {
			in.fail(&Mistake{Option: "price", Problem: "is needed: the asking price", Try: "price:480"})
		}
		e.Amount = in.minor(in.money("price"))
		for _, p := range m.sheet.Posts {
			if in.err == nil && price.StageKey(p.Venue) == price.StageKey(in.text("where")) && e.Day < p.Last {
				in.fail(&Mistake{Option: "on", Given: measure.Quote(in.text("on")), Problem: "is before its price there was last set, " + dateText(p.Last), Try: shortDay(p.Last)})
			}
		}
		if in.err == nil && e.Amount == 0 {
			in.fail(&Mistake{Option: "price", Given: measure.Quote(in.text("price")), Problem: "is nothing", Try: "480"})
		}
		return e, in.err
	})
	if err != nil {
		return Reply{}, err
	}
	return h.posted(ctx, in, e, before)
}

func isPosted(s price.Sheet, venue string) bool {
	for _, p := range s.Posts {
		if price.StageKey(p.Venue) == price.StageKey(venue) && !p.Down {
			return true
		}
	}
	return false
}

func venues(s price.Sheet) string {
	for _, p := range s.Posts {
		if !p.Down {
			return measure.Quote(p.Venue)
		}
	}
	return "/piece show"
}

// ended refuses what makes sense only before the end of a piece.
func ended(s price.Sheet, number int) error {
	if s.Ended == 0 {
		return nil
	}
	n := strconv.Itoa(number)
	return &Mistake{Option: "piece", Given: n, Problem: "is " + statusText(s.Status) + " since " + dateText(s.Ended), Try: "/piece reopen piece:" + n}
}

func (h house) posted(ctx context.Context, in *reading, e price.Entry, before price.Sheet) (Reply, error) {
	venue := oneLine(e.Facts[price.FactVenue])
	if e.Kind == price.EntryDown {
		return h.entered(ctx, in, e, "No longer offered at "+venue, "Read as: taken down on "+dateText(e.Day)+".")
	}
	c, err := price.ParseCurrency(e.Currency)
	if err != nil {
		return Reply{}, err
	}
	asked := price.NewMoney(e.Amount, c)
	title := "Offered at " + venue + " for " + moneyText(asked, in.req.Locale)
	notes := []string{"Read as: posted on " + dateText(e.Day) + "."}
	for _, p := range before.Posts {
		if price.StageKey(p.Venue) == price.StageKey(e.Facts[price.FactVenue]) && e.Amount < p.Now {
			title = "Cut at " + venue + " from " + moneyText(price.NewMoney(p.Now, c), in.req.Locale) + " to " + moneyText(asked, in.req.Locale)
		}
	}
	reply, err := h.entered(ctx, in, e, title, notes...)
	if err != nil {
		return Reply{}, err
	}
	return reply, h.withHourly(ctx, in, &reply, e.Piece, "ask_hourly", "The ask would pay", asked)
}

// withHourly adds what a price would pay an hour, as far as there are hours.
func (h house) withHourly(ctx context.Context, in *reading, reply *Reply, piece int, key, label string, at price.Money) error {
	sheet, err := h.sheet(ctx, in, piece)
	if err != nil {
		return err
	}
	if job := sheet.Job(); job.Hours > 0 {
		hourly, err := job.Hourly(at)
		if err != nil {
			return err
		}
		reply.Figures = append(reply.Figures, hourlyFigure(key, label, hourly, in.req))
		if wanted := sheet.Wanted(); sheet.Facts.Has(price.FactRate) {
			reply.Figures = append(reply.Figures, hourlyFigure("wanted_rate", "Wanted", wanted, in.req))
		}
	} else {
		reply.Notes = append(reply.Notes, "No hours yet: I cannot say what it would pay an hour. Add them with /piece time worked:1h30.")
	}
	return nil
}
