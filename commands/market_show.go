package commands

import (
	"context"
	"slices"
	"time"

	"tallystick/calc/pool"
	"tallystick/calc/price"
)

func (h house) marketShow() Command {
	return Command{
		Path:    "market show",
		Summary: "what such pieces sold for around here, and where yours stands",
		Options: append(h.cutOptions(),
			Option{Name: "mine", Summary: "your own price a board foot, or a cubic metre where bare numbers are metric", Kind: PerFoot, Example: "14.20/bf"},
			Option{Name: "price", Summary: "or the price of your piece, together with its board feet", Kind: Money, Example: "430"},
			Option{Name: "board-feet", Summary: "the board feet of wood in your piece", Kind: Quantity, Example: "14.5"},
		),
		Examples: []string{"/market show", "/market show category:bench mine:29.70/bf", "/market show category:bench price:430 board-feet:14.5"},
		Run:      h.answerMarketShow,
	}
}

// cutOptions are the options that name a part of the log.
func (h house) cutOptions() []Option {
	return []Option{
		{Name: "category", Summary: "one kind of piece; all of them unless you say", Kind: Word, Example: "bench", Complete: h.completeWords(categoriesOf)},
		{Name: "region", Summary: "or one region; the whole area unless you say", Kind: Word, Example: "harbour", Complete: h.completeWords(regionsOf)},
	}
}

// cut reads which part of the log is asked for, and its name.
func (in *reading) cut() (cut pool.Cut, about string) {
	if in.has("category") && in.has("region") {
		in.fail(&Mistake{Option: "region", Problem: "and category together would be too few makers to hide in", Try: "one of the two"})
	}
	cut, about = pool.Everything, "All pieces"
	if c := in.listed("category", in.community.Categories); c != "" {
		cut, about = pool.CategoryCut(c), "Category "+c
	}
	if r := in.listed("region", in.community.Regions); r != "" {
		cut, about = pool.RegionCut(r), "Region "+r
	}
	return cut, about
}

func (h house) answerMarketShow(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	cut, about := in.cut()
	mine, read := in.mine(), in.mineRead()
	if in.err != nil {
		return Reply{}, in.err
	}
	if err := h.admit(ctx, req, in.community); err != nil {
		return Reply{}, err
	}
	lines, err := h.Store.Published(ctx, req.Community)
	if err != nil {
		return Reply{}, err
	}
	currency, err := logCurrency(in.community)
	if err != nil {
		return Reply{}, err
	}
	board := market{lines: lines, cut: cut, about: about, currency: currency, locale: req.Locale, mine: mine, rules: rulesOf(in.community)}
	// What somebody asks for a piece is their own business; the log is everybody's.
	reply := Reply{Title: about + ": what sold around here", Private: mine != nil, Notes: said(read)}
	if in.community.Practice {
		reply.Notes = append(reply.Notes, "Practice community: every sale in this log is invented.")
	}
	if line, ok := board.line(cut); ok && line.Shown {
		board.figures(&reply, line)
	} else {
		reply.Notes = append(reply.Notes, board.whyNot(line.Reason))
	}
	board.inCubicMetres(&reply, in)
	board.estimate(&reply)
	board.standing(&reply)
	reply.Picture = board.picture().again(req.Path, req.Options)
	reply.Notes = append(reply.Notes, "Past sales, for orientation; each maker sets their own price.")
	return reply, nil
}

// A market is what was published, and what is asked of it.
type market struct {
	lines    []pool.Line
	cut      pool.Cut
	about    string
	currency price.Currency
	locale   string
	// mine is the asker's own price a board foot, nil when none was given.
	mine  *pool.Micros
	rules pool.Rules
}

func (m market) line(cut pool.Cut) (pool.Line, bool) {
	i := slices.IndexFunc(m.lines, func(l pool.Line) bool { return l.Cut == cut })
	if i < 0 {
		return pool.Line{}, false
	}
	return m.lines[i], true
}

// perFoot gives the published price a board foot of a cut.
func (m market) perFoot(cut pool.Cut) (pool.Published, bool) {
	line, _ := m.line(cut)
	return line.Figure(pool.PricePerBoardFoot)
}

// figures puts a shown cut into a reply: a figure a median, and a table with the
// middle half where it may be given.
func (m market) figures(reply *Reply, line pool.Line) {
	var middles [][]string
	for _, p := range line.Figures {
		if !p.Shown {
			reply.Notes = append(reply.Notes, capital(figureLabel(p.Figure))+": not shown, "+m.reason(p.Reason, p.Figure)+".")
			continue
		}
		reply.Figures = append(reply.Figures, marketFigure(p, m.currency, m.locale))
		if p.AsOf != line.AsOf {
			reply.Notes = append(reply.Notes, capital(figureLabel(p.Figure))+": still as of "+dayText(p.AsOf)+", for too few makers have changed since.")
		}
		if p.Middle != nil {
			middles = append(middles, []string{figureLabel(p.Figure),
				figureText(p.Figure, p.Middle.Low, m.currency, m.locale), figureText(p.Figure, p.Middle.High, m.currency, m.locale)})
		}
	}
	if len(middles) > 0 {
		reply.Tables = append(reply.Tables, Table{Title: "The middle half of makers", Columns: []string{"figure", "from", "to"}, Rows: middles})
	}
	reply.Notes = append(reply.Notes, "Medians from "+line.Makers.String()+" makers, one voice each, as of "+dayText(line.AsOf)+
		", of sales at least "+daysText(m.rules.Age)+" old. Rounded to steps of about "+m.steps(line)+".")
}

// steps is how coarsely the cut is rounded.
func (m market) steps(line pool.Line) string {
	if int(line.Makers) < m.rules.FineMakers {
		return "26 %, for there are few of them"
	}
	return "12 %"
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
