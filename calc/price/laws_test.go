package price_test

import (
	"fmt"
	"math/big"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// codes are a currency with two minor digits, one with none and one with three.
var codes = []string{"USD", "JPY", "KWD"}

// drawJob is a job of any kind whose fees leave something.
func drawJob(t *rapid.T) (price.Job, price.Currency) {
	c := currency(t, rapid.SampledFrom(codes).Draw(t, "currency"))
	amount := func(label string, most int64) price.Money {
		return price.NewMoney(rapid.Int64Range(0, most).Draw(t, label), c)
	}
	percent := func(label string, most int) price.Fraction {
		f, err := price.ParseFraction(fmt.Sprintf("%d.%d%%", rapid.IntRange(1, most).Draw(t, label), rapid.IntRange(0, 99).Draw(t, label+" hundredths")))
		require.NoError(t, err)
		return f
	}
	j := price.Job{Cost: amount("cost", 1e7), Fixed: amount("fixed", 1e4), Overhead: amount("overhead", 1e4),
		Hours: time.Duration(rapid.Int64Range(1, 60*500).Draw(t, "minutes")) * time.Minute}
	if rapid.Bool().Draw(t, "has a fee") {
		j.Fee = percent("fee", 30)
	}
	if rapid.Bool().Draw(t, "consigned") {
		j.Share = percent("share", 50)
	}
	if rapid.Bool().Draw(t, "taxed") {
		j.Tax = percent("tax", 27)
		j.FeeOnTax = rapid.Bool().Draw(t, "fee on tax")
		j.TaxIncluded = rapid.Bool().Draw(t, "tax included")
	}
	return j, c
}

// leftTwin is what a price leaves in exact fractions, written down again from the
// definition and not from the code: the tax out of the price, the fees out of the
// rest, the costs out of that.
func leftTwin(j price.Job, at price.Money) *big.Rat {
	rat := func(d decimal.Decimal) *big.Rat { return d.Rat() }
	p, tax := rat(at.Decimal()), rat(j.Tax.Decimal())
	taxed := new(big.Rat).Mul(p, new(big.Rat).Add(big.NewRat(1, 1), tax))
	if j.TaxIncluded {
		taxed = p
		p = new(big.Rat).Quo(p, new(big.Rat).Add(big.NewRat(1, 1), tax))
	}
	feeBase := p
	if j.FeeOnTax {
		feeBase = taxed
	}
	left := new(big.Rat).Sub(p, new(big.Rat).Mul(feeBase, rat(j.Fee.Decimal())))
	left.Sub(left, new(big.Rat).Mul(p, rat(j.Share.Decimal())))
	left.Sub(left, rat(j.Fixed.Decimal()))
	left.Sub(left, rat(j.Cost.Decimal()))
	return left.Sub(left, new(big.Rat).Mul(rat(j.Overhead.Decimal()), big.NewRat(int64(j.Hours), int64(time.Hour))))
}

func wagesTwin(wanted price.Money, hours time.Duration) *big.Rat {
	return new(big.Rat).Mul(wanted.Decimal().Rat(), big.NewRat(int64(hours), int64(time.Hour)))
}

func TestATargetPutBackAsASalePaysTheRateAndLessThanAStepMore(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j, c := drawJob(t)
		wanted := price.NewMoney(rapid.Int64Range(0, 1e5).Draw(t, "wanted"), c)
		step := price.NewMoney(rapid.Int64Range(1, 1e4).Draw(t, "step"), c)
		at, err := j.Stepped(wanted, price.Fraction{}, step)
		require.NoError(t, err)
		minor, err := at.Minor()
		require.NoError(t, err)
		wide, err := step.Minor()
		require.NoError(t, err)
		assert.Zero(t, minor%wide, "%s is a whole number of steps of %s", at, step)

		wages := wagesTwin(wanted, j.Hours)
		assert.GreaterOrEqual(t, leftTwin(j, at).Cmp(wages), 0, "%s pays the rate", at)
		assert.Negative(t, leftTwin(j, price.NewMoney(minor-wide, c)).Cmp(wages), "a step less does not")

		hourly, err := j.Hourly(at)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, hourly.Cmp(wanted), 0, "and /rate says so")
	})
}

func TestWhatIsLeftOfATaxedPriceAgreesWithASlowTwin(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j, c := drawJob(t)
		at := price.NewMoney(rapid.Int64Range(0, 1e8).Draw(t, "at"), c)
		left, err := j.Left(at)
		require.NoError(t, err)
		assert.Equal(t, nearestRat(leftTwin(j, at), c), left.Plain())
		hourly, err := j.Hourly(at)
		require.NoError(t, err)
		each := new(big.Rat).Quo(leftTwin(j, at), big.NewRat(int64(j.Hours), int64(time.Hour)))
		assert.Equal(t, nearestRat(each, c), hourly.Plain())
	})
}

func nearestRat(r *big.Rat, c price.Currency) string {
	return measure.Decimal(r, int(c.Digits())) // the other half-even of the house, over integers
}

// The slow twin counts up coin by coin until fee, tax and cost are paid.
func TestAFeeTakenOnTheTaxTooIsCoveredByTheLeastPriceThatCan(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := currency(t, rapid.SampledFrom(codes).Draw(t, "currency"))
		j := price.Job{Cost: price.NewMoney(rapid.Int64Range(0, 3000).Draw(t, "cost"), c),
			Fixed: price.NewMoney(rapid.Int64Range(0, 60).Draw(t, "fixed"), c), FeeOnTax: true,
			TaxIncluded: rapid.Bool().Draw(t, "included")}
		var err error
		j.Fee, err = price.ParseFraction(fmt.Sprintf("%d%%", rapid.IntRange(1, 40).Draw(t, "fee")))
		require.NoError(t, err)
		j.Tax, err = price.ParseTax(fmt.Sprintf("%d%%", rapid.IntRange(1, 27).Draw(t, "tax")))
		require.NoError(t, err)
		got, err := j.BreakEven()
		require.NoError(t, err)
		for minor := int64(0); ; minor++ {
			at := price.NewMoney(minor, c)
			if leftTwin(j, at).Sign() >= 0 {
				assert.Equal(t, at.String(), got.String())
				return
			}
		}
	})
}

func TestTaxPutOnAPriceComesOffAgain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := currency(t, rapid.SampledFrom(codes).Draw(t, "currency"))
		p := price.NewMoney(rapid.Int64Range(0, price.MaxMinor/2).Draw(t, "price"), c)
		tax, err := price.ParseTax(fmt.Sprintf("%d.%02d%%", rapid.IntRange(1, 98).Draw(t, "percent"), rapid.IntRange(0, 99).Draw(t, "hundredths")))
		require.NoError(t, err)
		with, err := price.WithTax(p, tax)
		require.NoError(t, err)
		back, err := price.WithoutTax(with, tax)
		require.NoError(t, err)
		assert.Equal(t, p.String(), back.String())
		inside, err := price.TaxIn(with, tax)
		require.NoError(t, err)
		sum, err := inside.Add(back)
		require.NoError(t, err)
		off := sum.Decimal().Sub(with.Decimal()).Abs()
		assert.True(t, off.LessThanOrEqual(decimal.New(1, -c.Digits())), "the parts make the whole to a coin")
	})
}

func TestAHigherRungNeverPaysLess(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j, c := drawJob(t)
		low := price.NewMoney(rapid.Int64Range(0, 1e7).Draw(t, "from"), c)
		high := price.NewMoney(rapid.Int64Range(0, 1e7).Draw(t, "above"), c)
		high, err := low.Add(high)
		require.NoError(t, err)
		rungs := price.Ladder(low, high, 7)
		assert.LessOrEqual(t, len(rungs), 7)
		takings, err := j.Takings(rungs)
		require.NoError(t, err)
		for i, at := range rungs {
			assert.GreaterOrEqual(t, at.Cmp(low), 0)
			assert.LessOrEqual(t, at.Cmp(high), 0)
			left, err := j.Left(at)
			require.NoError(t, err)
			assert.Zero(t, left.Cmp(takings[i].Left), "%s leaves %s, or %s by itself", at, takings[i].Left, left)
			if i == 0 {
				continue
			}
			assert.Positive(t, at.Cmp(rungs[i-1]))
			less, err := j.Hourly(rungs[i-1])
			require.NoError(t, err)
			more, err := j.Hourly(at)
			require.NoError(t, err)
			assert.Zero(t, more.Cmp(takings[i].Hourly), "%s pays %s, or %s by itself", at, takings[i].Hourly, more)
			assert.GreaterOrEqual(t, more.Cmp(less), 0, "%s pays %s and %s pays %s", rungs[i-1], less, at, more)
		}
	})
}

func TestACounterOfferStaysBetweenTheFloorAndWhatWasAsked(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := currency(t, rapid.SampledFrom(codes).Draw(t, "currency"))
		amount := func(label string, most int64) price.Money {
			return price.NewMoney(rapid.Int64Range(0, most).Draw(t, label), c)
		}
		offer, asked, floor, step := amount("offer", 1e5), amount("asked", 1e5), amount("floor", 1e5), amount("step", 5000)
		counter, ok, err := price.Counter(offer, asked, floor, step)
		require.NoError(t, err)
		if !ok {
			assert.True(t, offer.Cmp(asked) >= 0 || floor.Cmp(asked) > 0)
			return
		}
		assert.GreaterOrEqual(t, counter.Cmp(floor), 0, "never below the floor")
		assert.GreaterOrEqual(t, counter.Cmp(offer), 0)
		assert.LessOrEqual(t, counter.Cmp(asked), 0, "never above what was asked")
		twice := counter.Decimal().Add(counter.Decimal())
		assert.True(t, twice.GreaterThanOrEqual(offer.Decimal().Add(asked.Decimal())), "never below the middle")
	})
}

func TestWhoKeepsToTheBudgetIsPaid(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j, c := drawJob(t)
		at := price.NewMoney(rapid.Int64Range(0, 1e8).Draw(t, "at"), c)
		wanted := price.NewMoney(rapid.Int64Range(0, 1e4).Draw(t, "wanted"), c)
		net := big.NewRat(rapid.Int64Range(1, 5000).Draw(t, "net"), rapid.Int64Range(1, 48).Draw(t, "of"))
		waste, err := price.ParseFraction(fmt.Sprintf("%d%%", rapid.IntRange(1, 60).Draw(t, "waste")))
		require.NoError(t, err)
		b, err := j.BudgetFor(at, wanted, net, waste)
		require.NoError(t, err)
		paid := func(stock *big.Rat) int {
			rest := leftTwin(j, at)
			rest.Sub(rest, stock)
			return rest.Cmp(wagesTwin(wanted, j.Hours))
		}
		coin := price.NewMoney(1, c).Decimal().Rat()
		total := b.Total.Decimal().Rat()
		assert.GreaterOrEqual(t, paid(total), 0)
		assert.Negative(t, paid(new(big.Rat).Add(total, coin)), "a coin more is too much")
		rough := new(big.Rat).Quo(net, new(big.Rat).Sub(big.NewRat(1, 1), waste.Decimal().Rat()))
		assert.GreaterOrEqual(t, paid(new(big.Rat).Mul(rough, b.PerFoot.Decimal().Rat())), 0)
	})
}

func TestABatchSoldPieceByPiecePaysForEveryHour(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j, c := drawJob(t)
		rate, err := price.ParseLearning(fmt.Sprintf("%d%%", rapid.IntRange(50, 100).Draw(t, "learning")))
		require.NoError(t, err)
		b := price.Batch{Piece: j, Count: rapid.IntRange(1, 40).Draw(t, "count"), Learning: rate,
			Setup: time.Duration(rapid.Int64Range(0, 600).Draw(t, "set-up")) * time.Minute,
			Once:  price.NewMoney(rapid.Int64Range(0, 1e5).Draw(t, "once"), c)}
		wanted := price.NewMoney(rapid.Int64Range(0, 1e5).Draw(t, "wanted"), c)
		each, err := b.Each(wanted, price.Fraction{}, price.Money{})
		require.NoError(t, err)
		hours, err := b.Hours()
		require.NoError(t, err)
		sold := new(big.Rat)
		one := j
		one.Overhead = price.Money{}
		for range b.Count {
			sold.Add(sold, leftTwin(one, each))
		}
		sold.Sub(sold, b.Once.Decimal().Rat())
		sold.Sub(sold, wagesTwin(j.Overhead, hours))
		assert.GreaterOrEqual(t, sold.Cmp(wagesTwin(wanted, hours)), 0)
		all, err := b.All(wanted, price.Fraction{}, price.Money{})
		require.NoError(t, err)
		assert.LessOrEqual(t, all.Decimal().Cmp(each.Decimal().Mul(decimal.New(int64(b.Count), 0))), 0, "one lot pays one fixed fee")
	})
}

func TestEveryFurtherPieceOfABatchIsNoSlower(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.IntRange(50, 100).Draw(t, "learning")
		l, err := price.ParseLearning(fmt.Sprintf("%d%%", rate))
		require.NoError(t, err)
		units, err := l.Units(64)
		require.NoError(t, err)
		for i := 1; i < len(units); i++ {
			assert.True(t, units[i].LessThanOrEqual(units[i-1]), "piece %d at %d %%", i+1, rate)
		}
		for n := 1; 2*n <= len(units); n++ { // the definition: a doubling brings it to the rate
			half := units[n-1].Mul(decimal.New(int64(rate), -2))
			within(t, half.String(), units[2*n-1], "0.000000000000000000000001")
		}
	})
}

// 1 + 1/2 + 1/3 of six hours are eleven hours exactly: no stray decimal may make
// a minute more of it.
func TestTimesThatAreWholeStayWhole(t *testing.T) {
	t.Parallel()
	half, err := price.ParseLearning("50%")
	require.NoError(t, err)
	hours, err := price.Batch{Piece: price.Job{Hours: 6 * time.Hour}, Count: 3, Learning: half}.Hours()
	require.NoError(t, err)
	assert.Equal(t, 11*time.Hour, hours)
}

func TestTheLargestAmountsAreCountedExactly(t *testing.T) {
	t.Parallel()
	for _, code := range codes {
		c := currency(t, code)
		most := price.NewMoney(price.MaxMinor, c)
		same, err := price.Job{Cost: most}.BreakEven()
		require.NoError(t, err)
		assert.Equal(t, most.String(), same.String())
		_, err = price.Job{Cost: most, Fixed: price.NewMoney(1, c)}.BreakEven()
		assert.ErrorContains(t, err, "more money than I count")
		left, err := price.Job{Cost: price.NewMoney(1, c)}.Left(most)
		require.NoError(t, err)
		assert.Equal(t, price.NewMoney(price.MaxMinor-1, c).String(), left.String())
	}
}

func TestFeesThatTakeEverythingTogetherAreRefused(t *testing.T) {
	t.Parallel()
	_, err := price.Job{Cost: usd(t, "10"), Fee: share(t, "60%"), Share: share(t, "40%")}.BreakEven()
	assert.ErrorContains(t, err, "leaves nothing")
	tax, err := price.ParseTax("25%")
	require.NoError(t, err)
	_, err = price.Job{Cost: usd(t, "10"), Fee: share(t, "80%"), Tax: tax, FeeOnTax: true}.BreakEven()
	assert.ErrorContains(t, err, "leaves nothing", "80 % of 1.25")
	_, err = price.Job{Cost: usd(t, "10"), Fee: share(t, "80%"), Tax: tax}.BreakEven()
	assert.NoError(t, err)
}

func TestTimesMayBeASpan(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][2]time.Duration{
		"6":         {6 * time.Hour, 6 * time.Hour},
		"6-1/2":     {6*time.Hour + 30*time.Minute, 6*time.Hour + 30*time.Minute},
		"6-9":       {6 * time.Hour, 9 * time.Hour},
		"6 – 9 h":   {6 * time.Hour, 9 * time.Hour},
		"6 to 9":    {6 * time.Hour, 9 * time.Hour},
		"6h30-9h":   {6*time.Hour + 30*time.Minute, 9 * time.Hour},
		"30-45 min": {30 * time.Minute, 45 * time.Minute},
		"7-8h30":    {7 * time.Hour, 8*time.Hour + 30*time.Minute},
		"6:30-7:15": {6*time.Hour + 30*time.Minute, 7*time.Hour + 15*time.Minute},
		"6.5..9":    {6*time.Hour + 30*time.Minute, 9 * time.Hour},
		"9-9":       {9 * time.Hour, 9 * time.Hour},
	} {
		s, err := price.ParseSpan(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, [2]time.Duration{s.Low, s.High}, text)
	}
	for text, problem := range map[string]string{
		"9-6": "runs from the longer time to the shorter", "-3": "is below zero", "8 hrz": "is not a length of time",
		"": "is empty", "6-": "is not a length of time",
	} {
		_, err := price.ParseSpan(text)
		assert.ErrorContains(t, err, problem, "%q", text)
	}
}

func TestDistancesAndTheirRatesAreRead(t *testing.T) {
	t.Parallel()
	p, marked, err := price.ParsePerDistance("0.725/mile", currency(t, "USD"), price.Kilometre)
	require.NoError(t, err)
	assert.False(t, marked)
	assert.Equal(t, "0.725 mile", p.Rate.Fine()+" "+p.UnitName())
	stored := price.PerDistanceOf(p.Micros(), currency(t, "USD"), price.Mile)
	assert.Zero(t, stored.Rate.Cmp(p.Rate))
	assert.Equal(t, p.Unit, stored.Unit)
	p, marked, err = price.ParsePerDistance("0,45 € per km", currency(t, "USD"), price.Mile)
	require.NoError(t, err)
	assert.True(t, marked)
	assert.Equal(t, "0.45 EUR km", p.Rate.String()+" "+p.UnitName())
	_, _, err = price.ParsePerDistance("5/day", currency(t, "USD"), price.Mile)
	assert.ErrorContains(t, err, "is not an amount per mile or km")

	for text, want := range map[string]measure.Length{
		"32": 32 * price.Mile, "32 miles": 32 * price.Mile, "50 km": 50 * price.Kilometre, "1/2 mi": price.Mile / 2,
	} {
		d, err := price.ParseDistance(text, price.Mile)
		require.NoError(t, err, text)
		assert.Equal(t, want, d, text)
	}
	for text, problem := range map[string]string{"far": "is not a distance", "0": "is no distance", "5 kg": "is not a distance",
		"999999999": "is further than I count"} {
		_, err := price.ParseDistance(text, price.Mile)
		assert.ErrorContains(t, err, problem, text)
	}
}

func FuzzParseSpan(f *testing.F) {
	for _, s := range []string{"6-9", "30-45 min", "6-1/2", "..", "- -", "6–9h", "1 to"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := price.ParseSpan(text)
		if err == nil {
			assert.LessOrEqual(t, s.Low, s.High)
			assert.GreaterOrEqual(t, s.Low, time.Duration(0))
		}
	})
}
