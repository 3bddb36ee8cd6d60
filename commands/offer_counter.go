package commands

import (
	"github.com/shopspring/decimal"

	"tallystick/calc/price"
)

// counter adds a counter-offer: the middle between the offer and what was asked,
// or the target where nothing was said to have been asked.
func (o bid) counter(reply *Reply) error {
	asked, floor := o.asked, price.NewMoney(0, o.in.currency)
	target, hasTarget := find(o.prices, "target_price")
	switch {
	case o.in.has("asked"):
	case hasTarget:
		asked = target.high
	default:
		return nil
	}
	what := "what you asked"
	if !o.in.has("asked") {
		what = "your target"
	}
	if p, ok := find(o.prices, "floor_price"); ok {
		floor = p.high
	} else if p, ok := find(o.prices, "break_even"); ok {
		floor = p.high
	}
	counter, ok, err := price.Counter(o.offer, asked, floor, o.wholeStep())
	if err != nil {
		return err
	}
	locale := o.in.req.Locale
	if !ok {
		if o.offer.Cmp(asked) >= 0 {
			reply.Notes = append(reply.Notes, "The offer is "+what+" or more, so there is nothing to counter.")
		} else {
			reply.Notes = append(reply.Notes, capital(what)+", "+moneyText(asked, locale)+", is itself below your lowest price, so a counter-offer has no room.")
		}
		return nil
	}
	reply.Figures = append(reply.Figures, moneyFigure("counter_offer", "A counter-offer", counter, o.in.req))
	more, err := o.hourlyFigures("counter_hourly", "The counter-offer pays", counter)
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, more...)
	reply.Notes = append(reply.Notes, "The counter-offer is the middle between the offer and "+what+" (common practice), never below your lowest price, rounded up to whole steps of "+
		moneyText(o.wholeStep(), locale)+" and never above "+what+".")
	return nil
}

// wholeStep is the step of a counter-offer: the member's, else one whole unit of
// the currency, as nobody haggles over cents.
func (o bid) wholeStep() price.Money {
	if o.step.IsPositive() {
		return o.step
	}
	return price.NewMoney(decimal.New(1, o.in.currency.Digits()).IntPart(), o.in.currency)
}

// deliver says what bringing the piece is worth beside a discount.
func (o bid) deliver(reply *Reply) error {
	if !o.told {
		return nil
	}
	locale := o.in.req.Locale
	worth, err := o.job.Worth(o.brought)
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, moneyFigure("delivery_worth", "Bringing it is worth a discount of", worth, o.in.req))
	note := "Bringing it costs you " + moneyText(o.brought, locale) + ", as much as taking " + moneyText(worth, locale) + " off the price."
	if !o.in.has("asked") || o.offer.Cmp(o.asked) >= 0 {
		reply.Notes = append(reply.Notes, note)
		return nil
	}
	held, err := o.job.Left(o.asked)
	if err != nil {
		return err
	}
	if held, err = held.Less(o.brought); err != nil {
		return err
	}
	taken, err := o.job.Left(o.offer)
	if err != nil {
		return err
	}
	reply.Figures = append(reply.Figures, moneyFigure("left_with_delivery", "Left at "+moneyText(o.asked, locale)+" with it brought", held, o.in.req))
	better, worse := held, taken
	than := "more than taking the offer"
	if held.Cmp(taken) < 0 {
		better, worse, than = taken, held, "less than taking the offer"
	}
	difference, err := better.Less(worse)
	if err != nil {
		return err
	}
	reply.Notes = append(reply.Notes, note+" Holding at "+moneyText(o.asked, locale)+" and bringing it leaves you "+moneyText(difference, locale)+" "+than+"; the time to drive is not counted.")
	return nil
}
