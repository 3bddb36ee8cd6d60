package commands

import (
	"context"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) settingsSet() Command {
	return Command{
		Path:    "settings set",
		Summary: "set once what you would type every time: rates, tax, units and the like",
		Private: true,
		Options: []Option{
			{Name: "currency", Summary: "the currency of amounts without a sign, by its ISO 4217 code", Kind: Word, Example: "EUR"},
			{Name: "units", Summary: "what numbers without a unit are", Kind: Word, Example: metricUnits, Choices: []Choice{
				{imperialUnits, "imperial: inches and miles"}, {metricUnits, "metric: millimetres and kilometres"}}},
			{Name: "tape", Summary: "the finest mark of your tape", Kind: Word, Example: "32", Choices: []Choice{
				{"8", "1/8 in"}, {"16", "1/16 in"}, {"32", "1/32 in"}, {"64", "1/64 in"}}},
			rateOption,
			lowestRateOption,
			overheadOption,
			taxOption,
			includedOption,
			haggleOption,
			stepOption,
			{Name: "delivery", Summary: "what a mile or a kilometre of driving costs you", Kind: PerTrip, Example: "0.725/mile"},
		},
		Examples: []string{
			"/settings set rate:25 lowest-rate:18 haggle:12% step:5",
			"/settings set currency:EUR units:metric tax:19% tax-included:yes delivery:0.45/km",
		},
		Ask:       []string{"rate", "lowest-rate", "haggle", "step", "tax"},
		FormTitle: "what holds every time",
		Prefill:   h.prefillSettings,
		Run:       h.answerSettingsSet,
	}
}

func (h house) answerSettingsSet(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	// A currency that is set in the same breath is that of the bare amounts.
	c := value(in, "currency", price.ParseCurrency)
	if in.err == nil && c != (price.Currency{}) {
		in.settleCurrency(c)
	}
	fresh := in.freshSettings(c)
	if in.err != nil {
		return Reply{}, in.err
	}
	given := 0
	for _, name := range settingNames {
		if in.has(name) {
			given++
		}
	}
	if given == 0 {
		return Reply{}, &Mistake{Option: "rate", Problem: "or another setting is needed, else there is nothing to set", Try: req.command.Examples[0]}
	}
	var after store.Settings
	who := store.Who{Community: req.Community, Member: req.Member}
	err = h.Store.ChangeSettings(ctx, who, req.Delivery, req.Time, func(s *store.Settings) error {
		for _, name := range settingNames {
			if in.has(name) {
				copySetting(s, fresh, name)
			}
		}
		if s.Rate != nil && s.LowestRate != nil && s.Rate.Currency == s.LowestRate.Currency && s.LowestRate.Minor > s.Rate.Minor {
			return in.lowestAboveRate(*s)
		}
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	if after, err = h.Store.Settings(ctx, who); err != nil {
		return Reply{}, err
	}
	*req.used = nil // what was there before is in the table, with what is new
	reply := shownSettings("Set", after, req.Locale)
	reply.Notes = append(currencyNotes(after, in.currency), reply.Notes...)
	return reply, nil
}

// freshSettings reads what was typed.
func (in *reading) freshSettings(c price.Currency) store.Settings {
	s := store.Settings{Currency: c.Code(), Units: in.req.Options["units"]}
	s.Tape, _ = strconv.Atoi(in.req.Options["tape"])
	for _, amount := range []struct {
		name string
		into **store.Amount
	}{{"rate", &s.Rate}, {"lowest-rate", &s.LowestRate}, {"overhead", &s.Overhead}, {"step", &s.Step}} { // the first mistake is told
		m := in.money(amount.name)
		if in.err != nil || !in.has(amount.name) {
			continue
		}
		*amount.into = storedAmount(m)
	}
	percent := func(f price.Fraction) *int64 {
		b := f.Billionths()
		return &b
	}
	s.Tax, s.Haggle = percent(value(in, "tax", price.ParseTax)), percent(in.fraction("haggle"))
	included := in.yes("tax-included", false)
	s.TaxIncluded = &included
	if s.Units != "" { // a bare distance is in the units set in the same breath
		in.bare = measure.Inch
		if s.Units == metricUnits {
			in.bare = measure.Millimetre
		}
	}
	if in.has("delivery") {
		p, _ := in.delivery("delivery")
		s.Delivery = &store.Delivery{Micros: p.Micros(), Currency: p.Rate.Currency().Code(), Per: p.UnitName()}
	}
	return s
}

// storedAmount is money as it is kept. Every amount that was read has whole minor
// units.
func storedAmount(m price.Money) *store.Amount {
	minor, err := m.Minor()
	if err != nil {
		return nil
	}
	return &store.Amount{Minor: minor, Currency: m.Currency().Code()}
}

func copySetting(to *store.Settings, from store.Settings, name string) {
	switch name {
	case "currency":
		to.Currency = from.Currency
	case "units":
		to.Units = from.Units
	case "tape":
		to.Tape = from.Tape
	case "rate":
		to.Rate = from.Rate
	case "lowest-rate":
		to.LowestRate = from.LowestRate
	case "overhead":
		to.Overhead = from.Overhead
	case "tax":
		to.Tax = from.Tax
	case "tax-included":
		to.TaxIncluded = from.TaxIncluded
	case "haggle":
		to.Haggle = from.Haggle
	case "step":
		to.Step = from.Step
	case "delivery":
		to.Delivery = from.Delivery
	}
}

func (in *reading) lowestAboveRate(s store.Settings) error {
	wanted := settingText(s, "rate", in.req.Locale)
	if in.has("lowest-rate") {
		return &Mistake{Option: "lowest-rate", Given: measure.Quote(in.req.Options["lowest-rate"]), Problem: "is above your wanted rate of " + wanted, Try: "that or less"}
	}
	return &Mistake{Option: "rate", Given: measure.Quote(in.req.Options["rate"]), Problem: "is below the lowest rate you have set, " +
		settingText(s, "lowest-rate", in.req.Locale), Try: "both in one line, such as rate:25 lowest-rate:18"}
}

// currencyNotes tells of amounts that are kept in another currency than the one
// that counts now: they are not reinterpreted.
func currencyNotes(s store.Settings, now price.Currency) []string {
	var others []string
	note := func(name, currency string) {
		if currency != now.Code() {
			others = append(others, name+" ("+currency+")")
		}
	}
	for name, a := range map[string]*store.Amount{"rate": s.Rate, "lowest-rate": s.LowestRate, "overhead": s.Overhead, "step": s.Step} {
		if a != nil {
			note(name, a.Currency)
		}
	}
	if s.Delivery != nil {
		note("delivery", s.Delivery.Currency)
	}
	for _, v := range s.Venues {
		if v.Fixed != nil {
			note("venue "+v.Name, v.Fixed.Currency)
		}
	}
	if len(others) == 0 {
		return nil
	}
	return []string{"Kept in the currency they were given in, and not usable beside " + now.Code() + ": " + strings.Join(sorted(others), ", ") +
		". I never convert money; set them anew."}
}
