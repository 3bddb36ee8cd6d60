package price

import (
	"math/big"

	"tallystick/calc/measure"
)

// CostOf is what a quantity costs at a price for one of it, rounded half to even
// to the minor unit.
func CostOf(quantity *big.Rat, each Money) (Money, error) {
	return exact{
		num: each.amount.Mul(numberOfInt(quantity.Num())),
		den: numberOfInt(quantity.Denom()),
	}.nearest(each.currency)
}

// PerUsable is what one usable unit of stock costs when the fraction waste of it
// ends as offcuts: each/(1−waste), rounded half to even to the minor unit.
func PerUsable(each Money, waste Fraction) (Money, error) {
	return exact{num: each.amount, den: waste.left()}.nearest(each.currency)
}

// Per is an amount for each of a quantity, rounded half to even to the minor
// unit. Nothing to divide by is an InputError.
func Per(total Money, quantity *big.Rat) (Money, error) {
	e, err := per(total, quantity)
	if err != nil {
		return Money{}, err
	}
	return e.nearest(total.currency)
}

// PerUp is Per rounded up, for a rate that has to cover the whole amount.
func PerUp(total Money, quantity *big.Rat) (Money, error) {
	e, err := per(total, quantity)
	if err != nil {
		return Money{}, err
	}
	return bounded(Money{amount: e.up(stepOr(Money{}, total.currency)), currency: total.currency})
}

// PerFine is Per rounded half to even to millionths, for rates below the minor
// unit such as the wear of a tool in an hour.
func PerFine(total Money, quantity *big.Rat) (Money, error) {
	e, err := per(total, quantity)
	if err != nil {
		return Money{}, err
	}
	return bounded(Money{amount: e.halfEven(max(fineDigits, total.currency.digits)), currency: total.currency})
}

func per(total Money, quantity *big.Rat) (exact, error) {
	if quantity.Sign() <= 0 {
		return exact{}, &measure.InputError{Value: "0", Problem: "leaves nothing to divide by", Hint: "a number above 0"}
	}
	return exact{
		num: total.amount.Mul(numberOfInt(quantity.Denom())),
		den: numberOfInt(quantity.Num()),
	}, nil
}

// Budget is the most that stock may cost.
type Budget struct {
	// Total is for all of it: P(1−q)/k−f−C−(w+o)·h, where C is every cost but the
	// stock. It is below zero where the price cannot pay the rest.
	Total Money
	// PerFoot is for a board foot of rough stock, or another unit that net is told
	// in: Total·(1−waste)/net.
	PerFoot Money
}

// BudgetFor works out what stock may cost at a planned price, when the job's cost
// is all but the stock, an hour is to be paid wanted and net board feet, or
// cubic metres, end in the piece. Both figures are rounded down to the minor unit, so that who keeps
// to them is paid; net may be nil where it is not known.
func (j Job) BudgetFor(at, wanted Money, net *big.Rat, waste Fraction) (Budget, error) {
	paid := j
	var err error
	if paid.Overhead, err = j.Overhead.Add(wanted); err != nil {
		return Budget{}, err
	}
	if err := j.Check(); err != nil {
		return Budget{}, err
	}
	e, c, err := paid.left(at)
	if err != nil {
		return Budget{}, err
	}
	b := Budget{Total: Money{amount: e.down(stepOr(Money{}, c)), currency: c}}
	if b.Total, err = bounded(b.Total); err != nil || net == nil || net.Sign() <= 0 {
		return b, err
	}
	each := exact{
		num: e.num.Mul(waste.left()).Mul(numberOfInt(net.Denom())),
		den: e.den.Mul(numberOfInt(net.Num())),
	}
	b.PerFoot, err = bounded(Money{amount: each.down(stepOr(Money{}, c)), currency: c})
	return b, err
}
