package commands

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// moreAtOnce is how many hours the button for more of them adds.
const moreAtOnce = 2 * time.Hour

// addMore puts the hours that are only tried on top of those that were told.
func (d *deal) addMore() {
	in := d.in
	more := in.hours("more")
	if in.err != nil || !in.has("more") {
		return
	}
	if !d.timed() {
		in.fail(&Mistake{Option: "more", Given: measure.Quote(in.req.Options["more"]), Problem: "goes on top of hours, and there are none", Try: "hours:" + hoursOption.Example})
		return
	}
	d.span.Low += more
	d.span.High += more
	d.job.Hours = d.span.High
}

// moreText says which part of the hours is only tried.
func (d deal) moreText() string {
	more := d.in.hours("more")
	if more == 0 {
		return ""
	}
	return measure.FormatDuration(more) + " of the time on top of yours, to try"
}

// tried is what the price that was asked about leaves and pays.
func (d deal) tried(at price.Money) ([]Figure, error) {
	if !d.in.has("at") {
		return nil, nil
	}
	name := "At " + moneyText(at, d.in.req.Locale)
	left, err := d.job.Left(at)
	if err != nil {
		return nil, err
	}
	figures := []Figure{moneyFigure("tried_left", name+", left for your own time", left, d.in.req)}
	hourly, err := d.hourlyFigures("tried_hourly", name+", an hour pays", at)
	return append(figures, hourly...), err
}

// withTried puts the price that was asked about among those of the ladder. The
// first and the last stay: the ladder reaches from one to the other.
func (d deal) withTried(prices []priced, at price.Money) []priced {
	if !d.in.has("at") {
		return prices
	}
	return slices.Insert(slices.Clone(prices), 1, priced{key: "tried_price", short: "tried", low: at, high: at})
}

// tries are the requests a step away from this one: another price, or more time.
// update is true for an answer that is such a step itself: its card takes the
// place of the one before.
func (d deal) tries(prices []priced, at price.Money) (actions []Action, update bool) {
	in := d.in
	asking, ok := find(prices, "asking_price")
	if !ok {
		return nil, false
	}
	from := asking.high
	if in.has("at") {
		from = at
	}
	actions = make([]Action, 0, 4)
	for _, p := range d.nextSteps(from) {
		actions = append(actions, d.try("Try "+moneyText(p, in.req.Locale), "at", strings.TrimSuffix(p.Plain(), ".00")))
	}
	more := in.hours("more")
	actions = append(actions, d.try("What if it takes two hours more", "more", hoursText(more+moreAtOnce)))
	if more >= moreAtOnce {
		actions = append(actions, d.try("Two hours less", "more", hoursText(more-moreAtOnce)))
	}
	return actions, in.has("at") || in.has("more")
}

// try is this request with one option changed.
func (d deal) try(label, option, text string) Action {
	options := maps.Clone(d.in.req.Options)
	options[option] = text
	return Action{Label: label, Path: d.in.req.command.Path, Options: options}
}

// nextSteps are the whole steps below and above a price: the member's own step, or
// else a round one of about a thirtieth of the price.
func (d deal) nextSteps(from price.Money) []price.Money {
	at, err := from.Minor()
	if err != nil || at <= 0 {
		return nil
	}
	step, err := d.step.Minor()
	if err != nil || step <= 0 {
		step = roundStep(at)
	}
	out := make([]price.Money, 0, 2)
	for _, minor := range []int64{(at - 1) / step * step, (at/step + 1) * step} {
		if minor > 0 {
			out = append(out, price.NewMoney(minor, from.Currency()))
		}
	}
	return out
}

// roundStep is the least of 1, 2 and 5 times a power of ten that makes at most
// forty steps of an amount.
func roundStep(amount int64) int64 {
	for power := int64(1); ; power *= 10 {
		for _, digit := range []int64{1, 2, 5} {
			if step := digit * power; step >= amount/40 {
				return step
			}
		}
	}
}

// hoursText writes whole minutes as shortly as they are read: 2h, 2h30.
func hoursText(d time.Duration) string {
	minutes := int64(d.Round(time.Minute) / time.Minute)
	if minutes%60 == 0 {
		return fmt.Sprintf("%dh", minutes/60)
	}
	return fmt.Sprintf("%dh%02d", minutes/60, minutes%60)
}
