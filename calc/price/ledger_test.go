package price_test

import (
	"math/big"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/price"
)

// Source: testdata/published/time-rounding.csv, from 29 CFR 785.48(b); the split of
// the quarter hour and the fact sheet's number as its header marks them.
func TestMinutesAreRoundedToQuarterHoursAsPublished(t *testing.T) {
	t.Parallel()
	for _, r := range rows(t, "time-rounding.csv") {
		minutes, err := strconv.ParseInt(r[0], 10, 64)
		require.NoError(t, err)
		want, err := strconv.ParseInt(r[1], 10, 64)
		require.NoError(t, err)
		assert.Equal(t, want, price.QuarterHours(minutes), "%d minutes", minutes)
	}
}

func TestTheSharesOfALotAlwaysSumToTheLot(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		amount := rapid.Int64Range(0, price.MaxMinor).Draw(t, "amount")
		whole := rapid.Int64Range(1, price.MaxMillionths).Draw(t, "whole")
		entries := []price.Entry{{Number: 1, Lot: 1, Kind: price.EntryLot, Amount: amount, Currency: "USD", Millionths: whole}}
		left := whole
		for n := 2; left > 0 && n < 20; n++ {
			take := rapid.Int64Range(1, left).Draw(t, "take")
			left -= take
			entries = append(entries, price.Entry{Number: n, Piece: n, Lot: 1, Kind: price.EntryShare, Millionths: take})
			if rapid.IntRange(0, 4).Draw(t, "strike") == 0 {
				left += take
				entries = append(entries, price.Entry{Number: 100 + n, Piece: n, Lot: 1, Kind: price.EntryStrike, Target: n})
			}
		}
		lot, there, err := price.FoldLot(entries)
		require.NoError(t, err)
		require.True(t, there)
		rest, worth := lot.Left()
		require.Equal(t, left, rest)
		require.GreaterOrEqual(t, worth, int64(0))
		if rest == 0 {
			require.Zero(t, worth, "a lot that is used up is worth nothing more")
		}
		sum := worth
		for _, s := range lot.Shares {
			sum += s.Cost
			exact := new(big.Rat).Mul(big.NewRat(amount, 1), big.NewRat(s.Millionths, whole))
			off := new(big.Rat).Sub(exact, big.NewRat(s.Cost, 1))
			require.Negative(t, off.Abs(off).Cmp(big.NewRat(3, 2)), "a share is within a coin and a half of its exact part")
		}
		require.Equal(t, amount, sum)
	})
}

func TestMoreThanIsLeftOfALotContradicts(t *testing.T) {
	t.Parallel()
	_, _, err := price.FoldLot([]price.Entry{
		{Number: 1, Lot: 1, Kind: price.EntryLot, Amount: 100, Currency: "USD", Millionths: 10},
		{Number: 2, Piece: 1, Lot: 1, Kind: price.EntryShare, Millionths: 7},
		{Number: 3, Piece: 2, Lot: 1, Kind: price.EntryShare, Millionths: 4},
	})
	assert.EqualError(t, err, "entry 3 takes more than is left of its lot")
}

// An hour too many in Hourly's own formula pays less than the wanted rate; the
// hours that a price pays are the last ones that do not.
func TestTheHoursThatAPricePaysAreTheMostThatPayTheRate(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c, err := price.ParseCurrency("USD")
		require.NoError(t, err)
		job := price.Job{Cost: price.NewMoney(rapid.Int64Range(0, 100_000).Draw(t, "cost"), c), Fixed: price.NewMoney(30, c)}
		at := price.NewMoney(rapid.Int64Range(1, 1_000_000).Draw(t, "price"), c)
		wanted := price.NewMoney(rapid.Int64Range(20, 20_000).Draw(t, "wanted"), c)
		hours, ok := job.HoursThatPay(at, wanted)
		require.True(t, ok)
		job.Hours = hours
		target, err := job.Target(wanted)
		require.NoError(t, err)
		if hours > 0 {
			require.LessOrEqual(t, target.Cmp(at), 0, "these hours are paid")
		}
		job.Hours += time.Second
		target, err = job.Target(wanted)
		require.NoError(t, err)
		require.GreaterOrEqual(t, target.Cmp(at), 0, "a second more is not, or only just")
	})
}

// Asking from a haggle that ends as a decimal is what Asking says.
func TestAskingAsFarAboveAsLastTimeIsAskingWithThatHaggle(t *testing.T) {
	t.Parallel()
	job := price.Job{Cost: usd(t, "124.90"), Fixed: usd(t, "0.30"), Fee: share(t, "2.9%"), Hours: 14*time.Hour + 15*time.Minute}
	want, err := job.Asking(usd(t, "25"), share(t, "12%"))
	require.NoError(t, err)
	got, err := price.AskFor(job, usd(t, "25"), 44_000, 50_000)
	require.NoError(t, err)
	assert.Equal(t, want.String(), got.String())
}

// The median of five is checked by hand: 0.9, 1.1, 1.2, 1.25, 1.5.
func TestTheRunningMedianLooksAtTheLastFive(t *testing.T) {
	t.Parallel()
	var ratios []*big.Rat
	for _, text := range []string{"9", "1.5", "0.9", "1.25", "1.1", "1.2"} {
		r, ok := new(big.Rat).SetString(text)
		require.True(t, ok)
		ratios = append(ratios, r)
	}
	m, ok := price.RunningMedian(ratios)
	require.True(t, ok)
	assert.Equal(t, "1.20", m.FloatString(2))
	m, ok = price.RunningMedian(ratios[:4])
	require.True(t, ok)
	assert.Equal(t, "1.375", m.FloatString(3), "of four the mean of 1.25 and 1.5")
	_, ok = price.RunningMedian(nil)
	assert.False(t, ok)
}

func TestDaysOffTheMarketAreNotListedDays(t *testing.T) {
	t.Parallel()
	at := func(n, day int, kind price.EntryKind) price.Entry {
		return price.Entry{Number: n, Piece: 1, Kind: kind, Day: day, Currency: "USD", Amount: 100,
			Facts: price.Facts{price.FactName: "Bench", price.FactVenue: "board"}}
	}
	s, there, err := price.FoldSheet([]price.Entry{at(1, 100, price.EntryOpen), at(2, 100, price.EntryPost), at(3, 107, price.EntryDown),
		at(4, 120, price.EntryPost), at(5, 125, price.EntrySold)}, nil)
	require.NoError(t, err)
	require.True(t, there)
	assert.Equal(t, 7+5, s.DaysListed(400))
	days, known := s.DaysToSell()
	assert.True(t, known)
	assert.Equal(t, 25, days)
	f, sold := s.Finished()
	assert.True(t, sold)
	assert.Equal(t, 25, f.Days)
	assert.Equal(t, "1.00 USD", f.Asked.String())
}

func TestALedgerFromElsewhereIsLookedAtEntryByEntry(t *testing.T) {
	t.Parallel()
	open := price.Entry{Number: 1, Piece: 1, Kind: price.EntryOpen, Currency: "USD", Facts: price.Facts{price.FactName: "Bench"}}
	worked := price.Entry{Number: 2, Piece: 1, Kind: price.EntryTime, Seconds: 60}
	require.NoError(t, price.CheckLedger([]price.Entry{open, worked, {Number: 3, Piece: 1, Kind: price.EntryUndo, Target: 2}}))
	for want, e := range map[string]price.Entry{
		"entry 2 is out of order":                                {Number: 2, Piece: 1, Kind: price.EntryTake},
		"entry 3 is about an entry of the wrong kind":            {Number: 3, Piece: 1, Kind: price.EntryCorrect, Target: 1},
		"entry 4 is about an entry that is not there":            {Number: 4, Piece: 1, Kind: price.EntryUndo, Target: 3},
		"entry 3 is about an entry of another piece or lot":      {Number: 3, Piece: 2, Kind: price.EntryUndo, Target: 2},
		"entry 3 says something that I do not keep":              {Number: 3, Piece: 1, Kind: price.EntryTake, Facts: price.Facts{"colour": "red"}},
		"entry 3 has a fee that is no fraction below one":        {Number: 3, Piece: 1, Kind: price.EntryPlan, Facts: price.Facts{price.FactFee: "1e9"}},
		"entry 3 has a rate that is no whole number":             {Number: 3, Piece: 1, Kind: price.EntryPlan, Facts: price.Facts{price.FactRate: "-5"}},
		"entry 3 has a size that is none":                        {Number: 3, Piece: 1, Kind: price.EntryPlan, Facts: price.Facts{price.FactSize: "1,2,3,4"}},
		"entry 3 is of a kind that I do not keep":                {Number: 3, Piece: 1, Kind: "dance"},
		"entry 3 names no piece":                                 {Number: 3, Kind: price.EntryTime},
		"entry 3 has a time out of bounds":                       {Number: 3, Piece: 1, Kind: price.EntryTime, Seconds: 1 << 40},
		"entry 3 has an amount out of bounds":                    {Number: 3, Piece: 1, Kind: price.EntryTime, Amount: -1},
		"entry 3 has a group of costs that I do not keep":        {Number: 3, Piece: 1, Kind: price.EntryCost, Facts: price.Facts{price.FactGroup: "bribe"}},
		"entry 3 has a trip that cost more than all of it":       {Number: 3, Piece: 1, Kind: price.EntryStock, Currency: "USD", Amount: 5, Facts: price.Facts{price.FactTrip: "6"}},
		"entry 3 is about an entry that does not come before it": {Number: 3, Piece: 1, Kind: price.EntryUndo, Target: 3},
	} {
		assert.EqualError(t, price.CheckLedger([]price.Entry{open, worked, e}), want)
	}
}
