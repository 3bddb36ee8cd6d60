package commands

import (
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// written is the fields in one plain form each, by name: what the tests compare.
func (f fields) written() map[string]string {
	w := map[string]string{}
	put := func(name, text string, there bool) {
		if there {
			w[name] = text
		}
	}
	amount := func(name string, m *price.Money, behind string) {
		if m != nil {
			w[name] = m.Plain() + " " + m.Currency().Code() + behind
		}
	}
	share := func(name string, s *price.Fraction) {
		if s != nil {
			w[name] = s.Percent() + "%"
		}
	}
	put("size", f.size.Metric(), f.size != nil)
	if f.lot != nil {
		put("boards", strconv.Itoa(f.lot.Boards())+" of "+measure.Decimal(f.lot.Volume().Rat(measure.Centimetre), 1)+" cm3", true)
	}
	if f.feet != nil {
		w["board_feet"] = f.feet.String()
	}
	if f.span != nil {
		w["hours"] = spanText(*f.span)
	}
	amount("materials", f.cost, "")
	amount("fixed_fee", f.fixed, "")
	amount("rate", f.rate, "/h")
	amount("lowest_rate", f.lowest, "/h")
	amount("overhead", f.overhead, "/h")
	share("fee", f.fee)
	put("share", "yes", f.share)
	share("haggle", f.haggle)
	share("tax", f.tax)
	put("tax_included", "yes", f.taxIncluded)
	share("moisture", f.moisture)
	if f.distance != nil {
		w["distance"] = f.distance.In(price.Kilometre, 3) + " km"
	}
	if f.perTrip != nil {
		w["driving_rate"] = f.perTrip.Rate.Fine() + " " + f.perTrip.Rate.Currency().Code() + "/" + f.perTrip.UnitName()
	}
	put("count", strconv.Itoa(f.count), f.count > 0)
	put("category", f.category, f.category != "")
	put("piece", f.piece, f.piece != "")
	put("wood", strings.Join(f.woods, " and "), len(f.woods) > 0)
	put("venue", strings.Join(f.venues, ","), len(f.venues) > 0)
	return w
}
