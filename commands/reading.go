package commands

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// reading takes typed values out of a request. The first mistake is kept and
// everything after it reads as absent, so that a handler asks for all it wants
// and looks at err once.
type reading struct {
	req       Request
	community store.Community
	bare      measure.Length
	// tape is the finest fraction of an inch that lengths are written with.
	tape int
	// currency is the one the request's amounts are in: the one that was marked
	// on any of them, else the community's.
	currency price.Currency
	// settings are what the member set once; an option of the request wins.
	settings store.Settings
	// mixed are the settings that could not be used for their currency.
	mixed []string
	// stands is how the piece of what was added stands, where that is known.
	stands *store.Standing
	err    error
}

// usualTape is how finely a tape is read unless a member says otherwise: 1/16 in.
const usualTape = 16

func (h house) read(ctx context.Context, req Request) (*reading, error) {
	community, err := h.Store.Community(ctx, req.Community)
	if err != nil {
		return nil, err
	}
	usual, err := price.ParseCurrency(community.Currency)
	if err != nil {
		return nil, err
	}
	in := &reading{req: req, community: community, bare: h.Bare, tape: usualTape, currency: usual}
	if in.settings, err = h.Store.Settings(ctx, store.Who{Community: req.Community, Member: req.Member}); err != nil {
		return nil, err
	}
	in.applyMeasures()
	in.settleCurrency(in.applyCurrency(usual))
	return in, nil
}

// settleCurrency looks for a mark on any amount. Two different ones are a mistake.
func (in *reading) settleCurrency(usual price.Currency) {
	in.currency = usual
	markedBy := ""
	for i := range in.req.command.Options {
		o := &in.req.command.Options[i]
		if !in.has(o.Name) || !mayMark(in.req.Options[o.Name]) {
			continue
		}
		m, marked, err := parseAmount(o.Kind, in.req.Options[o.Name], usual)
		if err != nil || !marked {
			continue
		}
		if markedBy != "" && m.Currency() != in.currency {
			in.fail(&Mistake{Option: o.Name, Given: measure.Quote(in.req.Options[o.Name]),
				Problem: "is in " + m.Currency().Code() + " and " + markedBy + " is in " + in.currency.Code() + "; I never convert money",
				Try:     "every amount in " + in.currency.Code()})
			return
		}
		in.currency, markedBy = m.Currency(), o.Name
	}
}

// mayMark tells whether a text holds more than a number, which marks no currency.
func mayMark(text string) bool { return strings.Trim(text, "0123456789.,+ ") != "" }

func parseAmount(kind Kind, text string, usual price.Currency) (price.Money, bool, error) {
	switch kind {
	case Money:
		return price.ParseSum(text, usual)
	case Rate:
		return price.ParsePer(text, usual, "h", "hr", "hour", "hours")
	case PerFoot:
		p, marked, err := parseUnitPrice(text, usual, perFoot, perCubicMetre)
		return p.Money, marked, err
	case PerTrip:
		p, marked, err := price.ParsePerDistance(text, usual, price.Mile)
		return p.Rate, marked, err
	case Discount:
		if strings.Contains(text, "%") {
			return price.Money{}, false, nil
		}
		return price.ParseSum(text, usual)
	}
	return price.Money{}, false, nil
}

func (in *reading) fail(err error) {
	if in.err == nil {
		in.err = err
	}
}

// has reports whether an option was given and is not blank.
func (in *reading) has(name string) bool { return !blank(in.req.Options[name]) }

// value reads one option by a parser. Absent options read as the zero value.
func value[T any](in *reading, name string, parse func(text string) (T, error)) T {
	var zero T
	if in.err != nil || !in.has(name) {
		return zero
	}
	v, err := parse(in.req.Options[name])
	if err != nil {
		o, _ := in.req.command.Option(name)
		in.fail(mistaken(o, err))
		return zero
	}
	return v
}

// money reads an amount of whichever kind the option is.
func (in *reading) money(name string) price.Money {
	m := value(in, name, func(text string) (price.Money, error) {
		o, _ := in.req.command.Option(name)
		m, _, err := parseAmount(o.Kind, text, in.currency)
		return m, err
	})
	if m == (price.Money{}) {
		return price.NewMoney(0, in.currency)
	}
	return m
}

func (in *reading) fraction(name string) price.Fraction {
	return value(in, name, price.ParseFraction)
}

func (in *reading) hours(name string) time.Duration {
	return value(in, name, measure.ParseDuration)
}

// span reads a time that may be known only between two bounds.
func (in *reading) span(name string) price.Span {
	return value(in, name, price.ParseSpan)
}

// yes reads a yes or no, with what holds where nothing was said.
func (in *reading) yes(name string, usual bool) bool {
	if !in.has(name) {
		return usual
	}
	return in.req.Options[name] == "yes"
}

func (in *reading) lot(name string) measure.Lot {
	return value(in, name, func(text string) (measure.Lot, error) { return measure.ParseLot(text, in.bare) })
}

func (in *reading) size(name string) measure.Size {
	return value(in, name, func(text string) (measure.Size, error) { return measure.ParseSize(text, in.bare) })
}

func (in *reading) length(name string) measure.Length {
	return value(in, name, func(text string) (measure.Length, error) { return measure.ParseLength(text, in.bare) })
}

// whole reads a whole number from least to most.
func (in *reading) whole(name string, least, most int64) int {
	return int(value(in, name, func(text string) (int64, error) {
		number, err := measure.ParseNumber(text)
		n, whole := number.Whole()
		switch {
		case err != nil || !whole:
			return 0, &measure.InputError{Value: text, Problem: "is not a whole number"}
		case n < least || n > most:
			return 0, &measure.InputError{Value: text, Problem: fmt.Sprintf("is not between %d and %d", least, most)}
		}
		return n, nil
	}))
}
