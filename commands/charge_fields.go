package commands

import (
	"slices"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// fields are what a line says of a piece. What is nil, empty or zero was not said,
// or was said in two ways.
type fields struct {
	currency price.Currency
	size     measure.Size
	lot      measure.Lot
	// lotText and sizeText are the lot and the size as they were typed.
	lotText, sizeText string
	// feet is the board feet of wood in the piece.
	feet *measure.Number
	span *price.Span
	// cost is everything paid out but the driving, fixed the fixed part of a fee.
	cost, fixed            *price.Money
	rate, lowest, overhead *price.Money
	fee                    *price.Fraction
	// share is true where the fee is what a shop keeps of the price before tax.
	share                 bool
	haggle, tax, moisture *price.Fraction
	// taxIncluded is true where prices were said to have the tax in them.
	taxIncluded     bool
	distance        *measure.Length
	perTrip         *price.PerDistance
	count           int
	category, piece string
	// what is how the member names the piece: "hall bench".
	what string
	// woods and venues are all that were named, in the order of the alphabet.
	woods, venues []string
}

// settle makes fields of the parts. It is the one place where parts meet.
func (r *lineReading) settle(l lineReader) {
	if !r.settleCurrency(l) {
		for _, p := range r.parts {
			if p.counts() {
				p.drop()
			}
		}
		r.parts = slices.DeleteFunc(r.parts, (*part).dropped)
	}
	f := &r.fields
	of := func(kind partKind, roles ...role) []*part { return r.of(kind, roles...) }
	if p := r.only("counts", of(countPart)); p != nil {
		f.count, _ = strconv.Atoi(p.name)
	}
	r.multiply(f.count)
	f.cost = r.total(of(moneyPart, costRole))
	f.fixed = r.total(of(moneyPart, fixedRole))
	if p := r.only("sizes", append(of(sizePart), r.sides(of(sidePart), l)...)); p != nil {
		f.size, f.sizeText = p.size, p.text
	}
	for _, p := range inOrder(of(boardsPart)) {
		f.lot = append(f.lot, p.lot...)
		f.lotText += "; " + p.text
	}
	f.lotText = strings.TrimPrefix(f.lotText, "; ")
	if p := r.only("amounts of board feet", of(feetPart)); p != nil {
		f.feet = &p.number
	}
	f.span = r.time(of(timePart))
	for _, rate := range []struct {
		name string
		role role
		into **price.Money
	}{{"wanted rates", wantedRole, &f.rate}, {"lowest rates", lowestRole, &f.lowest}, {"rates of overhead", overheadRole, &f.overhead}} {
		roles := []role{rate.role}
		if rate.role == wantedRole {
			roles = append(roles, "")
		}
		if p := r.only(rate.name, of(ratePart, roles...)); p != nil {
			*rate.into = &p.money
		}
	}
	for _, share := range []struct {
		name  string
		roles []role
		into  **price.Fraction
	}{
		{"fees", []role{fixedRole, feeRole, shareRole}, &f.fee},
		{"ideas of the haggling", []role{haggleRole}, &f.haggle},
		{"sales taxes", []role{taxRole}, &f.tax},
		{"moisture contents", []role{moistureRole}, &f.moisture},
	} {
		if p := r.only(share.name, of(percentPart, share.roles...)); p != nil {
			*share.into = &p.fraction
			f.share = f.share || p.role == shareRole
		}
	}
	for _, p := range of(percentPart, taxRole) {
		for _, t := range p.labels {
			f.taxIncluded = f.taxIncluded || f.tax != nil && includedWords[t.word]
		}
	}
	f.distance = r.driven(of(distancePart))
	if p := r.only("rates for driving", of(perTripPart)); p != nil {
		f.perTrip = &p.per
	}
	if p := r.only("kinds of piece", of(categoryPart)); p != nil {
		f.category, f.what = p.name, p.wrote()
	}
	if all := inOrder(of(piecePart)); len(all) > 0 {
		f.piece = all[0].name
		if f.what == "" {
			f.what = all[0].wrote()
		}
	}
	f.woods, f.venues = namesOf(of(speciesPart)), namesOf(of(venuePart))
	if len(f.venues) > 0 && (f.fee != nil || f.fixed != nil) {
		r.doubts = append(r.doubts, "A fee and the venue "+f.venues[0]+" both say what selling takes: leave one of the two out.")
		f.fee, f.fixed, f.venues, f.share = nil, nil, nil, false
	}
}

// sides puts named sides together as one size. One side alone is none.
func (r *lineReading) sides(parts []*part, l lineReader) []*part {
	if len(parts) == 0 {
		return nil
	}
	whole := &part{kind: sizePart}
	var texts, wrote []string
	for _, p := range inOrder(parts) {
		text := p.distance.Metric() + " " + p.name
		wrote = append(wrote, p.wrote())
		if !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	whole.run = []*token{{text: strings.Join(wrote, ", ")}}
	var err error
	if whole.size, err = measure.ParseSize(strings.Join(texts, " x "), l.bare); err == nil {
		return []*part{whole}
	}
	if len(texts) > 1 {
		r.doubts = append(r.doubts, "I cannot put the sides "+quoted(strings.Join(wrote, ", "))+" together: name each once, as in 48 in long, 14 in wide, 18 in high.")
	}
	for _, p := range parts {
		p.drop()
	}
	r.parts = slices.DeleteFunc(r.parts, (*part).dropped)
	return nil
}

// of finds the parts of a kind, with one of the roles where any are named.
func (r *lineReading) of(kind partKind, roles ...role) []*part {
	var list []*part
	for _, p := range r.parts {
		if p.kind == kind && (len(roles) == 0 || slices.Contains(roles, p.role)) {
			list = append(list, p)
		}
	}
	return list
}

// inOrder puts parts into the order of what was written, which no order of the
// clauses changes.
func inOrder(parts []*part) []*part {
	list := slices.Clone(parts)
	slices.SortStableFunc(list, func(a, b *part) int { return strings.Compare(a.wrote(), b.wrote()) })
	return list
}

func namesOf(parts []*part) []string {
	var names []string
	for _, p := range parts {
		names = append(names, p.name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// only is the one value that several parts agree on; where they differ, it asks.
func (r *lineReading) only(what string, parts []*part) *part {
	if len(parts) == 0 {
		return nil
	}
	list := inOrder(parts)
	var differ []string
	for _, p := range list {
		if p.value() != list[0].value() && !slices.Contains(differ, p.wrote()) {
			differ = append(differ, p.wrote())
		}
	}
	if len(differ) == 0 {
		return list[0]
	}
	r.doubts = append(r.doubts, "I read "+strconv.Itoa(len(differ)+1)+" "+what+", "+quoted(list[0].wrote())+" and "+quoted(differ[0])+", and used neither: leave the one that holds.")
	return nil
}

// value tells parts apart by what they mean.
func (p *part) value() string {
	switch p.kind {
	case sizePart:
		return p.size.Metric()
	case feetPart:
		return p.number.String()
	case timePart:
		return spanText(p.span)
	case moneyPart, ratePart:
		return p.money.Fine() + " " + p.money.Currency().Code()
	case perTripPart:
		return p.per.Rate.Fine() + " " + p.per.Rate.Currency().Code() + "/" + p.per.UnitName()
	case percentPart:
		return p.fraction.Percent()
	case distancePart:
		return p.distance.Metric()
	}
	return p.name
}

// counts reports whether the part is in money.
func (p *part) counts() bool {
	return p.kind == moneyPart || p.kind == ratePart || p.kind == perTripPart
}

// settleCurrency finds the one currency of the line and counts bare amounts in it.
// Two of them are asked about.
func (r *lineReading) settleCurrency(l lineReader) bool {
	var marked []string
	r.fields.currency = l.usual
	for _, p := range r.parts {
		if !p.counts() || !p.marked {
			continue
		}
		c := p.money.Currency()
		if p.kind == perTripPart {
			c = p.per.Rate.Currency()
		}
		if !slices.Contains(marked, c.Code()) {
			marked = append(marked, c.Code())
		}
		r.fields.currency = c
	}
	if len(marked) > 1 {
		slices.Sort(marked)
		r.doubts = append(r.doubts, "The amounts are in "+strings.Join(marked, " and ")+", and I never convert money: write them all in one.")
		return false
	}
	again := l
	again.usual = r.fields.currency
	for _, p := range r.parts {
		if !p.counts() || p.marked {
			continue
		}
		if err := p.recount(again); err != nil {
			if input, ok := err.(*measure.InputError); ok {
				r.doubts = append(r.doubts, input.Error()+".")
			}
			p.drop()
		}
	}
	r.parts = slices.DeleteFunc(r.parts, (*part).dropped)
	return true
}

// recount reads a bare amount again, in the currency of the line.
func (p *part) recount(l lineReader) (err error) {
	switch p.kind {
	case moneyPart:
		p.money, _, err = price.ParseMoney(p.text, l.usual)
	case ratePart:
		text := p.text
		if m := anHour.FindStringSubmatch(text); m != nil {
			text = m[1]
		}
		p.money, _, err = price.ParseMoney(text, l.usual)
	case perTripPart:
		m := aMile.FindStringSubmatch(p.text)
		p.per, _, err = price.ParsePerDistance(strings.TrimSpace(m[1])+"/"+m[2], l.usual, l.trip)
	}
	return err
}

// total adds amounts up.
func (r *lineReading) total(parts []*part) *price.Money {
	if len(parts) == 0 {
		return nil
	}
	sum := price.Money{}
	for _, p := range parts {
		more, err := sum.Add(p.money)
		if err == nil {
			_, err = more.Minor()
		}
		if err != nil {
			r.doubts = append(r.doubts, "The amounts come to more money than I count.")
			return nil
		}
		sum = more
	}
	return &sum
}

// chained adds up parts that plus signs join, by add into the first of each chain.
func chained(parts []*part, add func(into, p *part)) []*part {
	var list []*part
	for i, p := range parts {
		if i > 0 && p.first().plus && parts[i-1].clause == p.clause {
			into := list[len(list)-1]
			add(into, p)
			into.run, into.labels = slices.Concat(into.run, p.run), slices.Concat(into.labels, p.labels)
			continue
		}
		one := *p
		list = append(list, &one)
	}
	return list
}

// time is the maker's time: one value, a sum, or stages that each have a name.
func (r *lineReading) time(parts []*part) *price.Span {
	add := func(into, p *part) {
		into.span.Low += p.span.Low
		into.span.High += p.span.High
	}
	list := chained(parts, add)
	if len(list) > 1 && !slices.ContainsFunc(list, func(p *part) bool { return p.role != workRole }) {
		for _, p := range list[1:] {
			add(list[0], p)
		}
		return &list[0].span
	}
	if p := r.only("times", list); p != nil {
		return &p.span
	}
	return nil
}

// driven is how far was driven in all.
func (r *lineReading) driven(parts []*part) *measure.Length {
	ways := make([]*part, len(parts))
	for i, p := range parts {
		way := *p
		way.distance = p.whole()
		ways[i] = &way
	}
	if p := r.only("distances", chained(ways, func(into, p *part) { into.distance += p.distance })); p != nil {
		return &p.distance
	}
	return nil
}

// whole is the way there and back.
func (p *part) whole() measure.Length {
	if p.role == eachWayRole {
		return 2 * p.distance
	}
	return p.distance
}
