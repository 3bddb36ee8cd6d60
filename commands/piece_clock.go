package commands

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// tradeStages are the words the trade has for the stages of a piece. A maker may
// use any others.
var tradeStages = []string{
	"finding stock", "de-nailing", "milling", "layout", "cutting", "joinery", "turning", "carving", "glue-up",
	"assembly", "sanding", "finishing", "photographs", "selling", "delivery", "clean-up",
}

func (h house) stageOption() Option {
	o := textOption("stage", price.FactStage, "what you do, in your own words", "milling")
	o.Complete = func(_ context.Context, _ Request, typed string) ([]Choice, error) {
		all := make([]Choice, len(tradeStages))
		for i, s := range tradeStages {
			all[i] = Choice{Value: s, Label: s}
		}
		return matching(all, typed), nil
	}
	return o
}

func helperOption() Option {
	return textOption("helper", price.FactPerson, "whose time it is; yours unless you say", "Sam")
}

func payOption() Option {
	return Option{Name: "pay", Summary: "what the helper gets for an hour", Kind: Rate, Example: "15"}
}

func agoOption(summary string) Option {
	return Option{Name: "ago", Summary: summary, Kind: Hours, Example: "10m"}
}

// limit is how long a clock of the member may run.
func (h house) limit(ctx context.Context, b *store.Book) (int64, error) {
	set, err := b.Limit(ctx)
	if set == 0 {
		set = price.Seconds(usualLimit)
	}
	return set, err
}

// clockOf finds the running clock of a person; "" is the member.
func clockOf(ctx context.Context, b *store.Book, person string) (store.Clock, bool, error) {
	clocks, err := b.Clocks(ctx)
	for _, c := range clocks {
		if price.StageKey(c.Person) == price.StageKey(person) {
			return c, true, err
		}
	}
	return store.Clock{}, false, err
}

// clockNotesOf is clockNotes of a book that is open.
func (h house) clockNotesOf(ctx context.Context, in *reading, b *store.Book) ([]string, error) {
	clocks, err := b.Clocks(ctx)
	if err != nil {
		return nil, err
	}
	return h.clockNotes(ctx, in, clocks, func(f func(b *store.Book) error) error { return f(b) })
}

// clockNotes tells of the clocks that have run too long to be believed.
func (h house) clockNotes(ctx context.Context, in *reading, clocks []store.Clock, open book) ([]string, error) {
	ran := func(c store.Clock) int64 { return in.req.Time.Unix() - c.Began }
	// Mostly no limit could be passed yet, and none need be looked up.
	if !slices.ContainsFunc(clocks, func(c store.Clock) bool { return ran(c) > price.Seconds(leastLimit) }) {
		return nil, nil
	}
	var limit int64
	err := open(func(b *store.Book) (err error) {
		limit, err = h.limit(ctx, b)
		return err
	})
	var notes []string
	for _, c := range clocks {
		if ran := ran(c); ran > limit {
			notes = append(notes, capital(clockName(c.Person))+" on piece "+strconv.Itoa(c.Piece.Number)+stageText(c.Stage)+" has run for "+longText(ran)+
				", longer than "+secondsText(limit)+". It counts nothing until you say what is right: "+rightLine(c.Person))
		}
	}
	return notes, err
}

func clockName(person string) string {
	if person == "" {
		return "your clock"
	}
	return oneLine(person) + "'s clock"
}

func stageText(stage string) string {
	if stage == "" {
		return ""
	}
	return " (" + oneLine(stage) + ")"
}

func rightLine(person string) string {
	options := map[string]string{"worked": "2h30"}
	if person != "" {
		options["helper"] = oneLine(person)
	}
	return FormatLine("piece clock right", options)
}

// helperPay is what a time of somebody costs in minor units.
func helperPay(in *reading, person string, seconds int64, hourly price.Money) int64 {
	if person == "" {
		return 0
	}
	pay, err := price.PayFor(time.Duration(seconds)*time.Second, hourly)
	if err != nil {
		in.fail(err)
		return 0
	}
	return in.minor(pay)
}

// payRefused says that only a helper has pay.
func (in *reading) payRefused() {
	if in.has("pay") && !in.has("helper") {
		in.fail(&Mistake{Option: "pay", Given: measure.Quote(in.req.Options["pay"]), Problem: "is for a helper, and none is named; your own time is what the rate pays", Try: "helper:Sam pay:15"})
	}
}

// agoSeconds is how long before now something was.
func (in *reading) agoSeconds() int64 {
	ago := in.hours("ago")
	if ago > 7*24*time.Hour {
		in.fail(&Mistake{Option: "ago", Given: measure.Quote(in.req.Options["ago"]), Problem: "is more than a week", Try: "10m, or /piece time worked:2h for older work"})
	}
	return price.Seconds(ago)
}

func running(p store.Piece) error {
	switch p.Status {
	case price.StatusOpen, price.StatusListed:
		return nil
	}
	return &Mistake{Option: "piece", Given: strconv.Itoa(p.Number), Problem: "is " + statusText(p.Status) + ", so no clock runs for it",
		Try: "/piece time worked:1h for work after the end, or /piece reopen"}
}

func statusText(s price.Status) string {
	if s == price.StatusGiven {
		return "given away"
	}
	return string(s)
}

func isNotFound(err error) bool { return errors.Is(err, store.ErrNotFound) }
