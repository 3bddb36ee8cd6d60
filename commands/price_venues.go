package commands

import (
	"slices"

	"tallystick/calc/price"
)

// ranking compares venues by what they leave.
type ranking struct {
	table Table
	note  string
}

// rankVenues orders the venues named by what is left of one and the same price,
// and puts the first to the job. The price is the highest of their targets, so
// that every venue pays the wanted rate at it; without a wanted rate it is the
// highest of their break-evens. One venue needs no ranking.
func (d *deal) rankVenues() (*ranking, error) {
	if len(d.venues) < 2 {
		return nil, nil
	}
	type place struct {
		venue
		needs, left, pays price.Money
	}
	places := make([]place, len(d.venues))
	step := d.step
	if !d.known("rate") {
		step = price.Money{} // a break-even is a limit, not a price to name
	}
	var same price.Money
	for i, v := range d.venues {
		j := d.job
		v.applyTo(&j)
		needs, err := j.Stepped(d.wanted, price.Fraction{}, step)
		if err != nil {
			return nil, err
		}
		places[i] = place{venue: v, needs: needs}
		if i == 0 || needs.Cmp(same) > 0 {
			same = needs
		}
	}
	for i := range places {
		j := d.job
		places[i].applyTo(&j)
		var err error
		if places[i].left, err = j.Left(same); err != nil {
			return nil, err
		}
		if d.timed() {
			if places[i].pays, err = j.Hourly(same); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(places, func(a, b place) int { return b.left.Cmp(a.left) })

	locale, what := d.in.req.Locale, "target"
	if !d.known("rate") {
		what = "break-even"
	}
	r := &ranking{
		table: Table{Title: "The same " + moneyText(same, locale) + " at each venue", Columns: []string{"venue", "left", "an hour", what + " there"}},
		note: "Venues stand by what they leave of the same price, the best first; the figures above are for " + places[0].name + ". " +
			"A trip to one of them is not counted unless it is in the materials.",
	}
	for i, p := range places {
		row := []string{p.name, moneyText(p.left, locale), "", moneyText(p.needs, locale)}
		if d.timed() {
			row[2] = moneyText(p.pays, locale)
		}
		r.table.Rows = append(r.table.Rows, row)
		d.venues[i] = p.venue
	}
	if !d.timed() {
		r.table.Columns = slices.Delete(r.table.Columns, 2, 3)
		for i := range r.table.Rows {
			r.table.Rows[i] = slices.Delete(r.table.Rows[i], 2, 3)
		}
	}
	d.venues[0].applyTo(&d.job)
	return r, nil
}
