package pool_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

// A log is a shared log written by hand, in which every maker is in the sample.
type log struct {
	day     pool.Day
	records []pool.Record
	since   map[string]pool.Day
	states  []pool.State
}

func newLog() *log {
	return &log{day: pool.DayOf(2026, time.March, 1), since: map[string]pool.Day{}}
}

// sells adds a sale of half a year ago for each of the makers first to last.
func (l *log) sells(first, last int, category string, values pool.Values) {
	for i := first; i <= last; i++ {
		maker := fmt.Sprint("maker ", i)
		if _, known := l.since[maker]; !known {
			l.since[maker] = l.day - 300
		}
		l.records = append(l.records, pool.Record{
			ID: int64(len(l.records) + 1), Maker: maker, Sold: l.day.Month() - 6, Category: category, Values: values,
		})
	}
}

// withdraws makes the records of the maker in the category count no more.
func (l *log) withdraws(maker int, category string) {
	for i, r := range l.records {
		if r.Maker == fmt.Sprint("maker ", maker) && r.Category == category {
			l.records[i].Maker = "nobody"
		}
	}
}

func (l *log) release() map[pool.Cut]pool.State {
	l.states = pool.Release(l.day, l.records, l.since, l.states, pool.StandardRules(), func(string, string) uint32 { return 0 })
	return byCut(l.states)
}

func price(dollars int) pool.Values {
	return pool.Values{}.With(pool.PricePerBoardFoot, pool.Whole(dollars))
}

var bench, box = pool.CategoryCut("bench"), pool.CategoryCut("box")

func TestAFigureIsTheRoundedMedianOfOneValuePerMaker(t *testing.T) {
	t.Parallel()
	l := newLog()
	// 16 makers at 100 to 250 dollars; maker 1 has two more sales, whose median
	// with the first is 160, so that the votes are 110, 120, …, 160, 160, …, 250
	// and the middle two 180 and 190.
	for i := 1; i <= 16; i++ {
		v := price(90+10*i).
			With(pool.Price, pool.Whole(i)).
			With(pool.PricePerSquareFoot, pool.Whole(i)).
			With(pool.RealisedHourly, pool.Whole(i-12)).
			With(pool.SoldToAsked, pool.Whole(80+i)/100).
			With(pool.DaysToSell, pool.Whole(2*i))
		l.sells(i, i, "bench", v)
	}
	l.sells(1, 1, "bench", price(160))
	l.sells(1, 1, "bench", price(999))
	all := l.release()[pool.Everything]
	require.True(t, all.Shown)
	assert.Equal(t, pool.Makers15, all.Makers)
	for figure, want := range map[pool.Figure]string{
		pool.PricePerBoardFoot: "180",   // 185, between 180 and 200
		pool.Price:             "8",     // 8.5, between 8 and 9, halfway: 8.00 has place 18
		pool.RealisedHourly:    "-3.55", // −3.5
		pool.DaysToSell:        "15",    // 17 days
	} {
		got, ok := all.Figure(figure)
		require.True(t, ok, "%s", figure)
		assert.Equal(t, micros(t, want), got.Value, "%s", figure)
		assert.Nil(t, got.Middle, "16 makers have no middle half")
	}
	days, _ := all.Figure(pool.DaysToSell)
	assert.Equal(t, "15–30", days.Days().String())
	_, ok := all.Figure(pool.PricePerSquareFoot)
	assert.False(t, ok, "it is kept and not published")
}

func TestTheMiddleHalfIsRoundedOutwards(t *testing.T) {
	t.Parallel()
	l := newLog()
	for i := 1; i <= 21; i++ { // quartiles at the 6th and the 16th: 150 and 250
		l.sells(i, i, "bench", price(90+10*i).With(pool.RealisedHourly, pool.Whole(90+10*i)).With(pool.SoldToAsked, pool.Whole(80+i)/100))
	}
	all := l.release()[pool.Everything]
	got, _ := all.Figure(pool.PricePerBoardFoot)
	assert.Nil(t, got.Middle, "prices have none")
	got, _ = all.Figure(pool.RealisedHourly)
	assert.Equal(t, &pool.Middle{Low: pool.Whole(140), High: pool.Whole(250), AsOf: l.day}, got.Middle)
	got, _ = all.Figure(pool.SoldToAsked) // 0.86 and 0.96
	assert.Equal(t, &pool.Middle{Low: micros(t, "0.85"), High: micros(t, "1"), AsOf: l.day}, got.Middle)
}

func TestAnEmptyLogSaysThatItShowsNothing(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.states = []pool.State{{Line: pool.Line{Cut: bench}}}
	states := l.release()
	require.Len(t, states, 2, "everything, and the cut that was named")
	assert.Equal(t, pool.Line{Cut: pool.Everything, Reason: pool.TooFewMakers}, states[pool.Everything].Line)
	assert.Equal(t, pool.Line{Cut: bench, Reason: pool.TooFewActive}, states[bench].Line)
}

func TestANewAccountCountsAfterThirtyDays(t *testing.T) {
	t.Parallel()
	for days, want := range map[pool.Day]bool{29: false, 30: true} {
		l := newLog()
		l.sells(1, 8, "bench", price(100))
		l.since["maker 8"] = l.day - days
		assert.Equal(t, want, l.release()[pool.Everything].Shown, "%d days", days)
	}
	l := newLog()
	l.sells(1, 8, "bench", price(100))
	delete(l.since, "maker 8")
	assert.False(t, l.release()[pool.Everything].Shown, "an account of no known day")
}

func TestFourChangedMakersChangeNothingAndFiveChangeTheFigure(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 20, "bench", price(100))
	first := l.release()
	got, _ := first[bench].Figure(pool.PricePerBoardFoot)
	require.Equal(t, pool.Whole(100), got.Value)
	shownOn := l.day

	l.day = pool.DayOf(2027, time.April, 1)
	l.sells(1, 4, "bench", price(900))
	for _, cut := range []pool.Cut{bench, pool.Everything} {
		got, ok := l.release()[cut].Figure(pool.PricePerBoardFoot)
		require.True(t, ok)
		assert.Equal(t, shownOn, got.AsOf, "%s keeps its own day", cut)
	}
	l.sells(5, 5, "bench", price(900))
	for _, cut := range []pool.Cut{bench, pool.Everything} {
		got, ok := l.release()[cut].Figure(pool.PricePerBoardFoot)
		require.True(t, ok)
		assert.Equal(t, l.day, got.AsOf, "%s", cut)
	}
}

// A cut that is hidden and comes back is held against what was last shown, not
// against nothing: otherwise one maker's coming and going would be a difference.
func TestACutThatComesBackLittleChangedShowsItsOldFigure(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 12, "bench", price(100))
	l.sells(13, 30, "box", price(300))
	shownOn := l.day
	require.True(t, l.release()[bench].Shown)

	l.day = pool.DayOf(2027, time.April, 1)
	l.withdraws(12, "bench")
	hidden := l.release()[bench]
	assert.False(t, hidden.Shown)
	assert.Equal(t, pool.TooFewMakers, hidden.Reason)
	assert.Empty(t, hidden.Figures)

	l.day = pool.DayOf(2027, time.June, 1)
	l.sells(31, 31, "bench", price(900))
	got, ok := l.release()[bench].Figure(pool.PricePerBoardFoot)
	require.True(t, ok)
	assert.Equal(t, shownOn, got.AsOf)
}

func TestEverythingIsNotShownWhenAFewMakersAreBeyondItsCategories(t *testing.T) {
	t.Parallel()
	for beyond, want := range map[int]bool{0: true, 1: false, 4: false, 5: true} {
		l := newLog()
		l.sells(1, 20, "bench", price(100))
		l.sells(21, 20+beyond, "box", price(300))
		for i := range l.records {
			l.records[i].Region = "coast"
		}
		states := l.release()
		require.True(t, states[bench].Shown)
		assert.Equal(t, want, states[pool.Everything].Shown, "%d makers beyond", beyond)
		if !want {
			assert.Equal(t, pool.SmallRemainder, states[pool.Everything].Reason)
		}
	}
}

// Two makers add to a kept cut and three leave another: five have changed in
// all, but what everything would show beyond the kept cuts comes from two.
func TestEverythingStaysWhileItsKeptCategoriesLagBehindIt(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 12, "bench", price(100))
	l.sells(13, 24, "box", price(300))
	for i := range l.records {
		l.records[i].Region = fmt.Sprint("region ", i%24) // no region is shown
	}
	shownOn := l.day
	require.True(t, l.release()[pool.Everything].Shown)

	l.day = pool.DayOf(2027, time.April, 1)
	l.sells(1, 2, "bench", price(900))
	l.sells(13, 15, "box", price(100))
	states := l.release()
	require.Equal(t, shownOn, states[bench].AsOf)
	require.Equal(t, shownOn, states[box].AsOf)
	assert.Equal(t, shownOn, states[pool.Everything].AsOf)
}

func TestAFigureThatFewMakersHaveIsNotShownAndSaysSo(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 7, "bench", price(100).With(pool.RealisedHourly, pool.Whole(9)))
	l.sells(8, 20, "bench", price(100))
	for _, p := range l.release()[pool.Everything].Figures {
		assert.Equal(t, p.Figure == pool.PricePerBoardFoot, p.Shown, "%s", p.Figure)
		if !p.Shown {
			assert.Equal(t, pool.Published{Figure: p.Figure, Reason: pool.TooFewMakers}, p)
		}
	}

	l.day = pool.DayOf(2027, time.April, 1)
	l.sells(8, 8, "bench", price(100).With(pool.RealisedHourly, pool.Whole(9)))
	for _, p := range l.release()[pool.Everything].Figures {
		if p.Figure == pool.RealisedHourly {
			assert.Equal(t, pool.TooFewChanged, p.Reason, "eight makers, but its cut has hardly changed")
		}
	}
}

// The attack test asks for it: each state of a figure is a look at its sales.
func TestAFigureIsRenewedYearlyAtMost(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 20, "bench", price(100))
	first := l.day
	require.True(t, l.release()[bench].Shown)
	for month := first.Month() + 1; month <= first.Month()+12; month++ {
		l.day = month.First()
		l.sells(1, 20, "bench", price(900))
		got, ok := l.release()[bench].Figure(pool.PricePerBoardFoot)
		require.True(t, ok)
		want := first
		if month == first.Month()+12 {
			want = l.day
		}
		assert.Equal(t, want, got.AsOf, "%s", month)
	}
}

func TestTheRatioOfSoldToAskedIsShownFromTwentyMakersOn(t *testing.T) {
	t.Parallel()
	for makers, want := range map[int]bool{19: false, 20: true} {
		l := newLog()
		l.sells(1, makers, "bench", price(100).With(pool.SoldToAsked, micros(t, "0.885")))
		got, ok := l.release()[pool.Everything].Figure(pool.SoldToAsked)
		assert.Equal(t, want, ok, "%d makers", makers)
		if ok {
			assert.Equal(t, micros(t, "0.9"), got.Value)
		}
	}
}

func TestAPartIsShownFromTwelveMakersOn(t *testing.T) {
	t.Parallel()
	for makers, want := range map[int]bool{11: false, 12: true} {
		l := newLog()
		l.sells(1, makers, "bench", price(100))
		l.sells(makers+1, 40, "box", price(300))
		assert.Equal(t, want, l.release()[bench].Shown, "%d makers", makers)
	}
}

func TestAFigureOfFewMakersIsRoundedToR10(t *testing.T) {
	t.Parallel()
	for makers, want := range map[int]int{14: 125, 15: 140} {
		l := newLog()
		l.sells(1, makers, "bench", price(139))
		l.sells(makers+1, 40, "box", price(300))
		got, ok := l.release()[bench].Figure(pool.PricePerBoardFoot)
		require.True(t, ok)
		assert.Equal(t, pool.Whole(want), got.Value, "%d makers", makers)
	}
}

func TestACutOfWhichNoFigureCanBeShownIsNotShown(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 20, "bench", pool.Values{}.With(pool.RealisedHourly, pool.Whole(20)))
	states := l.release()
	assert.Equal(t, pool.Line{Cut: bench, Reason: pool.TooFewMakers}, states[bench].Line)
	assert.Empty(t, states[bench].Shows)
	assert.True(t, states[pool.Everything].Shown, "it gives the hourly rate")
}

func TestASaleWithoutARegionIsInNoRegion(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.sells(1, 20, "bench", price(100))
	states := l.release()
	assert.Len(t, states, 2)
	region, isRegion := pool.RegionCut("coast").Region()
	assert.True(t, isRegion)
	assert.Equal(t, "coast", region)
	_, isCategory := pool.RegionCut("coast").Category()
	assert.False(t, isCategory)
	category, isCategory := bench.Category()
	assert.True(t, isCategory)
	assert.Equal(t, "bench", category)
}
