package price_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
)

// rows reads a table of testdata/published without its header of sources.
func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", name))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1, "the table has rows")
	return all[1:]
}

func usd(t *testing.T, text string) price.Money {
	t.Helper()
	c, err := price.ParseCurrency("USD")
	require.NoError(t, err)
	m, _, err := price.ParseMoney(text, c)
	require.NoError(t, err)
	return m
}

func share(t *testing.T, text string) price.Fraction {
	t.Helper()
	f, err := price.ParseFraction(text)
	require.NoError(t, err)
	return f
}

// up and nearest are how the table's four decimals become cents, done here by
// the decimal library's own roundings.
func up(text string) string      { return decimal.RequireFromString(text).RoundUp(2).StringFixed(2) }
func nearest(text string) string { return decimal.RequireFromString(text).RoundBank(2).StringFixed(2) }

// Source: testdata/published/golden-piece.csv, a CONSTRUCTED end-to-end example
// (arithmetic only, no published source; mileage at the IRS 2026 rate).
func TestTheBenchOfTheWorkedExampleIsPricedAsTheTableSays(t *testing.T) {
	t.Parallel()
	want := map[string]string{}
	for _, r := range rows(t, "golden-piece.csv") {
		want[r[0]] = r[1]
	}
	job := price.Job{Cost: usd(t, "124.90"), Fixed: usd(t, "0.30"), Fee: share(t, "2.9%"), Hours: 14*time.Hour + 15*time.Minute}

	breakEven, err := job.BreakEven()
	require.NoError(t, err)
	assert.Equal(t, up(want["break-even price (labour at 0)"]), breakEven.Plain())

	target, err := job.Target(usd(t, "25"))
	require.NoError(t, err)
	assert.Equal(t, up(want["target price at 25.00/h for 14.25 h"]), target.Plain())

	asking, err := job.Asking(usd(t, "25"), share(t, "12%"))
	require.NoError(t, err)
	assert.Equal(t, up(want["asking price for 12 % expected haggle, target/(1-0.12)"]), asking.Plain())

	floor, err := job.Target(usd(t, "18"))
	require.NoError(t, err)
	assert.Equal(t, up(want["lowest offer for at least 18.00/h"]), floor.Plain())

	for sold, row := range map[string]string{
		"495.83": "realised rate if sold at 495.83",
		"430":    "realised rate if sold at 430.00",
		"400":    "offer 400: realised rate",
	} {
		hourly, err := job.Hourly(usd(t, sold))
		require.NoError(t, err)
		assert.Equal(t, nearest(want[row]), hourly.Plain(), row)
	}
	left, err := job.Left(usd(t, "400"))
	require.NoError(t, err)
	assert.Equal(t, nearest(want["offer 400: net of fee and direct cost"]), left.Plain())
	left, err = job.Left(usd(t, "495.83"))
	require.NoError(t, err)
	assert.Equal(t, nearest(want["contribution margin at 495.83 (price - fee - direct cost)"]), left.Plain())
	nothing, err := job.Hourly(breakEven)
	require.NoError(t, err)
	assert.Equal(t, nearest(want["realised rate if sold at break-even"]), nothing.Plain())
}

// Source: testdata/published/fee-grossup.csv, CONSTRUCTED check values of
// P = (C+f)/(1−p); no published source, the fee levels are examples.
func TestPricesCoverTheFeesOfEveryRowAndNeverFallShort(t *testing.T) {
	t.Parallel()
	for _, r := range rows(t, "fee-grossup.csv") {
		pct := decimal.RequireFromString(r[3]).Shift(2).String()
		job := price.Job{Cost: usd(t, r[1]), Fixed: usd(t, r[2]), Fee: share(t, pct+"%")}
		got, err := job.BreakEven()
		require.NoError(t, err, r[0])
		assert.Equal(t, r[6], got.Plain(), r[0])
		left, err := job.Left(got)
		require.NoError(t, err)
		assert.False(t, left.IsNegative(), "%s: %s is left", r[0], left)
	}
}
