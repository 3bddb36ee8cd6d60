package commands

import (
	"slices"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// The options that several pricing commands share.
var (
	hoursOption      = Option{Name: "hours", Summary: "your own time on the piece", Kind: Hours, Example: "7h30"}
	spanOption       = Option{Name: "hours", Summary: "your own time on the piece, or from-to where you can only guess", Kind: Span, Example: "7h30"}
	materialsOption  = Option{Name: "materials", Summary: "everything you paid out for it; amounts may be added with +", Kind: Money, MaxLength: 200, Example: "124.90"}
	rateOption       = Option{Name: "rate", Summary: "what you want for an hour of your time", Kind: Rate, Example: "25"}
	lowestRateOption = Option{Name: "lowest-rate", Summary: "the least an hour of your time may bring", Kind: Rate, Example: "18"}
	overheadOption   = Option{Name: "overhead", Summary: "what an hour in the shop costs before anybody is paid", Kind: Rate, Example: "4.20"}
	feeOption        = Option{Name: "fee", Summary: "the part of the price that selling takes", Kind: Percent, Example: "2.9%"}
	fixedFeeOption   = Option{Name: "fixed-fee", Summary: "the fixed part of the selling fee", Kind: Money, Example: "0.30"}
	feeOnTaxOption   = Option{Name: "fee-on-tax", Summary: "whether the fee is taken on the sales tax too; yes unless you say", Kind: YesNo, Example: "no", Choices: yesNo}
	haggleOption     = Option{Name: "haggle", Summary: "how far you expect to be brought down", Kind: Percent, Example: "12%"}
	taxOption        = Option{Name: "tax", Summary: "the sales tax on the price", Kind: Percent, Example: "13%"}
	includedOption   = Option{Name: "tax-included", Summary: "whether your prices are written with the tax in them", Kind: YesNo, Example: "yes", Choices: yesNo}
	stepOption       = Option{Name: "step", Summary: "round the prices you name up to whole steps of this", Kind: Money, Example: "5"}
)

var yesNo = []Choice{{"yes", "yes"}, {"no", "no"}}

// venueOption names one of the member's venues.
func (h house) venueOption(summary string) Option {
	return Option{Name: "venue", Summary: summary, Kind: Word, Example: "fair", Complete: h.completeVenues}
}

// deal is what was said of one piece and its sale. Times in it are between two
// bounds; job has the longer one, which is the cautious one.
type deal struct {
	in             *reading
	job            price.Job
	span           price.Span
	wanted, lowest price.Money
	haggle         price.Fraction
	step           price.Money
	// venues are the places named; none where the fee was typed or there is none.
	venues []venue
}

// deal reads what the request and the settings say. Mistakes are in in.err.
func (in *reading) deal() deal {
	d := deal{in: in, span: in.span("hours")}
	d.job = price.Job{Cost: in.money("materials"), Hours: d.span.High}
	// What is typed is read even where there is no time to pay for; what is only set
	// is then of no account.
	hourly := func(name, said string) (m price.Money) {
		if d.timed() || in.has(name) {
			m = in.usual(name, said)
		}
		return m
	}
	d.wanted = hourly("rate", " an hour wanted")
	if in.req.command.has("lowest-rate") {
		d.lowest = hourly("lowest-rate", " an hour at least")
	}
	d.job.Overhead = hourly("overhead", " an hour of overhead")
	d.job.Tax, d.job.TaxIncluded = in.tax()
	if d.known("rate") || in.has("step") {
		d.step = in.usual("step", " as the step of prices")
	}
	d.selling()
	if in.err == nil && d.known("rate") && d.known("lowest-rate") && d.lowest.Cmp(d.wanted) > 0 {
		in.fail(d.lowestAbove())
	}
	return d
}

// lowestAbove is the mistake of a lowest rate above the wanted one, told of the one
// of them that was typed.
func (d deal) lowestAbove() *Mistake {
	if d.in.has("rate") && !d.in.has("lowest-rate") {
		return &Mistake{Option: "rate", Given: measure.Quote(d.in.req.Options["rate"]),
			Problem: "is below the lowest rate of " + d.lowest.Plain() + " that you have set", Try: d.lowest.Plain() + " or more"}
	}
	return &Mistake{Option: "lowest-rate", Given: measure.Quote(d.lowest.Plain()),
		Problem: "is above the wanted rate of " + d.wanted.Plain(), Try: d.wanted.Plain() + " or less"}
}

// timed reports whether there is time to pay for.
func (d deal) timed() bool { return d.span.High > 0 }

// known reports whether a rate is known and there is time for it.
func (d deal) known(rate string) bool { return d.timed() && d.in.knows(rate) }

// job reads what a finished sale is told by, and nothing that was only set. A
// member who gives no fee pays none.
func (in *reading) job() price.Job {
	return price.Job{
		Hours: in.hours("hours"),
		Cost:  in.money("materials"),
		Fee:   in.fraction("fee"),
		Fixed: in.money("fixed-fee"),
	}
}

// at is the job at one of the two times.
func (d deal) at(hours time.Duration) price.Job {
	j := d.job
	j.Hours = hours
	return j
}

// selling settles what selling takes: at one venue, at several, or as typed.
func (d *deal) selling() {
	in := d.in
	if d.venues = in.venues("venue"); len(d.venues) > 0 {
		for _, name := range []string{"fee", "fixed-fee", "fee-on-tax"} {
			if in.has(name) {
				in.fail(&Mistake{Option: name, Given: measure.Quote(in.req.Options[name]),
					Problem: "and venue both say what selling takes", Try: "one of the two"})
			}
		}
		for i := len(d.venues) - 1; i >= 0; i-- { // the first stays
			d.venues[i].applyTo(&d.job)
			if err := d.job.Check(); err != nil && in.err == nil {
				in.fail(&Mistake{Option: "venue", Given: d.venues[i].name, Problem: "takes all of the price with the tax", Try: "another venue"})
			}
		}
		return
	}
	d.job.Fee, d.job.Fixed = in.fraction("fee"), in.money("fixed-fee")
	d.job.FeeOnTax = in.yes("fee-on-tax", true) && !d.job.Tax.IsZero()
	if in.err == nil && d.job.Check() != nil {
		in.fail(&Mistake{Option: "fee", Given: measure.Quote(in.req.Options["fee"]),
			Problem: "with the tax it is taken on leaves nothing of the price", Try: feeOption.Example + ", or fee-on-tax:no"})
	}
}

// readAs says how the request was read, without what came from the settings.
func (d deal) readAs(also ...string) string {
	in := d.in
	hours := ""
	if in.has("hours") {
		hours = spanText(d.span)
	}
	percent := func(name, before string, f price.Fraction, behind string) string {
		if !in.has(name) {
			return ""
		}
		return before + f.Percent() + behind
	}
	amount := func(name, before string, m price.Money, behind string) string {
		if !in.has(name) {
			return ""
		}
		return before + moneyText(m, in.req.Locale) + behind
	}
	parts := append([]string{
		hours,
		amount("materials", "", d.job.Cost, " of materials"),
		amount("rate", "", d.wanted, " an hour wanted"),
		amount("lowest-rate", "", d.lowest, " an hour at least"),
		amount("overhead", "", d.job.Overhead, " an hour of overhead"),
		percent("fee", "a fee of ", d.job.Fee, " %"),
		amount("fixed-fee", "", d.job.Fixed, " of fixed fee"),
		percent("haggle", "", d.haggle, " % expected haggling"),
		percent("tax", "", d.job.Tax, " % sales tax"),
		amount("step", "prices in steps of ", d.step, ""),
	}, also...)
	if !slices.ContainsFunc(parts, func(p string) bool { return p != "" }) {
		return ""
	}
	return sentence("Read as: ", parts...)
}

func spanText(s price.Span) string {
	if s.Known() {
		return measure.FormatDuration(s.High)
	}
	return measure.FormatDuration(s.Low) + " to " + measure.FormatDuration(s.High)
}

// taxNote says how sales tax was counted, and who decides about it.
func (d deal) taxNote() string {
	if d.job.Tax.IsZero() {
		return "No sales tax is in these figures."
	}
	written := "The prices are without the tax; it is added at the sale."
	if d.job.TaxIncluded {
		written = "The prices have the tax in them; it is handed on, not earned."
	}
	if d.job.FeeOnTax && !d.job.Fee.IsZero() {
		written += " The fee is counted on the price with its tax."
	}
	return "Sales tax of " + d.job.Tax.Percent() + " %. " + written + " " + taxAdvice
}

// taxAdvice ends everything said of tax.
const taxAdvice = "Whether and how it applies to you is for your tax authority or adviser to say."

// roundingNote says in which direction the prices went.
func (d deal) roundingNote() string {
	small := coin(d.in.currency, d.in.req.Locale)
	if !d.step.IsPositive() || !d.known("rate") {
		return "Prices are rounded up to the next " + small + ", so that they never pay less; the other amounts to the nearest."
	}
	return "Target and asking are rounded up to whole steps of " + moneyText(d.step, d.in.req.Locale) +
		", break-even and lowest to the next " + small + "; the other amounts to the nearest " + small + "."
}
