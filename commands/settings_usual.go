package commands

import (
	"context"
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// tellingSettings puts what an answer took from the member's settings into its
// notes, behind the one that says how the request was read.
func tellingSettings(run Handler) Handler {
	return func(ctx context.Context, req Request) (Reply, error) {
		req.used = new([]string)
		reply, err := run(ctx, req)
		if err == nil && len(*req.used) > 0 && reply.Outcome() == Answered {
			note := "From your settings: " + strings.Join(*req.used, ", ") + "."
			reply.Notes = slices.Insert(reply.Notes, min(1, len(reply.Notes)), note)
		}
		return reply, err
	}
}

// takes notes that a setting was used.
func (in *reading) takes(said string) {
	if in.req.used != nil && !slices.Contains(*in.req.used, said) {
		*in.req.used = append(*in.req.used, said)
	}
}

// unmeasured are the kinds of option that no unit of length settles.
var unmeasured = []Kind{Money, Rate, PerTrip, Percent, Discount, Hours, Span, Days, Month, Word, Code, YesNo, Portion, Number, Text, Date, FileText}

// applyMeasures settles the unit of bare numbers and the fraction of the tape.
func (in *reading) applyMeasures() {
	measured := false
	for i := range in.req.command.Options {
		o := &in.req.command.Options[i]
		measured = measured || in.has(o.Name) && !slices.Contains(unmeasured, o.Kind)
	}
	unit, said := in.bare, ""
	switch in.settings.Units {
	case metricUnits:
		unit, said = measure.Millimetre, "bare numbers are metric"
	case imperialUnits:
		unit, said = measure.Inch, "bare numbers are imperial"
	}
	if unit != in.bare && measured {
		in.takes(said)
	}
	in.bare = unit
	if t := in.settings.Tape; t != 0 {
		if t != in.tape && measured {
			in.takes("a tape to " + tapeText(t))
		}
		in.tape = t
	}
}

// applyCurrency is the currency of bare amounts.
func (in *reading) applyCurrency(community price.Currency) price.Currency {
	if in.settings.Currency == "" {
		return community
	}
	c, err := price.ParseCurrency(in.settings.Currency)
	if err != nil { // no longer a currency
		return community
	}
	counts := func(o Option) bool {
		return slices.Contains([]Kind{Money, Rate, PerFoot, PerTrip, Discount}, o.Kind) && in.has(o.Name)
	}
	if c != community && slices.ContainsFunc(in.req.command.Options, counts) {
		in.takes("amounts in " + c.Code())
	}
	return c
}

// tripUnit is what a bare distance is in.
func (in *reading) tripUnit() measure.Length {
	if in.bare == measure.Millimetre {
		return price.Kilometre
	}
	return price.Mile
}

// setAmount finds the setting of an option that is an amount.
func (in *reading) setAmount(name string) *store.Amount {
	switch name {
	case "rate":
		return in.settings.Rate
	case "lowest-rate":
		return in.settings.LowestRate
	case "overhead":
		return in.settings.Overhead
	case "step":
		return in.settings.Step
	}
	return nil
}

// knows reports whether an amount was typed or set.
func (in *reading) knows(name string) bool { return in.has(name) || in.setAmount(name) != nil }

// usual reads an amount, or where none was typed the one that was set; how says
// what it is for. A setting in another currency than the request's is a mistake.
func (in *reading) usual(name, how string) price.Money {
	set := in.setAmount(name)
	if in.has(name) || set == nil {
		return in.money(name)
	}
	m, ok := amountOf(*set)
	if !ok || m.Currency() != in.currency {
		in.mixes(name, set.Currency)
		return price.NewMoney(0, in.currency)
	}
	in.takes(moneyText(m, in.req.Locale) + how)
	return m
}

// amountOf is a stored amount as money; false where its currency is no longer one.
func amountOf(a store.Amount) (price.Money, bool) {
	c, err := price.ParseCurrency(a.Currency)
	return price.NewMoney(a.Minor, c), err == nil
}

// mixes refuses settings in another currency, all of them in one sentence.
func (in *reading) mixes(name, currency string) {
	if in.err != nil && len(in.mixed) == 0 {
		return
	}
	if !slices.Contains(in.mixed, name) {
		in.mixed = append(in.mixed, name)
	}
	others, verb := "", "is set in "
	if len(in.mixed) > 1 {
		others, verb = "and "+strings.Join(in.mixed[1:], " and ")+" ", "are set in "
	}
	typed := make([]string, len(in.mixed))
	for i, m := range in.mixed {
		o, takes := in.req.asked.Option(m)
		if !takes { // it cannot be said for this once
			in.err = &Mistake{Option: "command", Problem: "Your setting " + m + " is in " + currency + ", and this request counts in " + in.currency.Code() +
				"; I never convert money", Try: "/settings forget setting:" + m + ", or amounts in " + currency}
			return
		}
		typed[i] = m + ":" + o.Example
	}
	typed[0] += " " + in.currency.Code()
	in.err = &Mistake{Option: in.mixed[0],
		Problem: others + verb + currency + " in your settings, and this request counts in " + in.currency.Code() + "; I never convert money",
		Try:     strings.Join(typed, " ") + " to say it for this once"}
}

// tax reads the sales tax and whether prices are written with it.
func (in *reading) tax() (t price.Fraction, included bool) {
	if in.settings.TaxIncluded != nil {
		included = *in.settings.TaxIncluded
	}
	included = in.yes("tax-included", included)
	t = value(in, "tax", price.ParseTax)
	if !in.has("tax") && in.settings.Tax != nil {
		t = price.FractionOf(*in.settings.Tax)
		in.takes(t.Percent() + " % sales tax")
	}
	if !t.IsZero() && !in.has("tax-included") && in.settings.TaxIncluded != nil {
		in.takes("prices " + withTaxWords(included))
	}
	return t, included
}

func withTaxWords(included bool) string {
	if included {
		return "with the tax in them"
	}
	return "without the tax"
}

// haggle reads the expected haggling.
func (in *reading) haggle() price.Fraction {
	if in.has("haggle") || in.settings.Haggle == nil {
		return in.fraction("haggle")
	}
	f := price.FractionOf(*in.settings.Haggle)
	in.takes(f.Percent() + " % expected haggling")
	return f
}

func (in *reading) knowsHaggle() bool { return in.has("haggle") || in.settings.Haggle != nil }

// delivery is the rate for driving, typed under the name or set; false where
// neither is.
func (in *reading) delivery(name string) (price.PerDistance, bool) {
	if o, _ := in.req.command.Option(name); in.has(name) && o.Kind == PerTrip {
		return value(in, name, func(text string) (price.PerDistance, error) {
			p, _, err := price.ParsePerDistance(text, in.currency, in.tripUnit())
			return p, err
		}), true
	}
	if in.settings.Delivery == nil {
		return price.PerDistance{}, false
	}
	p, ok := deliveryOf(*in.settings.Delivery)
	if !ok || p.Rate.Currency() != in.currency {
		o, _ := in.req.command.Option(name)
		amount, per, _ := strings.Cut(o.Example, "/")
		if per != "" {
			per = "/" + per
		}
		in.fail(&Mistake{Option: name, Problem: "is set in " + in.settings.Delivery.Currency + " as the delivery rate of your settings, and this request counts in " +
			in.currency.Code() + "; I never convert money", Try: name + ":" + amount + " " + in.currency.Code() + per})
		return p, true
	}
	in.takes(perDistanceText(p, in.req.Locale))
	return p, true
}

// deliveryOf is a stored rate for driving; false where its currency is no longer one.
func deliveryOf(d store.Delivery) (price.PerDistance, bool) {
	c, err := price.ParseCurrency(d.Currency)
	unit := price.Kilometre
	if d.Per == "mile" {
		unit = price.Mile
	}
	return price.PerDistanceOf(d.Micros, c, unit), err == nil
}

func perDistanceText(p price.PerDistance, locale string) string {
	return fineText(p.Rate, locale) + " a " + p.UnitName()
}
