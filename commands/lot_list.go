package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
	"tallystick/store"
)

const lotsShown = 10

func (h house) lotList() Command {
	return Command{
		Path:    "lot list",
		Summary: "your lots: what is left of each, and which pieces took how much",
		Private: true,
		Options: []Option{
			{Name: "lot", Summary: "one lot, with every share", Kind: Number, Example: "1", Complete: h.completeLots},
			{Name: "before", Summary: "older lots than this number", Kind: Number, Example: "11"},
		},
		Examples: []string{"/lot list", "/lot list lot:1"},
		Run:      h.answerLotList,
	}
}

func (h house) answerLotList(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	var lots []price.Lot
	before := in.whole("before", 1, price.MaxNumber)
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) (err error) {
		if in.has("lot") {
			lot, err := in.lotOf(ctx, b)
			lots = []price.Lot{lot}
			return err
		}
		lots, err = b.Lots(ctx, before, lotsShown+1)
		return err
	})
	if err == nil {
		err = in.err
	}
	switch {
	case err != nil:
		return Reply{}, err
	case len(lots) == 0:
		return Reply{Title: "No lots here", Private: true, Notes: []string{"A lot is stock that several pieces share: " + h.lotAdd().Examples[0]}}, nil
	case in.has("lot"):
		return lotReply(in, lots[0]), nil
	}
	t := Table{Columns: []string{"lot", "what", "left", "worth"}}
	for _, l := range lots[:min(len(lots), lotsShown)] {
		left, worth := l.Left()
		t.Rows = append(t.Rows, []string{strconv.Itoa(l.Number), shorten(oneLine(l.Facts[price.FactWhat]), 24), millionthsText(left, l.Facts[price.FactUnit]),
			moneyText(price.NewMoney(worth, l.Currency), req.Locale)})
	}
	reply := Reply{Title: "Your lots", Private: true, Tables: []Table{t}, Notes: []string{"Shares of one lot: /lot list lot:" + t.Rows[0][0] + "."}}
	if len(lots) > lotsShown {
		reply.Actions = []Action{{Label: "Older", Path: "lot list", Options: map[string]string{"before": strconv.Itoa(lots[lotsShown-1].Number)}}}
	}
	return reply, nil
}

func lotReply(in *reading, l price.Lot) Reply {
	unit := l.Facts[price.FactUnit]
	money := func(minor int64) string { return moneyText(price.NewMoney(minor, l.Currency), in.req.Locale) }
	t := Table{Columns: []string{"entry", "piece", "took", "cost"}}
	for _, s := range l.Shares {
		t.Rows = append(t.Rows, []string{strconv.Itoa(s.Entry), strconv.Itoa(s.Piece), millionthsText(s.Millionths, unit), money(s.Cost)})
	}
	left, worth := l.Left()
	t.Rows = append(t.Rows, []string{"", "left", millionthsText(left, unit), money(worth)}, []string{"", "in all", millionthsText(l.Millionths, unit), money(l.Amount)})
	title := "Lot " + strconv.Itoa(l.Number)
	if what := oneLine(l.Facts[price.FactWhat]); what != "" {
		title += ": " + what
	}
	return Reply{Title: title, Private: true, Tables: []Table{t}, Notes: []string{"Bought on " + dateText(l.Day) + ". Costs are shared by quantity, to the last coin.",
		"To put the lot right: /piece correct entry:" + strconv.Itoa(l.Entry) + " with amount: or quantity:. Every share follows."}}
}
