package commands

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) batch() Command {
	return Command{
		Path:    "batch",
		Summary: "several alike: hours and price of each and of all, with set-up once and practice",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "pieces", Summary: "how many alike", Kind: Number, Required: true, Example: "8"},
			{Name: "hours", Summary: "your own time on the first one, without the set-up", Kind: Hours, Example: "6"},
			{Name: "materials", Summary: "what you pay out for one; amounts may be added with +", Kind: Money, MaxLength: 200, Example: "38.50"},
			{Name: "setup", Summary: "time spent once for all: jigs, stops, a cutting list", Kind: Hours, Example: "1h30"},
			{Name: "once", Summary: "money spent once for all: a jig, a stall, a pattern", Kind: Money, MaxLength: 200, Example: "45"},
			{Name: "learning", Summary: "time of a piece when their number doubles, as part of before", Kind: Percent, Example: "90%"},
			{Name: "allowance", Summary: "part of the day that fetching, cleaning and rest take, if not in the hours", Kind: Percent, Example: "15%"},
			rateOption,
			lowestRateOption,
			feeOption,
			fixedFeeOption,
			h.venueOption("or the venue they sell at, one of yours"),
			haggleOption,
			stepOption,
			overheadOption,
			taxOption,
			includedOption,
			feeOnTaxOption,
		},
		Examples: []string{
			"/batch pieces:8 hours:6 setup:1h30 materials:38.50 learning:90% rate:25",
			"/batch pieces:12 hours:0h50 materials:6.20 once:45 rate:22 fee:6.5%",
		},
		Ask:       []string{"pieces", "hours", "materials", "setup", "rate"},
		FormTitle: "several alike",
		Run:       h.answerBatch,
	}
}

func (h house) answerBatch(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	r, err := in.run()
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: several(r.Count, "piece") + " alike", Private: true}
	if r.Count == 1 {
		reply.Title = "One piece"
	}
	if len(r.venues) > 0 {
		reply.Title += ", sold at " + r.venues[0].name
	}
	if r.timed() {
		hours, err := r.Hours()
		if err != nil {
			return Reply{}, err
		}
		each := (hours + time.Duration(r.Count)/2) / time.Duration(r.Count)
		reply.Figures = append(reply.Figures, timeFigure("hours_all", "Time for all", hours),
			timeFigure("hours_each", "Time for each, set-up shared", each.Round(time.Minute)))
	}
	if err := r.prices(&reply); err != nil {
		return Reply{}, err
	}
	if r.timed() && !r.Learning.IsNone() {
		t, err := r.pieceTable()
		if err != nil {
			return Reply{}, err
		}
		reply.Tables = append(reply.Tables, t)
	}
	reply.Notes = append(reply.Notes, r.notes()...)
	return reply, nil
}

// run is a batch with what was said around it.
type run struct {
	deal
	price.Batch
	allowance price.Fraction
}

func (in *reading) run() (run, error) {
	r := run{deal: in.deal(), allowance: in.fraction("allowance")}
	r.Batch = price.Batch{Count: in.whole("pieces", 1, price.MostPieces), Setup: in.hours("setup"), Once: in.money("once"),
		Learning: price.NoLearning}
	if in.has("learning") {
		r.Learning = value(in, "learning", price.ParseLearning)
	}
	if r.known("rate") {
		r.haggle = in.haggle()
	}
	if in.err == nil && !r.span.Known() {
		in.fail(&Mistake{Option: "hours", Given: measure.Quote(in.req.Options["hours"]), Problem: "is a range, and a batch goes by the time of the first piece", Try: "6"})
	}
	if in.err != nil {
		return r, in.err
	}
	if len(r.venues) > 1 {
		return r, &Mistake{Option: "venue", Given: measure.Quote(in.req.Options["venue"]), Problem: "is more than one", Try: r.venues[0].name}
	}
	if !in.has("hours") && !in.has("materials") && !in.has("once") {
		return r, &Mistake{Option: "hours", Problem: "and materials are both missing, so there is nothing to price", Try: in.req.command.Examples[0]}
	}
	r.Piece = r.job
	var err error
	r.Piece.Hours, err = price.StandardTime(r.span.High, r.allowance)
	return r, err
}

// prices adds what each costs sold by itself, and what all cost as one lot.
func (r run) prices(reply *Reply) error {
	var failed error
	req := r.in.req
	add := func(key, label string, m price.Money, err error) {
		if err != nil {
			failed = err
			return
		}
		reply.Figures = append(reply.Figures, moneyFigure(key, label, m, req))
	}
	none, nothing := price.Fraction{}, price.Money{}
	m, err := r.Each(nothing, none, nothing)
	add("break_even_each", "Break-even of each", m, err)
	if r.known("lowest-rate") {
		m, err = r.Each(r.lowest, none, nothing)
		add("floor_each", "Lowest worth taking for each", m, err)
	}
	if !r.known("rate") {
		m, err = r.All(nothing, none, nothing)
		add("break_even_all", "Break-even of all as one lot", m, err)
		return failed
	}
	each, err := r.Each(r.wanted, none, r.step)
	add("price_each", "Target for each, sold by itself", each, err)
	if !r.haggle.IsZero() {
		m, err = r.Each(r.wanted, r.haggle, r.step)
		add("asking_each", "Asking for each", m, err)
	}
	m, err = r.All(r.wanted, none, r.step)
	add("price_all", "Target for all as one lot", m, err)
	if failed != nil {
		return failed
	}
	n, err := r.PiecesToCover(each)
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, Figure{Key: "pieces_to_cover", Label: "Sold at that, your money is back after",
		Value: strconv.FormatInt(n, 10), Unit: "1", Text: fmt.Sprintf("%d of %d", n, r.Count)})
	return nil
}

// pieceTable shows how the time of a piece falls: the first, each doubling, the
// last.
func (r run) pieceTable() (Table, error) {
	times, err := r.Times()
	if err != nil {
		return Table{}, err
	}
	t := Table{Title: "Time of a piece", Columns: []string{"piece", "takes", "all so far"}}
	var sum time.Duration
	next := 1
	for i, d := range times {
		sum += d
		if n := i + 1; n == next || n == len(times) {
			soFar := (sum + r.Setup + time.Minute - 1).Truncate(time.Minute) // up, as the time for all is
			t.Rows = append(t.Rows, []string{strconv.Itoa(n), measure.FormatDuration(d.Round(time.Minute)), measure.FormatDuration(soFar)})
			next = 2 * n
		}
	}
	return t, nil
}

func (r run) notes() []string {
	in, locale := r.in, r.in.req.Locale
	typed := func(name, text string) string {
		if !in.has(name) {
			return ""
		}
		return text
	}
	read := r.readAs(typed("setup", measure.FormatDuration(r.Setup)+" of set-up"), typed("once", moneyText(r.Once, locale)+" paid once"),
		typed("learning", r.Learning.Percent()+" % learning"), typed("allowance", r.allowance.Percent()+" % allowance"))
	model := ""
	switch {
	case !r.timed():
	case r.Learning.IsNone():
		model = "Every piece is counted as long as the first. Where practice makes you quicker, add learning:90%."
	default:
		model = "Unit model of learning (Crawford): each doubling of the count brings the time of one piece to " + r.Learning.Percent() +
			" %. An estimate; 85 to 95 % for hand work is common practice, without a source. The total is rounded up to the minute before it meets money."
	}
	if in.has("allowance") {
		model += " The first piece with its allowance takes " + measure.FormatDuration(r.Piece.Hours.Round(time.Minute)) + "; the allowance is a share of the whole time."
	}
	once := "Each by itself pays the fixed fee every time, all as one lot once. "
	if !r.Piece.Fixed.IsPositive() {
		once = ""
	}
	return said(read, r.hole(), model, once+"Materials are for one piece, and every price counts on all of them selling.", r.roundings(), r.taxNote())
}

func (r run) roundings() string {
	small := coin(r.in.currency, r.in.req.Locale)
	if !r.step.IsPositive() {
		return "Prices are rounded up to the next " + small + "."
	}
	return "Target and asking are rounded up to whole steps of " + moneyText(r.step, r.in.req.Locale) + ", the others up to the next " + small + "."
}

// hole names the one missing thing that matters most.
func (r run) hole() string {
	switch {
	case !r.timed():
		return "No hours yet: I can give the break-even only. Add hours:6, the time of the first piece."
	case !r.known("rate"):
		return "No wanted rate yet: I can give no target. Add rate:25."
	case !r.in.has("materials"):
		return "No materials yet: I counted nothing for wood and finish. Add materials:38.50, for one piece."
	}
	return ""
}
