package price

import (
	"time"

	"tallystick/calc/measure"
)

// Job is what is known of one piece before or after its sale. In the formulas C
// is the cost, f the fixed fee, p the fee, s the consignment share, o the
// overhead and h the hours, t the sales tax and w a rate wanted for an hour.
// What selling takes of each unit of the price without tax is
//
//	q = p + s, or p·(1+t) + s where the fee is taken on the tax too
//
// and k is 1+t where prices are written with the tax in them, else 1.
type Job struct {
	// Cost is the direct cost C: materials, consumables, tool wear, trips,
	// helpers.
	Cost Money
	// Fixed is the fixed part f of the selling fee.
	Fixed Money
	// Fee is the part p of the price that the selling takes.
	Fee Fraction
	// FeeOnTax is true where the fee is a part of the price with its tax.
	FeeOnTax bool
	// Share is the part s of the price without tax that a shop keeps for selling
	// the piece on consignment.
	Share Fraction
	// Tax is the sales tax t that the buyer pays and the maker hands on.
	Tax Fraction
	// TaxIncluded is true where prices, those given and those worked out, are
	// written with the tax in them.
	TaxIncluded bool
	// Overhead is what an hour in the shop costs before anybody is paid, o.
	Overhead Money
	// Hours is the maker's own time h.
	Hours time.Duration
}

// Check refuses a job whose fees, with the tax they are taken on, leave nothing
// of the price: 1 − q has to stay above zero.
func (j Job) Check() error {
	if j.kept().IsPositive() {
		return nil
	}
	return &measure.InputError{Value: one.Sub(j.kept()).Shift(2).String() + "%",
		Problem: "of the price goes to fees, tax and shares counted together, which leaves nothing", Hint: "a smaller fee"}
}

// BreakEven is the price at which the maker's own time is unpaid and nothing is
// lost: (C+f+o·h)·k/(1−q), rounded up to the minor unit.
//
// The gross-up for a percentage fee is ordinary algebra: P(1−q)−f = C.
func (j Job) BreakEven() (Money, error) { return j.Target(Money{}) }

// Target is the price that pays wanted an hour: (C+f+(w+o)·h)·k/(1−q), rounded up
// to the minor unit so that it never pays less.
func (j Job) Target(wanted Money) (Money, error) { return j.Asking(wanted, Fraction{}) }

// Asking is the price to ask where a buyer is expected to bring it down by the
// fraction d: target/(1−d), rounded up once, from the unrounded target. It is not
// target·(1+d), which would end below the target.
func (j Job) Asking(wanted Money, d Fraction) (Money, error) {
	return j.Stepped(wanted, d, Money{})
}

// Stepped is Asking rounded up to a whole number of steps; no step is the minor
// unit.
func (j Job) Stepped(wanted Money, d Fraction, step Money) (Money, error) {
	return j.shared(wanted, d, step, 1)
}

// shared is the price of one of so many equal parts of the job.
func (j Job) shared(wanted Money, d Fraction, step Money, parts int64) (Money, error) {
	c, err := common(j.Cost, j.Fixed, j.Overhead, wanted, step)
	if err != nil {
		return Money{}, err
	}
	if err := j.Check(); err != nil {
		return Money{}, err
	}
	needs := j.needs(wanted)
	e := exact{num: needs.num, den: needs.den.Mul(d.left()).Mul(whole(parts))}
	return bounded(Money{amount: e.up(stepOr(step, c)), currency: c})
}

// needs is the price that pays wanted an hour, before it is rounded.
func (j Job) needs(wanted Money) exact {
	hours, anHour := inHours(j.Hours)
	spent := j.Cost.amount.Add(j.Fixed.amount).Mul(anHour)
	return exact{
		num: spent.Add(wanted.amount.Add(j.Overhead.amount).Mul(hours)).Mul(j.written()),
		den: j.kept().Mul(anHour),
	}
}

// stepOr is the step, or the currency's smallest amount where there is none.
func stepOr(step Money, c Currency) number {
	if step.amount.IsPositive() {
		return step.amount
	}
	return scaled(1, -c.digits)
}

// Left is what remains of a price after fees, tax, overhead and the direct cost:
// P(1−q)/k−f−C−o·h, rounded half to even. It may be below zero.
func (j Job) Left(at Money) (Money, error) {
	e, c, err := j.left(at)
	if err != nil {
		return Money{}, err
	}
	return e.nearest(c)
}

// A Taking is what is left of a price, and what it pays for an hour.
type Taking struct{ Left, Hourly Money }

// Takings is Left and Hourly of each of many prices, which share most of the sum.
func (j Job) Takings(prices []Money) ([]Taking, error) {
	if j.Hours <= 0 {
		return nil, noHours()
	}
	rest := j.rest()
	hours, anHour := inHours(j.Hours)
	all := rest.den.Mul(hours)
	takings := make([]Taking, len(prices))
	for i, at := range prices {
		c, err := common(j.Cost, j.Fixed, j.Overhead, at)
		if err != nil {
			return nil, err
		}
		e := rest.of(at)
		if takings[i].Left, err = e.nearest(c); err != nil {
			return nil, err
		}
		if takings[i].Hourly, err = (exact{num: e.num.Mul(anHour), den: all}).nearest(c); err != nil {
			return nil, err
		}
	}
	return takings, nil
}

func noHours() error {
	return &measure.InputError{Value: "0", Problem: "hours leave no hourly rate", Hint: "7.5 or 7h30"}
}

// Hourly is what a price pays for an hour of the maker's time, Left/h from the
// unrounded Left, rounded half to even. It stays below zero where the sale lost
// money, and is undefined without hours.
func (j Job) Hourly(at Money) (Money, error) {
	e, c, err := j.left(at)
	if err != nil {
		return Money{}, err
	}
	if j.Hours <= 0 {
		return Money{}, noHours()
	}
	hours, anHour := inHours(j.Hours)
	return exact{num: e.num.Mul(anHour), den: e.den.Mul(hours)}.nearest(c)
}

// Worth is the discount that costs the maker as much as paying out an amount
// does: D·k/(1−q), rounded half to even. Delivery for nothing is such a discount.
func (j Job) Worth(amount Money) (Money, error) {
	if err := j.Check(); err != nil {
		return Money{}, err
	}
	return exact{num: amount.amount.Mul(j.written()), den: j.kept()}.nearest(amount.currency)
}

// left is Left before it is rounded.
func (j Job) left(at Money) (exact, Currency, error) {
	c, err := common(j.Cost, j.Fixed, j.Overhead, at)
	if err != nil {
		return exact{}, c, err
	}
	return j.rest().of(at), c, nil
}

// rest is how Left is worked out of any price, before it is rounded:
// (P·keeps−out)/den.
type rest struct{ keeps, out, den number }

func (j Job) rest() rest {
	hours, anHour := inHours(j.Hours)
	out := j.Cost.amount.Add(j.Fixed.amount).Mul(anHour).Add(j.Overhead.amount.Mul(hours))
	return rest{keeps: j.kept().Mul(anHour), out: out.Mul(j.written()), den: anHour.Mul(j.written())}
}

func (r rest) of(at Money) exact {
	return exact{num: at.amount.Mul(r.keeps).Sub(r.out), den: r.den}
}

// kept is 1−q: what selling leaves of the price without tax.
func (j Job) kept() number {
	fee := j.Fee.of
	if j.FeeOnTax {
		fee = fee.Mul(j.Tax.with())
	}
	return one.Sub(fee).Sub(j.Share.of)
}

// written is k: what a written price is of the price without tax.
func (j Job) written() number {
	if j.TaxIncluded {
		return j.Tax.with()
	}
	return one
}
