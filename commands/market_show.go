package commands

import (
	"context"
	"time"

	"tallystick/calc/pool"
	"tallystick/calc/price"
)

func (h house) marketShow() Command {
	return Command{
		Path:    "market show",
		Summary: "what such pieces sold for around here, from the pooled local log",
		Options: []Option{
			{Name: "category", Summary: "one kind of piece; all of them unless you say", Kind: Word, Example: "bench", Complete: h.completeWords(categoriesOf)},
			{Name: "region", Summary: "or one region; the whole area unless you say", Kind: Word, Example: "harbour", Complete: h.completeWords(regionsOf)},
		},
		Examples: []string{"/market show", "/market show category:bench"},
		Run:      h.answerMarketShow,
	}
}

func (h house) answerMarketShow(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	if in.has("category") && in.has("region") {
		return Reply{}, &Mistake{Option: "region", Problem: "and category together would be too few makers to hide in", Try: "one of the two"}
	}
	cut, about := pool.Everything, "All pieces"
	if c := in.listed("category", in.community.Categories); c != "" {
		cut, about = pool.CategoryCut(c), "Category "+c
	}
	if r := in.listed("region", in.community.Regions); r != "" {
		cut, about = pool.RegionCut(r), "Region "+r
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	lines, err := h.Store.Published(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	currency, err := logCurrency(in.community)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: about + ": what sold around here"}
	if in.community.Practice {
		reply.Notes = append(reply.Notes, "Practice community: every sale in this log is invented.")
	}
	line, ok := lineOf(lines, cut)
	if ok && line.Shown {
		marketFigures(&reply, line, currency, req.Locale)
	} else {
		reply.Notes = append(reply.Notes, whyNot(line.Reason))
	}
	reply.Notes = append(reply.Notes, "Past sales, for orientation; each maker sets their own price.")
	return reply, nil
}

func lineOf(lines []pool.Line, cut pool.Cut) (pool.Line, bool) {
	for _, l := range lines {
		if l.Cut == cut {
			return l, true
		}
	}
	return pool.Line{}, false
}

// marketFigures puts a shown cut into a reply: a figure a median, and a table
// with the middle half where it may be given.
func marketFigures(reply *Reply, line pool.Line, currency price.Currency, locale string) {
	var middles [][]string
	for _, p := range line.Figures {
		if !p.Shown {
			reply.Notes = append(reply.Notes, capital(figureLabel(p.Figure))+": not shown, "+reasonWords(p.Reason)+".")
			continue
		}
		reply.Figures = append(reply.Figures, marketFigure(p, currency, locale))
		if p.AsOf != line.AsOf {
			reply.Notes = append(reply.Notes, capital(figureLabel(p.Figure))+": still as of "+dayText(p.AsOf)+", for too few makers have changed since.")
		}
		if p.Middle != nil {
			middles = append(middles, []string{figureLabel(p.Figure),
				figureText(p.Figure, p.Middle.Low, currency, locale), figureText(p.Figure, p.Middle.High, currency, locale)})
		}
	}
	if len(middles) > 0 {
		reply.Tables = []Table{{Title: "The middle half of makers", Columns: []string{"figure", "from", "to"}, Rows: middles}}
	}
	reply.Notes = append(reply.Notes, "Medians from "+line.Makers.String()+" makers, one voice each, as of "+dayText(line.AsOf)+
		", of sales at least 90 days old. Rounded to steps of about 12 %.")
}

func marketFigure(p pool.Published, currency price.Currency, locale string) Figure {
	f := Figure{Key: p.Figure.String(), Label: "Median " + figureLabel(p.Figure), Value: plainMicros(p.Value), Unit: currency.Code(),
		Text: figureText(p.Figure, p.Value, currency, locale)}
	switch p.Figure {
	case pool.DaysToSell:
		f.Unit, f.Text = "d", p.Days().String()+" days"
	case pool.SoldToAsked:
		f.Unit = "1"
	case pool.RealisedHourly:
		f.Unit += "/h"
	case pool.PricePerBoardFoot:
		f.Unit += "/bf"
	case pool.PricePerSquareFoot:
		f.Unit += "/ft2"
	}
	return f
}

func dayText(d pool.Day) string {
	year, month, day := d.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Format("2 January 2006")
}

// whyNot says why a cut shows nothing yet.
func whyNot(reason pool.Reason) string {
	return "Nothing is shown here yet: " + reasonWords(reason) + ". Each shared sale brings it nearer; see /help command:sale share."
}

func reasonWords(reason pool.Reason) string {
	switch reason {
	case pool.TooFewActive:
		return "fewer than 15 makers share, and until then only all pieces together are given"
	case pool.TooFewChanged:
		return "it has not changed enough since it was last shown"
	case pool.SmallRemainder:
		return "showing it would leave the few makers outside it in the open"
	}
	return "fewer than 8 makers stand behind it with sales older than 90 days"
}
