package commands

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

func (h house) costTrip() Command {
	return Command{
		Path:    "cost trip",
		Summary: "what driving for a piece costs, by your own rate or the year's published figure",
		Private: true,
		Public:  true,
		Options: []Option{
			{Name: "distance", Summary: "the whole way, there and back", Kind: Distance, Required: true, Example: "32 miles"},
			{Name: "rate", Summary: "your own rate for a mile or a kilometre", Kind: PerTrip, Example: "0.725/mile"},
			{Name: "country", Summary: "or whose published figure to count with", Kind: Word, Example: "US", Choices: []Choice{
				{string(price.UnitedStates), "United States"}, {string(price.Canada), "Canada"},
				{string(price.CATerritories), "Yukon, Northwest Territories or Nunavut"}}},
			{Name: "year", Summary: "its year, or year and month; this month unless you say", Kind: Word, Example: "2026"},
			{Name: "driven", Summary: "how far you drove for the work this year before, where the figure falls", Kind: Distance, Example: "4900 km"},
			{Name: "tolls", Summary: "tolls, ferries and parking; amounts may be added with +", Kind: Money, MaxLength: 200, Example: "3.50"},
		},
		Examples: []string{"/cost trip distance:32 miles country:US", "/cost trip distance:50 km rate:0.45/km tolls:3.50"},
		Run:      h.answerCostTrip,
	}
}

func (h house) answerCostTrip(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	t := trip{in: in, distance: in.distance("distance"), driven: in.distance("driven"), tolls: in.money("tolls")}
	if in.err == nil && in.has("rate") && (in.has("country") || in.has("year")) {
		in.fail(&Mistake{Option: "rate", Given: measure.Quote(req.Options["rate"]), Problem: "and a published figure are two rates for one trip", Try: "one of the two"})
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	if err := t.cost(); err != nil {
		return Reply{}, err
	}
	whole := t.drive
	if in.has("tolls") {
		if whole, err = t.drive.Add(t.tolls); err != nil {
			return Reply{}, err
		}
	}
	reply := Reply{Title: "What the trip costs", Private: true, Figures: []Figure{moneyFigure("trip_cost", "The trip", whole, req)}}
	if in.has("tolls") {
		reply.Figures = append(reply.Figures, moneyFigure("driving_cost", "Of it the driving", t.drive, req))
	}
	reply.Notes = append([]string{"Read as: " + distanceText(t.distance, in) + "."}, t.notes...)
	reply.Notes = append(reply.Notes, "Rounded to the nearest "+coin(t.drive.Currency(), req.Locale)+". Your time at the wheel is not in it: count it in hours. Add the cost to materials.")
	return reply, nil
}

// trip is one drive on its way to a cost.
type trip struct {
	in               *reading
	distance, driven measure.Length
	tolls, drive     price.Money
	notes            []string
}

func (in *reading) distance(name string) measure.Length {
	return value(in, name, func(text string) (measure.Length, error) { return price.ParseDistance(text, in.tripUnit()) })
}

// cost takes the rate that was typed, else a published figure that was asked for,
// else the rate that was set, else the figure of the country whose money it is.
func (t *trip) cost() error {
	in := t.in
	if !in.has("country") && !in.has("year") {
		rate, ok := in.delivery("rate")
		if in.err != nil {
			return in.err
		}
		if ok {
			if in.has("rate") {
				t.notes = append(t.notes, "At your own "+perDistanceText(rate, in.req.Locale)+".")
			}
			var err error
			t.drive, err = rate.Cost(t.distance)
			return err
		}
	}
	m, err := t.published()
	if err != nil {
		return err
	}
	if t.drive, err = m.Cost(t.distance, t.driven); err != nil {
		return err
	}
	if in.has("tolls") && t.tolls.Currency() != t.drive.Currency() {
		return &Mistake{Option: "tolls", Given: measure.Quote(in.req.Options["tolls"]),
			Problem: "is in " + t.tolls.Currency().Code() + " and the published figure in " + t.drive.Currency().Code() + "; I never convert money",
			Try:     "the amount in " + t.drive.Currency().Code()}
	}
	t.describe(m)
	return nil
}

// published finds the figure that is meant. A year that was typed and is not known
// is a mistake; for this year the last one known stands in, and the reply says so.
func (t *trip) published() (price.Mileage, error) {
	in := t.in
	country := price.Country(in.req.Options["country"])
	if country == "" {
		switch in.currency.Code() {
		case "USD":
			country = price.UnitedStates
		case "CAD":
			country = price.Canada
		default:
			return price.Mileage{}, &Mistake{Option: "rate", Problem: "is needed: I know no published figure in " + in.currency.Code(), Try: "rate:0.45/km, or country:US for the one in USD"}
		}
	}
	known := price.Mileages(country)
	last := known[len(known)-1]
	if !in.has("year") {
		now := in.req.Time.UTC()
		if m, ok := price.MileageFor(country, now.Year(), now.Month()); ok {
			return m, nil
		}
		t.notes = append(t.notes, fmt.Sprintf("The figure of %d is not known to me; I counted with the one of %d.", now.Year(), last.Year))
		return last, nil
	}
	text := strings.TrimSpace(in.req.Options["year"])
	year, month, err := parseYear(text)
	if err != nil {
		o, _ := in.req.command.Option("year")
		return price.Mileage{}, mistaken(o, err)
	}
	var found []price.Mileage
	for _, m := range known {
		if m.Year == year && (month == 0 || m.From <= month && month <= m.Until) {
			found = append(found, m)
		}
	}
	switch len(found) {
	case 0:
		return price.Mileage{}, &Mistake{Option: "year", Given: measure.Quote(text),
			Problem: fmt.Sprintf("is not a year whose figure I know for %s; I know %s", country, yearsText(known)), Try: strconv.Itoa(last.Year) + ", or rate:0.45/km for your own"}
	case 1:
		return found[0], nil
	}
	return price.Mileage{}, &Mistake{Option: "year", Given: measure.Quote(text), Problem: "had two figures, one for each half", Try: fmt.Sprintf("%d-03 or %d-08", year, year)}
}

// parseYear reads 2026 or 2026-08; the month is 0 where none was given.
func parseYear(text string) (year int, month time.Month, err error) {
	if at, err := time.Parse("2006-01", text); err == nil {
		return at.Year(), at.Month(), nil
	}
	if at, err := time.Parse("2006", text); err == nil {
		return at.Year(), 0, nil
	}
	return 0, 0, &measure.InputError{Value: text, Problem: "is not a year", Hint: "2026 or 2022-08"}
}

func yearsText(known []price.Mileage) string {
	var years []string
	for _, m := range known {
		if y := strconv.Itoa(m.Year); len(years) == 0 || years[len(years)-1] != y {
			years = append(years, y)
		}
	}
	return strings.Join(years, ", ")
}

// describe says whose figure was used and how sure it is.
func (t *trip) describe(m price.Mileage) {
	locale := t.in.req.Locale
	when := strconv.Itoa(m.Year)
	if m.From != time.January || m.Until != time.December {
		when = m.From.String() + " to " + m.Until.String() + " " + when
	}
	note := "Published figure for " + when + ": " + perDistanceText(m.First, locale)
	if m.Limit > 0 {
		note += " for the first 5000 km of a year, " + perDistanceText(m.Beyond, locale) + " after them"
		if !t.in.has("driven") {
			note += "; I took this trip to be among the first: add driven:4900 km if it was not"
		}
	}
	note += " (" + m.Issuer() + ")."
	if m.FromMemory() {
		note += " This figure is from memory and was not looked up."
	}
	t.notes = append(t.notes, note, "It is an average for running a vehicle and a common measure of what a trip costs; whether you may claim it is for your tax authority or adviser to say.")
}

// distanceText writes a distance in both units, the member's first.
func distanceText(d measure.Length, in *reading) string {
	miles, km := d.In(price.Mile, 1)+" miles", d.In(price.Kilometre, 1)+" km"
	if in.tripUnit() == price.Kilometre {
		return km + " (" + miles + ")"
	}
	return miles + " (" + km + ")"
}
