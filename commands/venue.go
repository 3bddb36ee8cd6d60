package commands

import (
	"context"
	"slices"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// venue is a place to sell at, with what selling there takes.
type venue struct {
	name       string
	fee, share price.Fraction
	fixed      price.Money
	feeOnTax   bool
}

// applyTo puts what the venue takes into a job.
func (v venue) applyTo(j *price.Job) {
	j.Fee, j.Share, j.Fixed = v.fee, v.share, v.fixed
	j.FeeOnTax = v.feeOnTax && !j.Tax.IsZero()
}

// text says what the venue takes.
func (v venue) text(locale string) string {
	var parts []string
	if !v.fee.IsZero() {
		on := ""
		if v.feeOnTax {
			on = " (on the tax too)"
		}
		parts = append(parts, v.fee.Percent()+" %"+on)
	}
	if v.fixed.IsPositive() {
		parts = append(parts, moneyText(v.fixed, locale))
	}
	if !v.share.IsZero() {
		parts = append(parts, v.share.Percent()+" % on consignment")
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, " + ")
}

// venueOf is a stored venue; false where its fixed fee is in no currency any more.
func venueOf(s store.Venue) (venue, bool) {
	v := venue{name: s.Name, fee: price.FractionOf(s.Fee), share: price.FractionOf(s.Share), feeOnTax: s.FeeOnTax}
	ok := true
	if s.Fixed != nil {
		v.fixed, ok = amountOf(*s.Fixed)
	}
	return v, ok
}

// everyVenue is the word that names all of them.
const everyVenue = "all"

// venueName is a name as it is kept: small letters, digits and hyphens.
func venueName(text string) string {
	return strings.ToLower(strings.Join(strings.Fields(text), "-"))
}

// venues reads the names of venues, apart by commas or "and".
func (in *reading) venues(name string) []venue {
	return value(in, name, func(text string) ([]venue, error) {
		var found []venue
		known := make([]string, len(in.settings.Venues))
		for i, v := range in.settings.Venues {
			known[i] = v.Name
		}
		split := strings.FieldsFunc(strings.ReplaceAll(text, " and ", ","), func(r rune) bool { return r == ',' || r == ';' || r == '+' })
		for _, word := range split {
			word = venueName(word)
			if word == "" {
				continue
			}
			before := len(found)
			for _, s := range in.settings.Venues {
				if s.Name != word && word != everyVenue || slices.ContainsFunc(found, func(v venue) bool { return v.name == s.Name }) {
					continue
				}
				v, ok := venueOf(s)
				if !ok || s.Fixed != nil && v.fixed.Currency() != in.currency {
					return nil, &measure.InputError{Value: s.Name, Hint: "fee:" + v.fee.Percent() + "% fixed-fee:0.30 " + in.currency.Code() + " in its place",
						Problem: "has a fixed fee in " + s.Fixed.Currency + " in your settings, and this request counts in " + in.currency.Code() + "; I never convert money"}
				}
				found = append(found, v)
			}
			if len(found) == before && !slices.Contains(known, word) {
				return nil, unknownVenue(word, known)
			}
		}
		if len(found) == 0 {
			return nil, unknownVenue(text, known)
		}
		names := make([]string, len(found))
		for i, v := range found {
			names[i] = v.name
		}
		if len(found) == 1 {
			in.takes(found[0].name + " takes " + found[0].text(in.req.Locale))
		} else {
			in.takes("your venues " + strings.Join(names, ", "))
		}
		return found, nil
	})
}

func unknownVenue(word string, known []string) error {
	e := &measure.InputError{Value: word, Problem: "is not one of your venues", Hint: strings.Join(known[:min(len(known), 6)], " or ")}
	if near, ok := closest(word, known); ok {
		e.Hint = near
	}
	if len(known) == 0 {
		e.Problem, e.Hint = "is a venue that you have not set yet", FormatLine("settings venue", map[string]string{"name": word, "fee": "6.5%"})
	}
	return e
}

// completeVenues offers the member's own venues, behind those already typed.
func (h house) completeVenues(ctx context.Context, req Request, typed string) ([]Choice, error) {
	settings, err := h.Store.Settings(ctx, store.Who{Community: req.Community, Member: req.Member})
	if err != nil {
		return nil, err
	}
	head, last := "", typed
	if at := strings.LastIndex(typed, ","); at >= 0 {
		head, last = typed[:at+1], typed[at+1:]
	}
	var all []Choice
	for _, v := range settings.Venues {
		all = append(all, Choice{Value: v.Name, Label: v.Name})
	}
	if len(all) > 1 && head == "" {
		all = append(all, Choice{Value: everyVenue, Label: everyVenue})
	}
	offered := matching(all, last)
	for i := range offered {
		offered[i] = Choice{Value: head + offered[i].Value, Label: head + offered[i].Label}
	}
	return offered, nil
}
