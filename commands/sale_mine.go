package commands

import (
	"context"
	"strconv"

	"tallystick/calc/pool"
	"tallystick/store"
)

func (h house) saleMine() Command {
	return Command{
		Path:     "sale mine",
		Summary:  "the sales you have shared, as the log keeps them",
		Private:  true,
		Examples: []string{"/sale mine"},
		Run:      h.answerSaleMine,
	}
}

func (h house) answerSaleMine(ctx context.Context, req Request) (Reply, error) {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	currency, err := logCurrency(community)
	if err != nil {
		return Reply{}, err
	}
	who := store.Who{Community: req.Community, Member: req.Member}
	sales, err := h.Store.Sales(ctx, who)
	if err != nil {
		return Reply{}, err
	}
	if len(sales) == 0 {
		return Reply{Title: "You have shared no sale", Private: true,
			Notes: []string{"Nothing of yours is in the log. To share one: " + h.saleShare().Examples[0]}}, nil
	}
	t := Table{Columns: []string{"no.", "sold", "piece", "price", "a board foot"}}
	for _, s := range sales {
		row := []string{strconv.Itoa(s.Number), s.Sale.Sold.String(), s.Sale.Category}
		for _, f := range []pool.Figure{pool.Price, pool.PricePerBoardFoot} {
			cell := ""
			if v, ok := s.Sale.Values.Of(f); ok {
				cell = figureText(f, v, currency, req.Locale)
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	reply := Reply{Title: "Sales you have shared", Private: true, Tables: []Table{t}}
	consent, given, err := h.Store.Consent(ctx, who)
	if err != nil {
		return Reply{}, err
	}
	if given {
		reply.Notes = append(reply.Notes, "You agreed to the sharing on "+consent.Given.UTC().Format("2 January 2006")+" (wording "+strconv.Itoa(consent.Wording)+").")
	}
	reply.Notes = append(reply.Notes, "To take one back: /sale withdraw sale:"+t.Rows[0][0]+". To take back everything: /sale withdraw all:yes.")
	return reply, nil
}
