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

	"tallystick/calc/price"
)

func currency(t require.TestingT, code string) price.Currency {
	c, err := price.ParseCurrency(code)
	require.NoError(t, err)
	return c
}

func TestAmountsAreReadAsTheyAreWritten(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"124.90": "124.90 USD", "$124.90": "124.90 USD", " 7 ": "7.00 USD", ".50": "0.50 USD", "5.": "5.00 USD",
		"124,90 €": "124.90 EUR", "EUR 124,90": "124.90 EUR", "£1,234.50": "1234.50 GBP",
		"1.234,50 €": "1234.50 EUR", "1,234,567": "1234567.00 USD", "1 234,50 kr": "1234.50 SEK",
		"1'234.50 CHF": "1234.50 CHF", "¥1500": "1500 JPY", "KWD 1.250": "1.250 KWD", "0.5": "0.50 USD",
		"100000000000": "100000000000.00 USD",
	} {
		m, _, err := price.ParseMoney(text, currency(t, "USD"))
		require.NoError(t, err, text)
		assert.Equal(t, want, m.String(), text)
	}
}

func TestASignThatSeveralCurrenciesShareIsTheCommunitysOwn(t *testing.T) {
	t.Parallel()
	for community, want := range map[string]string{"CAD": "CAD", "AUD": "AUD", "EUR": "USD"} {
		m, marked, err := price.ParseMoney("$5", currency(t, community))
		require.NoError(t, err)
		assert.True(t, marked)
		assert.Equal(t, want, m.Currency().Code(), "$ in a community that counts in %s", community)
	}
}

func TestTextThatIsNoAmountIsRefusedInOneSentence(t *testing.T) {
	t.Parallel()
	for text, problem := range map[string]string{
		"":                     "is not an amount of money",
		"free":                 "is not an amount of money",
		"-5":                   "is below zero",
		"−5":                   "is below zero",
		"1,234":                "may be 1.234 or 1234",
		"12.345":               "has more decimals than USD has",
		"1e9":                  "is not an amount of money",
		"0x10":                 "is not an amount of money",
		"1_000":                "is not an amount of money",
		"NaN":                  "is not an amount of money",
		"12,34,5":              "is not an amount of money",
		"$5 EUR":               "is not an amount of money",
		"5 clams":              "is not an amount of money",
		"100000000000.01":      "is more than I count",
		"99999999999999999999": "is not an amount of money",
	} {
		_, _, err := price.ParseMoney(text, currency(t, "USD"))
		assert.ErrorContains(t, err, problem, "%q", text)
	}
}

func TestReceiptsAddUpAndNeverMixCurrencies(t *testing.T) {
	t.Parallel()
	sum, _, err := price.ParseSum("84 + 11.50+6.20", currency(t, "USD"))
	require.NoError(t, err)
	assert.Equal(t, "101.70 USD", sum.String())
	sum, marked, err := price.ParseSum("84 € + 11,50", currency(t, "USD"))
	require.NoError(t, err)
	assert.True(t, marked)
	assert.Equal(t, "95.50 EUR", sum.String(), "a bare amount beside a marked one is in its currency")
	_, _, err = price.ParseSum("84 € + $11", currency(t, "USD"))
	assert.ErrorContains(t, err, "never convert")
	_, _, err = price.ParseSum("84 +", currency(t, "USD"))
	assert.Error(t, err)
}

func TestRatesMayNameTheirUnit(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"25", "25/h", "$25 / hour", "25 per hour", "25 an hour"} {
		m, _, err := price.ParsePer(text, currency(t, "USD"), "h", "hr", "hour")
		require.NoError(t, err, text)
		assert.Equal(t, "25.00 USD", m.String(), text)
	}
	_, _, err := price.ParsePer("25/day", currency(t, "USD"), "h", "hour")
	assert.ErrorContains(t, err, "is not an amount per h")
}

// ISO 4217 gives JPY no minor digits and KWD three.
func TestPricesRoundUpToTheSmallestCoinOfTheirCurrency(t *testing.T) {
	t.Parallel()
	for code, want := range map[string]string{"JPY": "12 JPY", "USD": "11.12 USD", "KWD": "11.112 KWD"} {
		ten, _, err := price.ParseMoney("10", currency(t, code))
		require.NoError(t, err)
		got, err := price.Job{Cost: ten, Fee: share(t, "10%")}.BreakEven()
		require.NoError(t, err)
		assert.Equal(t, want, got.String(), "10 grossed up for a fee of 10 %")
	}
}

func TestAmountsInTwoCurrenciesGiveNoPrice(t *testing.T) {
	t.Parallel()
	job := price.Job{Cost: usd(t, "10"), Hours: time.Hour}
	_, err := job.Target(price.NewMoney(2500, currency(t, "EUR")))
	assert.ErrorContains(t, err, "never convert money")
}

func TestASaleBelowCostPaysLessThanNothingAnHour(t *testing.T) {
	t.Parallel()
	got, err := price.Job{Cost: usd(t, "100"), Hours: 4 * time.Hour}.Hourly(usd(t, "60"))
	require.NoError(t, err)
	assert.Equal(t, "-10.00 USD", got.String())
}

func TestWithoutHoursThereIsNoHourlyRate(t *testing.T) {
	t.Parallel()
	_, err := price.Job{Cost: usd(t, "100")}.Hourly(usd(t, "160"))
	assert.ErrorContains(t, err, "no hourly rate")
}

func TestFeesOfTheWholePriceAreRefused(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"100%", "120%", "999 %"} {
		_, err := price.ParseFraction(text)
		assert.ErrorContains(t, err, "leaves nothing", text)
	}
}

func TestTheTargetPaysTheWantedRateAndLessThanACentMore(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := currency(t, "USD")
		amount := func(label string, most int64) price.Money {
			return price.NewMoney(rapid.Int64Range(0, most).Draw(t, label), c)
		}
		fee, err := price.ParseFraction(fmt.Sprintf("%d.%d%%", rapid.IntRange(1, 98).Draw(t, "percent"), rapid.IntRange(0, 9).Draw(t, "tenth")))
		require.NoError(t, err)
		job := price.Job{Cost: amount("cost", 1e7), Fixed: amount("fixed", 1e5), Fee: fee,
			Hours: time.Duration(rapid.Int64Range(1, 60*500).Draw(t, "minutes")) * time.Minute}
		wanted := amount("wanted", 1e5)
		target, err := job.Target(wanted)
		require.NoError(t, err)

		// An independent check in exact fractions: what the price leaves covers
		// cost and wages, and one cent less would not.
		left := func(at price.Money) *big.Rat {
			kept := new(big.Rat).Mul(at.Decimal().Rat(), new(big.Rat).Sub(big.NewRat(1, 1), fee.Decimal().Rat()))
			kept.Sub(kept, job.Fixed.Decimal().Rat())
			kept.Sub(kept, job.Cost.Decimal().Rat())
			wages := new(big.Rat).Mul(wanted.Decimal().Rat(), big.NewRat(int64(job.Hours), int64(time.Hour)))
			return kept.Sub(kept, wages)
		}
		minor, err := target.Minor()
		require.NoError(t, err)
		assert.GreaterOrEqual(t, left(target).Sign(), 0, "the target pays")
		assert.Less(t, left(price.NewMoney(minor-1, c)).Sign(), 0, "a cent less does not")
	})
}

func TestAskingLeavesTheTargetAfterTheExpectedHaggle(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := currency(t, "USD")
		job := price.Job{Cost: price.NewMoney(rapid.Int64Range(0, 1e7).Draw(t, "cost"), c), Hours: time.Hour}
		wanted := price.NewMoney(rapid.Int64Range(1, 1e5).Draw(t, "wanted"), c)
		d, err := price.ParseFraction(fmt.Sprintf("%d%%", rapid.IntRange(1, 90).Draw(t, "haggle")))
		require.NoError(t, err)
		target, err := job.Target(wanted)
		require.NoError(t, err)
		asking, err := job.Asking(wanted, d)
		require.NoError(t, err)
		reached := asking.Decimal().Mul(decimal.New(1, 0).Sub(d.Decimal()))
		assert.True(t, reached.GreaterThanOrEqual(target.Decimal()), "%s less %s%% is %s, target %s", asking, d.Percent(), reached, target)
	})
}

func TestAmountsBeyondWhatIsCountedAreRefusedNotWrapped(t *testing.T) {
	t.Parallel()
	_, err := price.Job{Cost: price.NewMoney(price.MaxMinor, currency(t, "USD")), Fee: share(t, "99%")}.BreakEven()
	assert.ErrorContains(t, err, "more money than I count")
}

// The quantities follow from 144 in³ a board foot; the price is invented.
func TestStockCostsItsBoardFeetTimesThePrice(t *testing.T) {
	t.Parallel()
	got, err := price.CostOf(big.NewRat(175, 48), usd(t, "7.50"))
	require.NoError(t, err)
	assert.Equal(t, "27.34 USD", got.String(), "175/48 board feet at 7.50 are 27.34375")
	got, err = price.PerUsable(usd(t, "4.20"), share(t, "20%"))
	require.NoError(t, err)
	assert.Equal(t, "5.25 USD", got.String())
}

func FuzzParseSum(f *testing.F) {
	for _, s := range []string{"84 + 11.50", "$1,234.50", "1.234,50 €", "USD 5", "1,234", "kr 5", "+", "..", "5''5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c := currency(t, "USD")
		m, _, err := price.ParseSum(text, c)
		if err != nil {
			return
		}
		minor, err := m.Minor()
		require.NoError(t, err, "every amount that is read can be stored")
		assert.GreaterOrEqual(t, minor, int64(0))
		again, _, err := price.ParseMoney(m.String(), c)
		require.NoError(t, err, "%q", m.String())
		assert.Zero(t, again.Cmp(m), "what is written reads back as the same amount")
	})
}
