package commands

import (
	"context"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) rate() Command {
	return Command{
		Path:    "rate",
		Summary: "what a sale really paid for an hour of your time",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "sold", Summary: "the price the piece sold for", Kind: Money, Required: true, Example: "430"},
			spanOption,
			materialsOption,
			rateOption,
			feeOption,
			fixedFeeOption,
			h.venueOption("or the venue it sold at, one of yours"),
			{Name: "discount", Summary: "what you took off that price in the end, if it is not off already", Kind: Discount, Example: "10%"},
			{Name: "delivery", Summary: "what bringing it cost you", Kind: Money, MaxLength: 200, Example: "23.20"},
			{Name: "helpers", Summary: "what you paid others for their hours, in cash", Kind: Money, MaxLength: 200, Example: "40 + 25"},
			overheadOption,
			taxOption,
			includedOption,
			feeOnTaxOption,
		},
		Examples: []string{
			"/rate sold:430 hours:14.25 materials:124.90 fee:2.9% fixed-fee:0.30",
			"/rate sold:430 discount:5% hours:14.25 materials:101.70 delivery:23.20 helpers:40",
		},
		Ask:       []string{"sold", "hours", "materials", "fee", "rate"},
		FormTitle: "what a sale really paid",
		Run:       h.answerRate,
	}
}

func (h house) answerRate(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	d, err := in.sold()
	if err != nil {
		return Reply{}, err
	}
	statement, err := d.job.Statement(d.paid)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "What the sale paid", Private: true}
	if reply.Figures, err = d.hourlyFigures("realised_hourly", "Realised rate", d.paid); err != nil {
		return Reply{}, err
	}
	reply.Figures = append(reply.Figures, moneyFigure("left", "Left for your own time", statement.Left, req))
	if t := d.whereItWent(statement); len(t.Rows) > 2 {
		reply.Tables = []Table{t}
	}
	reply.Notes = d.rateNotes(statement)
	return reply, nil
}

// sale is a deal that is done.
type sale struct {
	deal
	sold, paid         price.Money
	off                string // the discount as it was read
	delivery, helpers  price.Money
	materials, allCost price.Money
}

// sold reads a finished sale: the price less the discount, and every cost.
func (in *reading) sold() (sale, error) {
	s := sale{deal: in.deal(), sold: in.money("sold"), delivery: in.money("delivery"), helpers: in.money("helpers")}
	s.paid = s.sold
	if in.err == nil && in.has("discount") {
		s.discount()
	}
	if in.err != nil {
		return s, in.err
	}
	if len(s.venues) > 1 {
		return s, &Mistake{Option: "venue", Given: measure.Quote(in.req.Options["venue"]), Problem: "is more than one, and a piece sells at one", Try: s.venues[0].name}
	}
	var err error
	s.materials = s.job.Cost
	if s.allCost, err = s.materials.Add(s.delivery); err != nil {
		return s, err
	}
	if s.allCost, err = s.allCost.Add(s.helpers); err != nil {
		return s, err
	}
	s.job.Cost = s.allCost
	return s, nil
}

// discount takes a percentage or an amount off the price.
func (s *sale) discount() {
	in := s.in
	text := in.req.Options["discount"]
	if strings.Contains(text, "%") {
		part := in.fraction("discount")
		var err error
		if s.paid, err = price.Discounted(s.sold, part); err != nil {
			in.fail(err)
		}
		s.off = part.Percent() + " %"
		return
	}
	off := in.money("discount")
	if in.err == nil && off.Cmp(s.sold) > 0 {
		in.fail(&Mistake{Option: "discount", Given: measure.Quote(text), Problem: "is more than the piece sold for", Try: "10% or 20"})
		return
	}
	var err error
	if s.paid, err = s.sold.Less(off); err != nil {
		in.fail(err)
	}
	s.off = moneyText(off, in.req.Locale)
}

// hourlyFigures is what a price pays an hour, twice where the time is a range, and
// nothing where there is no time.
func (d deal) hourlyFigures(key, label string, at price.Money) ([]Figure, error) {
	if !d.timed() {
		return nil, nil
	}
	high, err := d.job.Hourly(at)
	if err != nil {
		return nil, err
	}
	if d.span.Known() || d.span.Low <= 0 {
		return []Figure{hourlyFigure(key, label, high, d.in.req)}, nil
	}
	low, err := d.at(d.span.Low).Hourly(at)
	if err != nil {
		return nil, err
	}
	return []Figure{
		hourlyFigure(key+"_low", label+", if it took "+measure.FormatDuration(d.span.High), high, d.in.req),
		hourlyFigure(key+"_high", label+", if it took "+measure.FormatDuration(d.span.Low), low, d.in.req),
	}, nil
}

// whereItWent is the sale line by line, without lines of nothing.
func (s sale) whereItWent(st price.Statement) Table {
	locale := s.in.req.Locale
	t := Table{Title: "Where the money went", Columns: []string{"for", "amount"}}
	t.Rows = append(t.Rows, []string{"the buyer paid", moneyText(st.Paid, locale)})
	for _, line := range []struct {
		what string
		m    price.Money
	}{
		{"sales tax", st.Tax}, {"percentage fee", st.Fee}, {"the shop's share", st.Share}, {"fixed fee", st.Fixed},
		{"materials", s.materials}, {"delivery", s.delivery}, {"helpers", s.helpers}, {"overhead", st.Overhead},
	} {
		if line.m.IsPositive() {
			t.Rows = append(t.Rows, []string{line.what, moneyText(line.m, locale)})
		}
	}
	t.Rows = append(t.Rows, []string{"left for you", moneyText(st.Left, locale)})
	return t
}

func (s sale) rateNotes(st price.Statement) []string {
	in, locale := s.in, s.in.req.Locale
	read := "Sold at " + moneyText(s.sold, locale)
	if s.off != "" {
		read += " less " + s.off + ", so " + moneyText(s.paid, locale)
	}
	paidOut := func(m price.Money, what string) string {
		if !m.IsPositive() {
			return ""
		}
		return moneyText(m, locale) + what
	}
	plain := s.deal
	plain.job.Cost = s.materials
	notes := []string{then(read+".", plain.readAs(paidOut(s.delivery, " of delivery"), paidOut(s.helpers, " to helpers")))}
	switch {
	case !s.timed():
		notes = append(notes, "No hours yet: I cannot say what an hour was paid. Add hours:"+hoursOption.Example+".")
	case st.Left.IsNegative():
		notes = append(notes, "The sale did not cover what you paid out; the figure below zero is what each hour cost you.")
	case !in.has("materials"):
		notes = append(notes, "No materials yet: I counted nothing paid out for wood or finish, so the true figure is lower.")
	}
	if s.known("rate") && !st.Left.IsNegative() {
		notes = append(notes, s.againstWanted())
	}
	if in.has("helpers") {
		notes = append(notes, "Helpers count at what you paid them; only your own hours share what is left.")
	}
	notes = append(notes, "Rounded to the nearest "+coin(in.currency, locale)+".")
	if !s.job.Tax.IsZero() {
		notes = append(notes, s.taxNote())
	}
	return said(notes...)
}

// againstWanted compares the sale with the rate the member set.
func (s sale) againstWanted() string {
	hourly, err := s.job.Hourly(s.paid)
	if err != nil {
		return ""
	}
	locale := s.in.req.Locale
	that := "That is "
	if !s.span.Known() {
		that = "At the longer time that is "
	}
	switch hourly.Cmp(s.wanted) {
	case -1:
		short, err := s.wanted.Less(hourly)
		if err != nil {
			return ""
		}
		return that + moneyText(short, locale) + " an hour short of the " + moneyText(s.wanted, locale) + " you want."
	case 0:
		return that + "exactly the rate you want."
	}
	over, err := hourly.Less(s.wanted)
	if err != nil {
		return ""
	}
	return that + moneyText(over, locale) + " an hour above the " + moneyText(s.wanted, locale) + " you want."
}
