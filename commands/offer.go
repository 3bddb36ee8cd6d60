package commands

import (
	"context"
	"slices"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) offer() Command {
	return Command{
		Path:    "offer",
		Summary: "what an offer pays an hour, what to counter, and what free delivery is worth",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "offer", Summary: "what the buyer offers", Kind: Money, Required: true, Example: "400"},
			spanOption,
			materialsOption,
			{Name: "asked", Summary: "what you asked for it", Kind: Money, Example: "480"},
			rateOption,
			lowestRateOption,
			feeOption,
			fixedFeeOption,
			h.venueOption("or the venue it sells at, one of yours"),
			{Name: "delivery", Summary: "what bringing it would cost you", Kind: Money, MaxLength: 200, Example: "23.20"},
			{Name: "distance", Summary: "or how far that is, there and back, by your delivery rate", Kind: Distance, Example: "32 miles"},
			stepOption,
			overheadOption,
			taxOption,
			includedOption,
			feeOnTaxOption,
		},
		Examples: []string{
			"/offer offer:400 asked:480 hours:14.25 materials:124.90 fee:2.9% fixed-fee:0.30 rate:25 lowest-rate:18",
			"/offer offer:400 asked:480 hours:14.25 materials:101.70 delivery:23.20",
		},
		Run: h.answerOffer,
	}
}

func (h house) answerOffer(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	o := bid{deal: in.deal(), offer: in.money("offer"), asked: in.money("asked")}
	o.step = in.usual("step", " as the step of prices")
	if err := o.bring(); err != nil {
		return Reply{}, err
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	if len(o.venues) > 1 {
		return Reply{}, &Mistake{Option: "venue", Given: measure.Quote(req.Options["venue"]), Problem: "is more than one, and a piece sells at one", Try: o.venues[0].name}
	}
	// An offer is held against the prices as they are: only the counter is stepped.
	exactly := o.deal
	exactly.step = price.Money{}
	if o.prices, err = exactly.prices(); err != nil {
		return Reply{}, err
	}
	o.prices = slices.DeleteFunc(o.prices, func(p priced) bool { return p.key == "asking_price" })
	reply := Reply{Private: true}
	if reply.Title, err = o.firstLine(); err != nil {
		return Reply{}, err
	}
	if reply.Figures, err = o.hourlyFigures("realised_hourly", "The offer pays", o.offer); err != nil {
		return Reply{}, err
	}
	left, err := o.job.Left(o.offer)
	if err != nil {
		return Reply{}, err
	}
	reply.Figures = append(reply.Figures, moneyFigure("left", "Left of it for your own time", left, req))
	for _, p := range o.prices {
		reply.Figures = append(reply.Figures, p.figures(o.deal)...)
	}
	reply.Notes = append(reply.Notes, o.read())
	if err := o.counter(&reply); err != nil {
		return Reply{}, err
	}
	if err := o.deliver(&reply); err != nil {
		return Reply{}, err
	}
	reply.Notes = said(append(reply.Notes, o.hole(), o.roundings(), o.taxNote(),
		"I only do the sums; whether to take it is yours.")...)
	return reply, nil
}

// bid is an offer for a piece.
type bid struct {
	deal
	offer, asked price.Money
	prices       []priced
	// brought is what bringing the piece would cost, where that was told.
	brought price.Money
	told    bool
}

// bring reads what delivery would cost, as an amount or by distance.
func (o *bid) bring() error {
	in := o.in
	if in.has("delivery") && in.has("distance") {
		return &Mistake{Option: "distance", Problem: "and delivery say the same thing twice", Try: "one of the two"}
	}
	o.brought = in.money("delivery")
	o.told = in.has("delivery")
	if in.err != nil || !in.has("distance") {
		return in.err
	}
	distance := value(in, "distance", func(text string) (measure.Length, error) { return price.ParseDistance(text, in.tripUnit()) })
	rate, ok := in.delivery("delivery")
	if in.err != nil {
		return in.err
	}
	if !ok {
		return &Mistake{Option: "distance", Given: measure.Quote(in.req.Options["distance"]), Problem: "needs a delivery rate, and none is set",
			Try: "delivery:23.20, or /settings set delivery:0.725/mile"}
	}
	var err error
	o.brought, err = rate.Cost(distance)
	o.told = true
	return err
}

// firstLine is the answer in one line: what the offer pays, against the least and
// the wanted rate.
func (o bid) firstLine() (string, error) {
	locale := o.in.req.Locale
	offered := moneyText(o.offer, locale)
	if !o.timed() {
		left, err := o.job.Left(o.offer)
		if err != nil {
			return "", err
		}
		if left.IsNegative() {
			return offered + " does not cover what you paid out", nil
		}
		return offered + " leaves " + moneyText(left, locale), nil
	}
	pays, err := o.job.Hourly(o.offer)
	if err != nil {
		return "", err
	}
	line := offered + " pays " + moneyText(pays, locale) + " an hour"
	if !o.span.Known() && o.span.Low > 0 {
		top, err := o.at(o.span.Low).Hourly(o.offer)
		if err != nil {
			return "", err
		}
		line = offered + " pays " + moneyText(pays, locale) + " to " + moneyText(top, locale) + " an hour"
	}
	var against []string
	for _, bound := range []struct{ key, words string }{{"floor_price", "your lowest"}, {"target_price", "your target"}} {
		if p, ok := find(o.prices, bound.key); ok {
			against = append(against, o.stands(p)+" "+bound.words+" of "+boundText(p, locale))
		}
	}
	if len(against) == 0 {
		return line, nil
	}
	return line + ": " + joined(against), nil
}

// stands says where the offer is from a price.
func (o bid) stands(p priced) string {
	switch {
	case o.offer.Cmp(p.high) > 0:
		return "above"
	case o.offer.Cmp(p.low) < 0:
		return "below"
	case p.low.Cmp(p.high) == 0:
		return "exactly"
	}
	return "within"
}

func boundText(p priced, locale string) string {
	if p.low.Cmp(p.high) == 0 {
		return moneyText(p.high, locale)
	}
	return moneyText(p.low, locale) + " to " + moneyText(p.high, locale)
}

func joined(list []string) string {
	if len(list) == 1 {
		return list[0]
	}
	return list[0] + ", " + list[1]
}

func (o bid) read() string {
	locale := o.in.req.Locale
	asked := ""
	if o.in.has("asked") {
		asked = moneyText(o.asked, locale) + " asked"
	}
	return then("Offered "+moneyText(o.offer, locale)+".", o.readAs(asked))
}

// hole names the one missing thing that matters most.
func (o bid) hole() string {
	switch {
	case !o.timed():
		return "No hours yet: I cannot say what an hour is paid. Add hours:" + hoursOption.Example + "."
	case !o.known("lowest-rate") && !o.known("rate"):
		return "No rates yet: I cannot hold the offer against your lowest or your target. Add rate:25 lowest-rate:18."
	case !o.known("lowest-rate"):
		return "No lowest rate yet: I cannot say which price is the lowest worth taking. Add lowest-rate:18."
	case !o.in.has("materials"):
		return "No materials yet: I counted nothing paid out, so the offer pays less than this. Add materials:" + materialsOption.Example + "."
	case !o.in.has("asked"):
		return "What you asked is not known: I countered against the target. Add asked:480."
	case !o.told:
		return "To see what bringing it is worth instead of a discount, add delivery:23.20."
	}
	return ""
}

func (o bid) roundings() string {
	return "Prices are rounded up, what is left and paid to the nearest " + coin(o.in.currency, o.in.req.Locale) + "."
}
