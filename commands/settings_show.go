package commands

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"tallystick/store"
)

// The words of the units setting.
const (
	imperialUnits = "imperial"
	metricUnits   = "metric"
)

// settingNames are the settings in the order in which they are shown; they are the
// names of the options that set them.
var settingNames = []string{"currency", "units", "tape", "rate", "lowest-rate", "overhead", "tax", "tax-included", "haggle", "step", "delivery"}

func (h house) settingsShow() Command {
	return Command{
		Path:     "settings show",
		Summary:  "what you have set once for all your requests",
		Private:  true,
		Examples: []string{"/settings show"},
		Run:      h.answerSettingsShow,
	}
}

func (h house) answerSettingsShow(ctx context.Context, req Request) (Reply, error) {
	settings, err := h.Store.Settings(ctx, store.Who{Community: req.Community, Member: req.Member})
	if err != nil {
		return Reply{}, err
	}
	return shownSettings("Your settings", settings, req.Locale), nil
}

// shownSettings is all there is, and what is not.
func shownSettings(title string, s store.Settings, locale string) Reply {
	reply := Reply{Title: title, Private: true}
	set := Table{Columns: []string{"setting", "yours"}}
	var unset []string
	for _, name := range settingNames {
		if text := settingText(s, name, locale); text != "" {
			set.Rows = append(set.Rows, []string{name, text})
		} else {
			unset = append(unset, name)
		}
	}
	if len(set.Rows) > 0 {
		reply.Tables = append(reply.Tables, set)
	}
	if len(s.Venues) > 0 {
		venues := Table{Title: "Your venues", Columns: []string{"venue", "takes"}}
		for _, v := range s.Venues {
			venues.Rows = append(venues.Rows, []string{v.Name, venueText(v, locale)})
		}
		reply.Tables = append(reply.Tables, venues)
	}
	if len(reply.Tables) == 0 {
		reply.Title = "You have set nothing yet"
	}
	if len(unset) > 0 {
		reply.Notes = append(reply.Notes, "Not set: "+strings.Join(unset, ", ")+". To set one: /settings set rate:25.")
	}
	if len(s.Venues) == 0 {
		reply.Notes = append(reply.Notes, "No venues. To keep what selling somewhere takes: /settings venue name:fair fee:6.5% fixed-fee:0.30.")
	}
	reply.Notes = append(reply.Notes, "An option that you type wins over a setting. Only you see these; to drop them: /settings forget all:yes.")
	return reply
}

// settingText is one setting as people read it, "" where it is not set.
func settingText(s store.Settings, name, locale string) string {
	amount := func(a *store.Amount, behind string) string {
		if a == nil {
			return ""
		}
		m, ok := amountOf(*a)
		if !ok {
			return strconv.FormatInt(a.Minor, 10) + " of the smallest coin of " + a.Currency + behind
		}
		return moneyText(m, locale) + behind
	}
	percent := func(p *int64) string {
		if p == nil {
			return ""
		}
		return fractionText(*p)
	}
	switch name {
	case "currency":
		return s.Currency
	case "units":
		return s.Units
	case "tape":
		if s.Tape == 0 {
			return ""
		}
		return tapeText(s.Tape)
	case "rate":
		return amount(s.Rate, " an hour")
	case "lowest-rate":
		return amount(s.LowestRate, " an hour")
	case "overhead":
		return amount(s.Overhead, " an hour")
	case "step":
		return amount(s.Step, "")
	case "tax":
		return percent(s.Tax)
	case "haggle":
		return percent(s.Haggle)
	case "tax-included":
		if s.TaxIncluded == nil {
			return ""
		}
		return "prices " + withTaxWords(*s.TaxIncluded)
	case "delivery":
		if s.Delivery == nil {
			return ""
		}
		p, ok := deliveryOf(*s.Delivery)
		if !ok {
			return strconv.FormatInt(s.Delivery.Micros, 10) + " millionths of " + s.Delivery.Currency + " a " + s.Delivery.Per
		}
		return perDistanceText(p, locale)
	}
	return ""
}

func venueText(s store.Venue, locale string) string {
	v, ok := venueOf(s)
	if !ok {
		return "a fixed fee in " + s.Fixed.Currency + ", which is no currency any more"
	}
	return v.text(locale)
}

func tapeText(fraction int) string { return "1/" + strconv.Itoa(fraction) + " in" }

// clearSetting takes one setting away and reports whether it was there.
func clearSetting(s *store.Settings, name string) bool {
	there := settingText(*s, name, "") != ""
	switch name {
	case "currency":
		s.Currency = ""
	case "units":
		s.Units = ""
	case "tape":
		s.Tape = 0
	case "rate":
		s.Rate = nil
	case "lowest-rate":
		s.LowestRate = nil
	case "overhead":
		s.Overhead = nil
	case "step":
		s.Step = nil
	case "tax":
		s.Tax = nil
	case "tax-included":
		s.TaxIncluded = nil
	case "haggle":
		s.Haggle = nil
	case "delivery":
		s.Delivery = nil
	}
	return there
}

// placeOfVenue is where a venue stands in the list, else -1.
func placeOfVenue(s store.Settings, name string) int {
	return slices.IndexFunc(s.Venues, func(v store.Venue) bool { return v.Name == name })
}
