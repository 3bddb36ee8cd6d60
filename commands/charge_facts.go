package commands

import (
	"context"
	"errors"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// priceOptions are the fields as /price reads them, with the driving among the
// materials. Asked with them, /price says what this answer says.
func (f fields) priceOptions(trip *price.Money) (map[string]string, error) {
	options := map[string]string{}
	amount := func(name string, m *price.Money) {
		if m != nil {
			options[name] = m.Fine() + " " + m.Currency().Code()
		}
	}
	share := func(name string, s *price.Fraction) {
		if s != nil {
			options[name] = s.Percent() + "%"
		}
	}
	cost := f.cost
	if trip != nil {
		sum := *trip
		if cost != nil {
			var err error
			if sum, err = cost.Add(*trip); err != nil {
				return nil, err
			}
		}
		cost = &sum
	}
	amount("materials", cost)
	amount("fixed-fee", f.fixed)
	amount("rate", f.rate)
	amount("lowest-rate", f.lowest)
	amount("overhead", f.overhead)
	share("fee", f.fee)
	share("haggle", f.haggle)
	share("tax", f.tax)
	if f.taxIncluded {
		options["tax-included"] = "yes"
	}
	if f.share {
		options["fee-on-tax"] = "no" // a shop's part is of the price before tax
	}
	if f.span != nil {
		options["hours"] = spanText(*f.span)
	}
	if len(f.venues) > 0 {
		options["venue"] = strings.Join(f.venues, ",")
	}
	f.sizeOptions(options)
	return options, nil
}

// sizeOptions says how large the top is and what wood is in it. Several pieces are
// so many tops end to end.
func (f fields) sizeOptions(options map[string]string) {
	if f.lot != nil {
		options["boards"] = f.lotText
	} else if f.solid() && f.count > 1 {
		options["boards"] = strconv.Itoa(f.count) + " @ " + sizeWords(measure.Size{f.size[2], f.size[1], f.size[0]})
	}
	if f.size == nil {
		return
	}
	size := f.size
	if !f.solid() || f.count > 1 {
		size = size[:2]
	}
	if long, err := size[0].Times(int64(f.pieces())); err == nil {
		size = append(measure.Size{long}, size[1:]...)
	}
	options["size"] = sizeWords(size)
}

// sizeWords writes a size so that it reads back as the same.
func sizeWords(size measure.Size) string {
	const finest = 64
	if text, exact := size.Tape(finest); exact {
		return text
	}
	return size.Metric()
}

// drive works out what the driving costs as /cost trip does. What it cannot say is
// a question.
func (h house) drive(ctx context.Context, req Request, f fields) (cost *price.Money, notes []string, doubt string, err error) {
	if f.distance == nil {
		return nil, nil, "", nil
	}
	trip := req.as(h.costTrip(), map[string]string{"distance": f.distance.In(price.Kilometre, 6) + " km"})
	if f.perTrip != nil {
		trip.Options["rate"] = f.perTrip.Rate.Fine() + " " + f.perTrip.Rate.Currency().Code() + "/" + f.perTrip.UnitName()
	}
	in, err := h.read(ctx, trip)
	if err != nil {
		return nil, nil, "", err
	}
	in.currency = f.currency
	t := tripOf(in, *f.distance)
	if err := t.cost(); err != nil {
		if m, ok := errors.AsType[*Mistake](err); ok {
			return nil, nil, "The drive is not counted: its " + m.Option + " " + m.Problem + ". Say it in the line: 0.45/km.", nil
		}
		return nil, nil, "", err
	}
	if t.drive.Currency() != f.currency {
		return nil, nil, "The drive is not counted: its published figure is in " + t.drive.Currency().Code() + ". Say 0.45/km in the line.", nil
	}
	return &t.drive, t.notes, "", nil
}

func tripOf(in *reading, distance measure.Length) trip { return trip{in: in, distance: distance} }

// priceRequest is the request to /price for the same facts.
func (h house) priceRequest(req Request, options map[string]string) Request {
	return req.as(h.price(), options)
}

// dealOf reads the fields as /price does. What does not go together is asked about
// and left out, so that the rest can still be answered.
func (h house) dealOf(ctx context.Context, req Request, options map[string]string) (deal, sizes, []string, error) {
	var doubts []string
	for {
		in, err := h.read(ctx, h.priceRequest(req, options))
		if err != nil {
			return deal{}, sizes{}, nil, err
		}
		d := in.deal()
		if d.known("rate") {
			d.haggle = in.haggle()
		}
		s := in.sizes()
		m, ok := errors.AsType[*Mistake](in.err)
		if _, given := options[optionOf(m)]; !ok || !given {
			return d, s, doubts, in.err
		}
		doubts = append(doubts, "Left out: "+m.Error())
		delete(options, m.Option)
	}
}

func optionOf(m *Mistake) string {
	if m == nil {
		return ""
	}
	return m.Option
}
