package price

import (
	"math/big"
	"slices"
	"time"
)

var secondsAnHour = whole(3600)

// PayFor is what a time costs at a price an hour: w·h, rounded half to even to the
// minor unit.
func PayFor(worked time.Duration, hourly Money) (Money, error) {
	hours, anHour := inHours(worked)
	e := exact{num: hourly.amount.Mul(hours), den: anHour}
	return bounded(Money{amount: e.halfEven(hourly.currency.digits), currency: hourly.currency})
}

// HoursThatPay is the longest time in which a price still pays the wanted rate:
// (P(1−q)/k−f−C)/(w+o), cut off to the second. It is 0 where nothing is left, and false
// without a wanted rate.
func (j Job) HoursThatPay(at, wanted Money) (time.Duration, bool) {
	if !wanted.amount.IsPositive() {
		return 0, false
	}
	j.Hours = 0
	left, _, err := j.left(at)
	if err != nil || !left.num.IsPositive() {
		return 0, true
	}
	hourly := wanted.amount.Add(j.Overhead.amount)
	seconds, _ := left.num.Mul(secondsAnHour).QuoRem(left.den.Mul(hourly))
	if n, is := seconds.Int64(); is && n <= MaxSeconds {
		return time.Duration(n) * time.Second, true
	}
	return MaxSeconds * time.Second, true
}

// QuarterHours rounds whole minutes to the nearest quarter of an hour as time cards
// are commonly rounded: 1 to 7 minutes down, 8 to 14 up. It is for show: a ledger
// keeps what was worked.
//
// The practice, where it averages out: 29 CFR 785.48(b).
func QuarterHours(minutes int64) int64 { return (minutes + 7) / 15 * 15 }

// RecentRatios is how many pieces the running median of estimates looks at.
const RecentRatios = 5

// RunningMedian is the median of the last RecentRatios values, of an even number
// the mean of the middle two; false when there is none.
func RunningMedian(ratios []*big.Rat) (*big.Rat, bool) {
	recent := slices.Clone(ratios[max(0, len(ratios)-RecentRatios):])
	if len(recent) == 0 {
		return nil, false
	}
	slices.SortFunc(recent, (*big.Rat).Cmp)
	n := len(recent)
	if n%2 == 1 {
		return recent[n/2], true
	}
	mean := new(big.Rat).Add(recent[n/2-1], recent[n/2])
	return mean.Quo(mean, big.NewRat(2, 1)), true
}

// AskFor is what to ask where buyers bring the price down from asked to sold, as
// they last did: target·asked/sold, rounded up once to the minor unit, from the
// unrounded target. With d = 1 − sold/asked it is Asking, for a d that need not end
// as a decimal. sold and asked are minor units and above zero.
func AskFor(j Job, wanted Money, sold, asked int64) (Money, error) {
	c, err := common(j.Cost, j.Fixed, j.Overhead, wanted)
	if err != nil {
		return Money{}, err
	}
	if err := j.Check(); err != nil {
		return Money{}, err
	}
	needs := j.needs(wanted)
	e := exact{num: needs.num.Mul(whole(asked)), den: needs.den.Mul(whole(sold))}
	return bounded(Money{amount: e.up(stepOr(Money{}, c)), currency: c})
}
