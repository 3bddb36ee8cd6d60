package commands

import (
	"context"
	"errors"
	"strings"

	"tallystick/calc/pool"
	"tallystick/calc/price"
)

// soldHere is what the published log says of pieces like this one.
type soldHere struct {
	line     pool.Line
	currency price.Currency
}

// figure finds a shown figure.
func (s *soldHere) figure(f pool.Figure) (pool.Published, bool) {
	if s != nil {
		for _, p := range s.line.Figures {
			if p.Figure == f && p.Shown {
				return p, true
			}
		}
	}
	return pool.Published{}, false
}

// beside puts what sold pieces fetched here beside the price, and never into it:
// of the same kind, or of all pieces where nothing is shown of that kind. Without
// either it says why.
func (h house) beside(ctx context.Context, c *charged, reply *Reply) (*soldHere, error) {
	community := c.deal.in.community
	if refused, ok := errors.AsType[*Refusal](h.admit(ctx, c.req, community)); ok {
		c.notes = append(c.notes, "What sold here: "+lowerFirst(refused.Sentence))
		return nil, nil
	}
	lines, err := h.Store.Published(ctx, c.req.Community)
	if err != nil {
		return nil, err
	}
	currency, err := logCurrency(community)
	if err != nil {
		return nil, err
	}
	locale := c.req.Locale
	about, kind := "all pieces", c.fields.category
	board := market{lines: lines, cut: pool.Everything, currency: currency, locale: locale, rules: rulesOf(community)}
	line, _ := board.line(pool.Everything)
	own, known := board.line(pool.CategoryCut(kind))
	switch {
	case kind != "" && known && own.Shown:
		about, line = "category "+kind, own
	case !line.Shown:
		c.notes = append(c.notes, "What sold here: "+lowerFirst(board.whyNot(line.Reason)))
		return nil, nil
	case kind != "":
		board.cut = pool.CategoryCut(kind)
		c.notes = append(c.notes, "Of the category "+kind+" nothing is shown here yet: "+board.reason(own.Reason, pool.PricePerBoardFoot)+".")
	}
	t := Table{Title: "Beside it: what sold here, " + about, Columns: []string{"figure", "median", "middle half"}}
	for _, p := range line.Figures {
		if !p.Shown {
			continue
		}
		row := []string{figureLabel(p.Figure), marketFigure(p, currency, locale).Text, "not shown"}
		if p.Middle != nil {
			row[2] = figureText(p.Figure, p.Middle.Low, currency, locale) + " to " + figureText(p.Figure, p.Middle.High, currency, locale)
		}
		t.Rows = append(t.Rows, row)
	}
	reply.Tables = append(reply.Tables, t)
	sold := &soldHere{line: line, currency: currency}
	invented := ""
	if community.Practice {
		invented = " Practice community: every sale in its log is invented."
	}
	c.notes = append(c.notes,
		"Sold here are medians from "+line.Makers.String()+" makers, one voice each, as of "+dayText(line.AsOf)+", rounded to steps of about "+board.steps(line)+": past sales, for orientation; each maker sets their own price."+invented)
	return sold, nil
}

// standingWords says where the piece would stand among those sold, by size.
func (c *charged) standingWords(sold *soldHere, figures []Figure) string {
	if sold == nil || len(c.prices) == 0 {
		return ""
	}
	if sold.currency != c.deal.in.currency {
		return "Those prices are in " + sold.currency.Code() + " and yours in " + c.deal.in.currency.Code() + "; I never convert money."
	}
	var parts []string
	for _, per := range []struct {
		key, words string
		figure     pool.Figure
	}{
		{"price_per_board_foot", "a board foot", pool.PricePerBoardFoot},
		{"price_per_square_foot", "a square foot of top", pool.PricePerSquareFoot},
	} {
		p, shown := sold.figure(per.figure)
		for _, f := range figures {
			if f.Key == per.key && shown {
				parts = append(parts, f.Text+" "+per.words+" beside "+figureText(per.figure, p.Value, sold.currency, c.req.Locale))
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	target, _ := c.target()
	return "Yours at the " + target.short + " would stand at " + strings.Join(parts, ", and at ") + "."
}

func marketAction(category string) Action {
	a := Action{Label: "What sold here", Path: "market show", Options: map[string]string{}}
	if category != "" {
		a.Options["category"] = category
	}
	return a
}
