package price

import (
	"time"

	"github.com/shopspring/decimal"

	"tallystick/calc/measure"
)

// MostPieces is the largest batch that is counted.
const MostPieces = 1000

// A Batch is so many pieces alike.
type Batch struct {
	// Piece is one of them; its Hours are those of the first.
	Piece Job
	Count int
	// Setup is the time spent once for all, and Once the money paid once.
	Setup    time.Duration
	Once     Money
	Learning Learning
}

// Times gives the time of each piece, to the nanosecond, without the set-up.
func (b Batch) Times() ([]time.Duration, error) {
	units, err := b.Learning.Units(b.Count)
	if err != nil {
		return nil, err
	}
	times := make([]time.Duration, len(units))
	first := decimal.New(int64(b.Piece.Hours), 0)
	for i, u := range units {
		times[i] = time.Duration(first.Mul(u).RoundBank(0).IntPart())
	}
	return times, nil
}

// Hours is the time for all of them with the set-up. It is an estimate, and is
// rounded up to the minute before it meets money.
func (b Batch) Hours() (time.Duration, error) {
	units, err := b.Learning.Units(b.Count)
	if err != nil {
		return 0, err
	}
	sum := decimal.Zero
	for _, u := range units {
		sum = sum.Add(u)
	}
	// To the nanosecond first: the thirtieth decimal may not make a minute.
	work := sum.Mul(decimal.New(int64(b.Piece.Hours), 0)).RoundBank(0).Add(decimal.New(int64(b.Setup), 0))
	minutes := exact{num: numberOf(work), den: inNanoseconds(time.Minute)}.up(one).Decimal()
	if minutes.GreaterThan(decimal.New(mostMinutes, 0)) {
		return 0, &measure.InputError{Value: minutes.String() + " minutes", Problem: "is more time than I count", Hint: "a smaller batch"}
	}
	return time.Duration(minutes.IntPart()) * time.Minute, nil
}

// mostMinutes is a hundred million: 190 years.
const mostMinutes = 100_000_000

// whole is the batch as one job: sold piece by piece it pays the fixed fee every
// time, sold as one lot once.
func (b Batch) whole(byPiece bool) (Job, error) {
	hours, err := b.Hours()
	if err != nil {
		return Job{}, err
	}
	j, n := b.Piece, whole(int64(b.Count))
	j.Hours = hours
	materials := Money{amount: j.Cost.amount.Mul(n), currency: j.Cost.currency}
	if j.Cost, err = materials.Add(b.Once); err != nil {
		return Job{}, err
	}
	if byPiece {
		j.Fixed = Money{amount: j.Fixed.amount.Mul(n), currency: j.Fixed.currency}
	}
	return j, nil
}

// Each is the price of one piece, sold by itself, that pays wanted for every hour
// of the batch when all are sold; room and step are as for Job.Stepped.
func (b Batch) Each(wanted Money, room Fraction, step Money) (Money, error) {
	j, err := b.whole(true)
	if err != nil {
		return Money{}, err
	}
	return j.shared(wanted, room, step, int64(b.Count))
}

// All is the price of the batch sold as one lot, with one fixed fee.
func (b Batch) All(wanted Money, room Fraction, step Money) (Money, error) {
	j, err := b.whole(false)
	if err != nil {
		return Money{}, err
	}
	return j.Stepped(wanted, room, step)
}

// PiecesToCover is how many pieces have to sell at a price before what the whole
// batch cost is back, own time unpaid. It may be more than the batch has; a price
// of which selling leaves nothing is an InputError.
func (b Batch) PiecesToCover(at Money) (int64, error) {
	spent, err := b.whole(false)
	if err != nil {
		return 0, err
	}
	spent.Fixed = Money{}
	out, _, err := spent.left(Money{})
	if err != nil {
		return 0, err
	}
	sale := b.Piece
	sale.Cost, sale.Overhead = Money{}, Money{}
	brings, _, err := sale.left(at)
	if err != nil {
		return 0, err
	}
	return covering(exact{num: out.num.Neg(), den: out.den}, brings)
}

// UnitsToCover is how many units that each leave something cover a fixed amount:
// fixed/each, rounded up, the break-even of cost-volume-profit analysis. A unit
// that leaves nothing is an InputError.
func UnitsToCover(fixed, each Money) (int64, error) {
	if _, err := common(fixed, each); err != nil {
		return 0, err
	}
	return covering(exact{num: fixed.amount, den: one}, exact{num: each.amount, den: one})
}

// covering is fixed/each rounded up.
func covering(fixed, each exact) (int64, error) {
	if !each.num.IsPositive() {
		return 0, &measure.InputError{Value: "0", Problem: "is left of each, and no number of them covers anything", Hint: "a price above the cost"}
	}
	n := exact{num: fixed.num.Mul(each.den), den: fixed.den.Mul(each.num)}.up(one).Decimal()
	if n.GreaterThan(decimal.New(MaxMinor, 0)) {
		return 0, &measure.InputError{Value: n.String(), Problem: "is more pieces than I count", Hint: "a higher price"}
	}
	return n.IntPart(), nil
}
