package commands_test

import (
	"bytes"
	"fmt"
	"image/png"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/commands"
)

// valueOf is a figure's plain decimal.
func valueOf(t require.TestingT, reply commands.Reply, key string) decimal.Decimal {
	require.Equal(t, commands.Answered, reply.Outcome(), reply.Sentence())
	for _, f := range reply.Figures {
		if f.Key == key {
			return decimal.RequireFromString(f.Value)
		}
	}
	require.Fail(t, "no figure "+key, "%v", reply.Figures)
	return decimal.Zero
}

func has(reply commands.Reply, key string) bool {
	for _, f := range reply.Figures {
		if f.Key == key {
			return true
		}
	}
	return false
}

// trade is an invented piece and what is wanted for it. The laws of the sums are
// drawn by the hundred in calc/price; here a few go all the way through the text.
type trade struct {
	job                string
	wanted, step, coin decimal.Decimal
	minutes            int64
}

var trades = rapid.Custom(func(t *rapid.T) trade {
	code := rapid.SampledFrom([]string{"USD", "JPY", "KWD"}).Draw(t, "currency")
	digits := map[string]int32{"USD": 2, "JPY": 0, "KWD": 3}[code]
	amount := func(label string, least, most int64) decimal.Decimal {
		return decimal.New(rapid.Int64Range(least, most).Draw(t, label), -digits)
	}
	tr := trade{minutes: rapid.Int64Range(1, 6000).Draw(t, "minutes"), coin: decimal.New(1, -digits)}
	tr.job = fmt.Sprintf(" hours:%d min materials:%s %s", tr.minutes, amount("materials", 0, 1e7), code)
	if rapid.Bool().Draw(t, "has a fee") {
		tr.job += fmt.Sprintf(" fee:%d.%d%% fixed-fee:%s", rapid.IntRange(1, 40).Draw(t, "fee"), rapid.IntRange(0, 9).Draw(t, "tenth"), amount("fixed", 0, 1e4))
	}
	if rapid.Bool().Draw(t, "taxed") {
		tr.job += fmt.Sprintf(" tax:%d%% tax-included:%s", rapid.IntRange(1, 25).Draw(t, "tax"), rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "included"))
	}
	tr.wanted, tr.step = amount("wanted", 1, 1e5), amount("step", 1, 1e4)
	return tr
})

func TestATargetFromPriceGivenToRatePaysTheWantedRateAndLessThanAStepMore(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for seed := range 30 {
		tr := trades.Example(seed)
		priced := c.ask("ann", false, fmt.Sprintf("/price%s rate:%s step:%s", tr.job, tr.wanted, tr.step))
		target := valueOf(t, priced, "target_price")
		assert.True(t, target.Mod(tr.step).IsZero(), "%s in steps of %s", target, tr.step)

		sold := c.ask("ann", false, fmt.Sprintf("/rate sold:%s%s", target, tr.job))
		assert.True(t, valueOf(t, sold, "realised_hourly").GreaterThanOrEqual(tr.wanted), "%s pays %s in %s", target, tr.wanted, tr.job)
		if below := target.Sub(tr.step); below.IsPositive() {
			left := valueOf(t, c.ask("ann", false, fmt.Sprintf("/rate sold:%s%s", below, tr.job)), "left")
			wages := tr.wanted.Mul(decimal.New(tr.minutes, 0)).DivRound(decimal.New(60, 0), 12)
			// What is left was rounded to the coin.
			assert.True(t, left.LessThan(wages.Add(tr.coin)), "a step less leaves %s, the wages are %s in %s", left, wages, tr.job)
		}
		assertMonotone(t, priced)
	}
}

// assertMonotone reads the ladder as people do: prices rise, and so does the pay.
func assertMonotone(t *testing.T, reply commands.Reply) {
	require.NotEmpty(t, reply.Tables)
	digits := func(cell string) decimal.Decimal {
		return decimal.RequireFromString(strings.Map(func(r rune) rune {
			if r >= '0' && r <= '9' || r == '.' || r == '-' {
				return r
			}
			return -1
		}, cell))
	}
	rows := reply.Tables[0].Rows
	for i := 1; i < len(rows); i++ {
		assert.True(t, digits(rows[i][0]).GreaterThan(digits(rows[i-1][0])), "%v", rows)
		assert.True(t, digits(rows[i][2]).GreaterThanOrEqual(digits(rows[i-1][2])), "%v", rows)
	}
}

func TestARangeOfHoursGivesALowAndAHighOfWhatDependsOnThem(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	reply := c.ask("ann", false, "/price hours:6-9 materials:95.50 rate:30 lowest-rate:22 haggle:10%")
	for _, key := range []string{"floor_price", "target_price", "asking_price"} {
		assert.False(t, has(reply, key))
		low := valueOf(t, c.ask("ann", false, "/price hours:6 materials:95.50 rate:30 lowest-rate:22 haggle:10%"), key)
		high := valueOf(t, c.ask("ann", false, "/price hours:9 materials:95.50 rate:30 lowest-rate:22 haggle:10%"), key)
		assert.True(t, valueOf(t, reply, key+"_low").Equal(low), key)
		assert.True(t, valueOf(t, reply, key+"_high").Equal(high), key)
	}
	assert.True(t, has(reply, "break_even"), "it does not depend on them without overhead")
	reply = c.ask("ann", false, "/price hours:6-9 materials:95.50 rate:30 overhead:4")
	assert.True(t, has(reply, "break_even_low") && has(reply, "break_even_high"))
}

func TestTheLargestAmountsArePricedInEveryCurrency(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for code, most := range map[string]string{"USD": "100000000000.00", "JPY": "10000000000000", "KWD": "10000000000.000"} {
		reply := c.ask("ann", false, "/price hours:1 materials:"+most+" "+code)
		assert.True(t, valueOf(t, reply, "break_even").Equal(decimal.RequireFromString(most)), code)
		over := c.ask("ann", false, "/price hours:1 rate:1 materials:"+most+" "+code)
		require.Equal(t, commands.WasMistake, over.Outcome())
		assert.Contains(t, over.Sentence(), "more money than I count")
		rate := c.ask("ann", false, "/rate sold:"+most+" "+code+" hours:2")
		assert.True(t, valueOf(t, rate, "realised_hourly").Equal(decimal.RequireFromString(most).Div(decimal.New(2, 0))), code)
	}
}

func TestTheChartIsAPictureForAPhoneAndTheSameEveryTime(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, line := range []string{
		"/price hours:14.25 materials:124.90 rate:25 lowest-rate:18 fee:2.9% fixed-fee:0.30 haggle:12%",
		"/price hours:6-9 materials:84 rate:30 lowest-rate:22 overhead:12 haggle:10%",
		"/price hours:3",
		"/price hours:1 materials:10000000000000 JPY",
	} {
		first, second := c.ask("ann", false, line), c.ask("ben", false, line)
		require.NotNil(t, first.Picture, "%s: %s", line, first.Sentence())
		assert.True(t, bytes.Equal(fileOf(t, first.Picture), fileOf(t, second.Picture)), line)
		drawn, err := png.Decode(bytes.NewReader(fileOf(t, first.Picture)))
		require.NoError(t, err)
		assert.Equal(t, "(1000,600)", drawn.Bounds().Size().String())
		assert.LessOrEqual(t, len([]rune(first.Picture.Alt())), 1024)
		for _, row := range first.Tables[0].Rows {
			plain := strings.Map(func(r rune) rune {
				if r >= '0' && r <= '9' || r == '.' {
					return r
				}
				return -1
			}, row[0])
			assert.Contains(t, first.Picture.Alt(), plain, "who cannot see the picture is told every price")
		}
	}
}

func TestManyMembersMayHaveChartsDrawnAtOnce(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	want := fileOf(t, c.ask("ann", false, "/price hours:7 materials:84 rate:25").Picture)
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			got := c.set.Do(t.Context(), commands.Request{Delivery: "d", Community: community, Member: "ben", Path: "price",
				Options: map[string]string{"hours": "7", "materials": "84", "rate": "25"}, Time: c.now})
			assert.True(t, bytes.Equal(want, fileOf(t, got.Picture)))
		})
	}
	all.Wait()
}

func TestAVenueLeavesWhatItsFeesTypedOutLeave(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	require.Equal(t, commands.Answered, c.ask("ann", false, "/settings venue name:online fee:6.5% fixed-fee:0.45").Outcome())
	require.Equal(t, commands.Answered, c.ask("ann", false, "/settings venue name:gallery share:45%").Outcome())
	for _, tail := range []string{"", " tax:13%", " tax:13% tax-included:yes"} {
		job := "/price hours:14.25 materials:124.90 rate:25" + tail
		named := c.ask("ann", false, job+" venue:online")
		typed := c.ask("ann", false, job+" fee:6.5% fixed-fee:0.45")
		assert.True(t, valueOf(t, named, "target_price").Equal(valueOf(t, typed, "target_price")), tail)
	}
	// testdata/published/golden-piece.csv: 874.8182 on consignment at 45 %.
	consigned := c.ask("ann", false, "/price hours:14.25 materials:124.90 rate:25 venue:gallery")
	assert.Equal(t, "874.82", valueOf(t, consigned, "target_price").String())
	both := c.ask("ann", false, "/price hours:14.25 materials:124.90 rate:25 venue:all")
	assert.Contains(t, both.Title, "online", "the venue that leaves the most stands first")
}

func TestOneVenueTooManyIsRefusedAndTheOthersStay(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for i := range 25 {
		require.Equal(t, commands.Answered, c.ask("ann", false, "/settings venue name:stall-"+strconv.Itoa(i)).Outcome())
	}
	over := c.ask("ann", false, "/settings venue name:one-more")
	assert.Equal(t, commands.WasRefused, over.Outcome())
	assert.Contains(t, over.Sentence(), "25 venues already")
	assert.Len(t, c.ask("ann", false, "/settings show").Tables[0].Rows, 25)
}

func TestVenuesAreOfferedWhileTheyAreTyped(t *testing.T) {
	t.Parallel()
	c := newChat(t)
	for _, name := range []string{"fair", "gallery"} {
		require.Equal(t, commands.Answered, c.ask("ann", false, "/settings venue name:"+name+" fee:5%").Outcome())
	}
	offered := func(member, typed string) []string {
		var values []string
		for _, choice := range c.set.Suggest(t.Context(), commands.Request{Community: community, Member: member, Path: "price"}, "venue", typed, 25) {
			values = append(values, choice.Value)
		}
		return values
	}
	assert.Equal(t, []string{"fair", "gallery", "all"}, offered("ann", ""))
	assert.Equal(t, []string{"gallery"}, offered("ann", "galery"))
	assert.Equal(t, []string{"fair,gallery"}, offered("ann", "fair,gal"))
	assert.Empty(t, offered("ben", ""), "they are ann's alone")
}
