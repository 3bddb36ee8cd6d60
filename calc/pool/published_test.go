package pool_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

// table reads a published table by the names of its columns.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "published", name))
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1, "%s has no rows", name)
	var list []map[string]string
	for _, row := range rows[1:] {
		named := make(map[string]string)
		for i, column := range rows[0] {
			named[column] = row[i]
		}
		list = append(list, named)
	}
	return list
}

// micros reads a plain decimal exactly, cut at the sixth decimal.
func micros(t *testing.T, text string) pool.Micros {
	t.Helper()
	digits, negative := strings.CutPrefix(text, "-")
	whole, fraction, _ := strings.Cut(digits, ".")
	v, err := strconv.ParseInt(whole+(fraction + "000000")[:6], 10, 64)
	require.NoError(t, err, text)
	if negative {
		v = -v
	}
	return pool.Micros(v)
}

func list(t *testing.T, texts string) []pool.Micros {
	t.Helper()
	var values []pool.Micros
	for text := range strings.FieldsSeq(texts) {
		values = append(values, micros(t, text))
	}
	return values
}

// ISO 3:1973, FROM MEMORY: testdata/preferred-r20.csv.
func TestPreferredNumbersAreThoseOfISO3R20(t *testing.T) {
	t.Parallel()
	rows := table(t, "preferred-r20.csv")
	require.Len(t, rows, 20)
	for _, row := range rows {
		published, exact := micros(t, row["r20"]), micros(t, row["exact"])
		for _, way := range []pool.Way{pool.Nearest, pool.Down, pool.Up} {
			assert.Equal(t, published, pool.Preferred(published, way), "%s stays itself, way %d", row["r20"], way)
			assert.Equal(t, 1000*published, pool.Preferred(1000*published, way), "three decades up from %s", row["r20"])
			assert.Equal(t, published/100, pool.Preferred(published/100, way), "two decades down from %s", row["r20"])
			assert.Equal(t, -published, pool.Preferred(-published, way), "less than nothing by %s", row["r20"])
		}
		assert.Equal(t, published, pool.Preferred(exact, pool.Nearest), "the exact member %s", row["exact"])
	}
}

// ISO 3:1973, FROM MEMORY, as above: R10 is every second number of R20.
func TestEverySecondPreferredNumberIsOfR10(t *testing.T) {
	t.Parallel()
	rows := table(t, "preferred-r20.csv")
	for i, row := range rows {
		published := micros(t, row["r20"])
		for _, way := range []pool.Way{pool.Nearest, pool.Down, pool.Up} {
			got := pool.PreferredR10(1000*published, way)
			if i%2 == 0 {
				assert.Equal(t, 1000*published, got, "%s stays itself, way %d", row["r20"], way)
				continue
			}
			before, after := 1000*micros(t, rows[i-1]["r20"]), 10_000*pool.One
			if i+1 < len(rows) {
				after = 1000 * micros(t, rows[i+1]["r20"])
			}
			want := map[pool.Way]pool.Micros{pool.Down: before, pool.Up: after, pool.Nearest: before}[way]
			if way == pool.Nearest && after-1000*published < 1000*published-before {
				want = after
			}
			assert.Equal(t, want, got, "%s, way %d", row["r20"], way)
		}
	}
	assert.Equal(t, -pool.PreferredR10(pool.Whole(17), pool.Up), pool.PreferredR10(-pool.Whole(17), pool.Down))
}

func TestAValueBetweenTwoPreferredNumbersGoesTheWayAsked(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ value, nearest, down, up string }{
		{"128.94", "125", "125", "140"},
		{"132.4", "125", "125", "140"},
		{"132.5", "125", "125", "140"}, // halfway: 1.25 has the even place, 2
		{"132.6", "140", "125", "140"},
		{"118.5", "125", "112", "125"}, // halfway: 1.12 has the odd place, 1
		{"950", "1000", "900", "1000"}, // halfway: 9.00 has place 19, the next decade's 1.00 an even one
		{"9.6", "10", "9", "10"},
		{"-13", "-12.5", "-14", "-12.5"},
		{"0", "0", "0", "0"},
		{"0.00004", "0", "0", "0.0001"},
		{"-0.00004", "0", "-0.0001", "0"},
		{"9100000000000", "9000000000000", "9000000000000", "9000000000000"}, // the largest there is
	} {
		v := micros(t, c.value)
		assert.Equal(t, micros(t, c.nearest), pool.Preferred(v, pool.Nearest), "nearest %s", c.value)
		assert.Equal(t, micros(t, c.down), pool.Preferred(v, pool.Down), "down from %s", c.value)
		assert.Equal(t, micros(t, c.up), pool.Preferred(v, pool.Up), "up from %s", c.value)
	}
}

// Hyndman and Fan (1996), type 7; values COMPUTED: testdata/quantile-types.csv.
func TestQuantilesAreType7OfHyndmanAndFan(t *testing.T) {
	t.Parallel()
	data := map[string]string{
		"1..10":   "1 2 3 4 5 6 7 8 9 10",
		"prices8": "180 220 240 265 310 340 395 520",
	}
	compared := 0
	for _, row := range table(t, "quantile-types.csv") {
		if row["type"] != "7" {
			continue
		}
		sorted := list(t, data[row["data"]])
		for _, percent := range []int{10, 25, 50, 75, 90} {
			want := micros(t, row["q"+strconv.Itoa(percent)])
			got, ok := pool.Quantile7(sorted, percent, 100)
			require.True(t, ok)
			assert.Equal(t, want, got, "%s at %d %%", row["data"], percent)
			compared++
		}
	}
	assert.Equal(t, 10, compared)
}

// MASS::chem and the speed of light of Newcomb: testdata/robust-statistics.csv,
// LOOKED UP there from a public copy. The data here are FROM MEMORY; that they
// have the published number of values and mean is checked beside the median.
func TestMediansOfPublishedDataAreThePublishedMedians(t *testing.T) {
	t.Parallel()
	published := make(map[string]string)
	for _, row := range table(t, "robust-statistics.csv") {
		published[row["data"]+" "+row["statistic"]] = row["value"]
	}

	chem := list(t, "2.9 3.1 3.4 3.4 3.7 3.7 2.8 2.5 2.4 2.4 2.7 2.2 5.28 3.37 3.03 3.03 28.95 3.77 3.4 2.2 3.5 3.6 3.7 3.7")
	require.Equal(t, published["chem n"], strconv.Itoa(len(chem)))
	sum := pool.Micros(0)
	for _, v := range chem {
		sum += v
	}
	require.InDelta(t, int64(micros(t, published["chem mean"])), int64(sum)/24, 50, "the mean, as published to 0.0001")
	got, ok := pool.Median(chem)
	require.True(t, ok)
	assert.Equal(t, micros(t, published["chem median"]), got)

	newcomb := list(t, `28 26 33 24 34 -44 27 16 40 -2 29 22 24 21 25 30 23 29 31 19 24 20 36 32 36 28 25 21 28 29 37 25 28
		26 30 32 36 26 30 22 36 23 27 27 28 27 31 27 26 33 26 32 32 24 39 28 24 25 32 25 29 27 28 29 16 23`)
	require.Len(t, newcomb, 66)
	got, ok = pool.Median(newcomb)
	require.True(t, ok)
	assert.Equal(t, micros(t, published["newcomb median"]), got)
}

func TestQuantilesRoundOnceHalfToEven(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		sorted []pool.Micros
		k, n   int
		want   pool.Micros
	}{
		{[]pool.Micros{1, 2}, 1, 2, 2},
		{[]pool.Micros{2, 3}, 1, 2, 2},
		{[]pool.Micros{-3, -2}, 1, 2, -2},
		{[]pool.Micros{0, 1}, 1, 3, 0},
		{[]pool.Micros{0, 1}, 2, 3, 1},
		{[]pool.Micros{7}, 3, 4, 7},
		{[]pool.Micros{-9223372036854775808, 9223372036854775807}, 1, 2, 0}, // −0.5, and its product beyond 64 bits
		{[]pool.Micros{1, 5}, 0, 4, 1},
		{[]pool.Micros{1, 5}, 4, 4, 5},
	} {
		got, ok := pool.Quantile7(c.sorted, c.k, c.n)
		require.True(t, ok)
		assert.Equal(t, c.want, got, "%v at %d/%d", c.sorted, c.k, c.n)
	}
}

func TestThereIsNoQuantileOfNothingNorOutsideTheValues(t *testing.T) {
	t.Parallel()
	_, ok := pool.Median(nil)
	assert.False(t, ok)
	for _, at := range [][2]int{{-1, 4}, {5, 4}, {1, 0}, {0, -1}} {
		_, ok := pool.Quantile7([]pool.Micros{1, 2}, at[0], at[1])
		assert.False(t, ok, "%v", at)
	}
}

func TestAMedianLeavesTheValuesInTheirOrder(t *testing.T) {
	t.Parallel()
	values := []pool.Micros{3, 1, 2}
	_, _ = pool.Median(values)
	assert.True(t, slices.Equal([]pool.Micros{3, 1, 2}, values))
}
