package commands

import (
	"context"
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) price() Command {
	return Command{
		Path:    "price",
		Summary: "what price breaks even, what price pays your rate, and what to ask",
		Private: true,
		Public:  true,
		Options: []Option{
			spanOption,
			materialsOption,
			rateOption,
			lowestRateOption,
			feeOption,
			fixedFeeOption,
			h.venueOption("or what your venues take: one name, several with commas, or all"),
			haggleOption,
			stepOption,
			{Name: "at", Summary: "a price to try, for what it leaves you and pays an hour", Kind: Money, Example: "540"},
			{Name: "more", Summary: "hours on top of yours, to see what they do to it", Kind: Hours, Example: "2h"},
			{Name: "size", Summary: "of the top, or of solid wood with its thickness, for prices by size", Kind: Size, Example: "48 x 14 in"},
			{Name: "boards", Summary: "the boards in it, for the price of a board foot", Kind: Boards, MaxLength: maxLotText, Example: "6 @ 5/8 x 3-1/2 x 40 in"},
			overheadOption,
			taxOption,
			includedOption,
			feeOnTaxOption,
		},
		Examples: []string{
			"/price hours:14.25 materials:124.90 rate:25 fee:2.9% fixed-fee:0.30 haggle:12%",
			"/price hours:6-9 materials:84 + 11.50 rate:30/h lowest-rate:22",
			"/price hours:14.25 materials:124.90 rate:25 at:540 more:2h",
		},
		Ask:       []string{"hours", "materials", "rate", "fee", "haggle"},
		FormTitle: "what to charge",
		Run:       h.answerPrice,
	}
}

func (h house) answerPrice(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	d := in.deal()
	if d.known("rate") {
		d.haggle = in.haggle()
	}
	d.addMore()
	at := in.money("at")
	sizes := in.sizes()
	if in.err != nil {
		return Reply{}, in.err
	}
	if !in.has("hours") && !in.has("materials") && !in.has("fixed-fee") {
		return Reply{}, &Mistake{Option: "hours", Problem: "and materials are both missing, so there is nothing to price", Try: req.command.Examples[0]}
	}
	ranked, err := d.rankVenues()
	if err != nil {
		return Reply{}, err
	}
	prices, err := d.prices()
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "What to charge", Private: true}
	if len(d.venues) > 0 {
		reply.Title += " at " + d.venues[0].name
	}
	tried, err := d.tried(at)
	if err != nil {
		return Reply{}, err
	}
	reply.Figures = slices.Grow(tried, 8)
	for _, p := range prices {
		reply.Figures = append(reply.Figures, p.figures(d)...)
	}
	if err := d.besides(&reply, prices, sizes); err != nil {
		return Reply{}, err
	}
	if d.timed() {
		rungs, err := d.ladder(d.withTried(prices, at))
		if err != nil {
			return Reply{}, err
		}
		reply.Tables = append(reply.Tables, d.ladderTable(rungs))
		reply.Picture = laterPicture("prices.png", func() (string, painter) { return d.ladderChart(rungs) }).again(req.Path, req.Options)
	}
	if ranked != nil {
		reply.Tables = append(reply.Tables, ranked.table)
	}
	reply.Notes = d.priceNotes(ranked, sizes)
	reply.Actions, reply.Update = d.tries(prices, at)
	return reply, nil
}

// priced is one price of the answer, at the shorter and at the longer time. Both
// are the same where the time is known or does not matter.
type priced struct {
	key, label, short string
	low, high         price.Money
}

func (p priced) figures(d deal) []Figure {
	req := d.in.req
	if p.low.Cmp(p.high) == 0 {
		return []Figure{moneyFigure(p.key, p.label, p.high, req)}
	}
	return []Figure{
		moneyFigure(p.key+"_low", p.label+", at "+measure.FormatDuration(d.span.Low), p.low, req),
		moneyFigure(p.key+"_high", p.label+", at "+measure.FormatDuration(d.span.High), p.high, req),
	}
}

// prices is as much of the answer as is known.
func (d deal) prices() ([]priced, error) {
	list := make([]priced, 0, 4)
	var failed error
	add := func(key, label, short string, wanted price.Money, room price.Fraction, step price.Money) {
		low, err := d.at(d.span.Low).Stepped(wanted, room, step)
		if err == nil {
			var high price.Money
			high, err = d.at(d.span.High).Stepped(wanted, room, step)
			list = append(list, priced{key, label, short, low, high})
		}
		if err != nil && failed == nil {
			failed = err
		}
	}
	none := price.Fraction{}
	add("break_even", "Break-even, your own time unpaid", "break-even", price.Money{}, none, price.Money{})
	if d.known("lowest-rate") {
		add("floor_price", "Lowest worth taking", "lowest", d.lowest, none, price.Money{})
	}
	if d.known("rate") {
		add("target_price", "Target, pays your rate", "target", d.wanted, none, d.step)
		label := "Asking, with room to haggle"
		if d.haggle.IsZero() {
			label = "Asking, no haggling expected"
		}
		add("asking_price", label, "asking", d.wanted, d.haggle, d.step)
	}
	return list, failed
}

func find(prices []priced, key string) (priced, bool) {
	i := slices.IndexFunc(prices, func(p priced) bool { return p.key == key })
	if i < 0 {
		return priced{}, false
	}
	return prices[i], true
}

// besides adds what stands beside the target: tax, markup, prices by size.
func (d deal) besides(reply *Reply, prices []priced, s sizes) error {
	target, ok := find(prices, "target_price")
	if !ok {
		target, _ = find(prices, "break_even")
	}
	at, req := target.high, d.in.req
	which := "in the " + target.short
	if target.low.Cmp(target.high) != 0 {
		which += " at " + measure.FormatDuration(d.span.High)
	}
	bare, err := price.WithoutTax(at, d.writtenTax())
	if err != nil {
		return err
	}
	if !d.job.Tax.IsZero() {
		statement, err := d.job.Statement(at)
		if err != nil {
			return err
		}
		reply.Figures = append(reply.Figures, moneyFigure("sales_tax", "Sales tax "+which, statement.Tax, req))
		if d.job.TaxIncluded {
			reply.Figures = append(reply.Figures, moneyFigure("target_without_tax", capital(target.short)+" without the tax", bare, req))
		} else {
			reply.Figures = append(reply.Figures, moneyFigure("target_with_tax", "What the buyer pays at the "+target.short, statement.Paid, req))
		}
	}
	if markup, ok := price.MarkupOf(d.job.Cost, bare); ok && target.key == "target_price" {
		share, _ := price.ShareOf(d.job.Cost, bare)
		reply.Figures = append(reply.Figures,
			percentFigure("material_share", "Materials "+which, share),
			percentFigure("margin", "Margin over materials", markup.OnPrice),
			percentFigure("markup", "Markup on materials", markup.OnCost))
	}
	return s.figures(reply, at, target.short, d)
}

// writtenTax is the tax that stands in a written price.
func (d deal) writtenTax() price.Fraction {
	if d.job.TaxIncluded {
		return d.job.Tax
	}
	return price.Fraction{}
}

func (d deal) priceNotes(ranked *ranking, s sizes) []string {
	compared := ""
	if ranked != nil {
		compared = ranked.note
	}
	return said(d.readAs(s.text(d.in), d.moreText()), compared, d.priceHole(), s.note, d.included(), d.roundingNote(), d.taxNote())
}

// included says what the prices cover.
func (d deal) included() string {
	covered := []string{"what you paid out"}
	if !d.job.Fee.IsZero() || !d.job.Share.IsZero() || d.job.Fixed.IsPositive() {
		covered = append(covered, "what selling takes")
	}
	if d.job.Overhead.IsPositive() {
		covered = append(covered, "overhead")
	}
	if !d.known("rate") && !d.known("lowest-rate") {
		return "Included: " + strings.Join(covered, ", ") + "; none of your own time."
	}
	return "Included: " + strings.Join(covered, ", ") + ", and your own time in every price but the break-even."
}

// priceHole names the one missing thing that matters most.
func (d deal) priceHole() string {
	in := d.in
	switch {
	case !d.timed():
		return "No hours yet: I can give the break-even only. Add hours:" + hoursOption.Example + "."
	case !d.known("rate"):
		return "No wanted rate yet: I can give no target. Add rate:25, or keep it with /settings set rate:25."
	case !in.has("materials"):
		return "No materials yet: I counted nothing for wood, finish or the trip. Add materials:" + materialsOption.Example + "."
	case !d.known("lowest-rate"):
		return "No lowest rate yet: I can give no lowest price worth taking. Add lowest-rate:18."
	case !in.knowsHaggle():
		return "No haggling expected: the asking price is the target. Add haggle:12% to leave room."
	}
	return ""
}
