package commands

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) settingsVenue() Command {
	return Command{
		Path:    "settings venue",
		Summary: "keep what selling at a place takes, under a name of your own, or remove it",
		Private: true,
		Options: []Option{
			{Name: "name", Summary: "your name for it: letters, digits and hyphens", Kind: Word, Required: true, Example: "fair", Complete: h.completeVenues},
			{Name: "fee", Summary: "the part of the price it takes", Kind: Percent, Example: "6.5%"},
			fixedFeeOption,
			feeOnTaxOption,
			{Name: "share", Summary: "the part of the price before tax it keeps for selling on consignment", Kind: Percent, Example: "45%"},
			{Name: "remove", Summary: "yes removes the venue", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}},
		},
		Examples: []string{"/settings venue name:fair fee:6.5% fixed-fee:0.30", "/settings venue name:gallery share:45%", "/settings venue name:fair remove:yes"},
		Run:      h.answerSettingsVenue,
	}
}

// venueNameLimit is how long a venue's name may be.
const venueNameLimit = 32

func parseVenueName(text string) (string, error) {
	name := venueName(text)
	ok := name != "" && len(name) <= venueNameLimit && name != everyVenue && name != "and"
	for _, r := range name {
		ok = ok && (r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-')
	}
	if !ok {
		return "", &measure.InputError{Value: text, Problem: fmt.Sprintf("is not a name of 1 to %d letters a to z, digits and hyphens", venueNameLimit), Hint: "fair or craft-market"}
	}
	return name, nil
}

func (h house) answerSettingsVenue(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	v := store.Venue{Name: value(in, "name", parseVenueName), Fee: in.fraction("fee").Billionths(), Share: in.fraction("share").Billionths()}
	fixed := in.money("fixed-fee")
	if in.err != nil {
		return Reply{}, in.err
	}
	if in.has("fixed-fee") {
		v.Fixed = storedAmount(fixed)
	}
	told := slices.ContainsFunc([]string{"fee", "fixed-fee", "share", "fee-on-tax"}, in.has)
	if in.has("remove") && told {
		return Reply{}, &Mistake{Option: "remove", Problem: "stands alone beside the name", Try: "/settings venue name:" + v.Name + " remove:yes"}
	}
	who := store.Who{Community: req.Community, Member: req.Member}
	title := "Kept: " + v.Name
	err = h.Store.ChangeSettings(ctx, who, req.Delivery, req.Time, func(s *store.Settings) error {
		at := placeOfVenue(*s, v.Name)
		switch {
		case in.has("remove") && at < 0:
			return unknownVenueMistake(*s, v.Name)
		case in.has("remove"):
			title = "Removed: " + v.Name
			s.Venues = slices.Delete(s.Venues, at, at+1)
		case at >= 0 && !told:
			title = "As it was: " + v.Name
		case at >= 0:
			title = "Changed: " + v.Name
			v = in.venueOver(s.Venues[at], v)
			s.Venues[at] = v
		default:
			v.FeeOnTax = v.Fee > 0 && in.yes("fee-on-tax", true)
			s.Venues = append(s.Venues, v)
		}
		return in.venueLeaves(v)
	})
	if errors.Is(err, store.ErrConflict) {
		return Reply{}, &Refusal{Sentence: fmt.Sprintf("You keep %d venues already, and that is as many as I keep. Remove one first: /settings venue name:… remove:yes.", store.VenueLimit)}
	}
	if err != nil {
		return Reply{}, err
	}
	after, err := h.Store.Settings(ctx, who)
	if err != nil {
		return Reply{}, err
	}
	return venueReply(title, v, after, in), nil
}

// venueOver is a venue with what was told of it now, and the rest as it was kept.
func (in *reading) venueOver(kept, told store.Venue) store.Venue {
	onTax := kept.FeeOnTax || kept.Fee == 0
	if in.has("fee") {
		kept.Fee = told.Fee
	}
	if in.has("share") {
		kept.Share = told.Share
	}
	if in.has("fixed-fee") {
		kept.Fixed = told.Fixed
	}
	kept.FeeOnTax = kept.Fee > 0 && in.yes("fee-on-tax", onTax)
	return kept
}

// venueLeaves refuses a venue that leaves nothing of any price.
func (in *reading) venueLeaves(v store.Venue) error {
	fee := price.FractionOf(v.Fee)
	if (price.Job{Fee: fee, Share: price.FractionOf(v.Share)}).Check() == nil {
		return nil
	}
	half := decimal.New(1, 0).Sub(fee.Decimal()).Shift(2).Div(decimal.New(2, 0)) // of what the fee leaves
	return &Mistake{Option: "share", Given: measure.Quote(in.req.Options["share"]), Problem: "and the fee together take all of the price", Try: half.String() + "%"}
}

func unknownVenueMistake(s store.Settings, name string) error {
	var known []string
	for _, v := range s.Venues {
		known = append(known, v.Name)
	}
	input, ok := errors.AsType[*measure.InputError](unknownVenue(name, known))
	if !ok {
		return nil
	}
	return mistakeOf(Option{Name: "name"}, input)
}

func venueReply(title string, v store.Venue, s store.Settings, in *reading) Reply {
	reply := Reply{Title: title, Private: true}
	venues := Table{Title: "Your venues", Columns: []string{"venue", "takes"}}
	for _, each := range s.Venues {
		venues.Rows = append(venues.Rows, []string{each.Name, venueText(each, in.req.Locale)})
	}
	if len(venues.Rows) > 0 {
		reply.Tables = []Table{venues}
	}
	if placeOfVenue(s, v.Name) < 0 {
		return reply
	}
	if v.FeeOnTax && !in.has("fee-on-tax") {
		reply.Notes = append(reply.Notes, "Where there is sales tax I count the fee on the tax too, as is usual; fee-on-tax:no if yours is not.")
	}
	reply.Notes = append(reply.Notes, "To price with it: /price venue:"+v.Name+" beside the hours and materials; venue:all compares all of yours.")
	return reply
}

func sorted(list []string) []string {
	slices.SortFunc(list, strings.Compare)
	return list
}
