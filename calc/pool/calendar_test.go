package pool_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tallystick/calc/pool"
)

func TestDaysAndMonthsAreThoseOfTheCalendar(t *testing.T) {
	t.Parallel()
	assert.Equal(t, pool.Day(0), pool.DayOf(1970, time.January, 1))
	assert.Equal(t, pool.Day(-1), pool.DayAt(time.Date(1969, time.December, 31, 23, 59, 59, 0, time.UTC)))
	assert.Equal(t, "2024-02-29", pool.MonthOf(2024, time.February).Last().String(), "a leap year")
	assert.Equal(t, "1900-02-28", pool.MonthOf(1900, time.February).Last().String(), "not a leap year")
	assert.Equal(t, pool.Month(2026*12+2), pool.MonthOf(2026, time.March))
	assert.Equal(t, "2026-03", pool.MonthOf(2026, time.March).String())
	year, month := pool.Month(-1).Date()
	assert.Equal(t, "-1 December", fmt.Sprint(year, " ", month), "before the year 0")

	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(-3e9, 8e9).Draw(t, "seconds"), 0).UTC()
		day := pool.DayAt(at)
		year, month, date := at.Date()
		gotYear, gotMonth, gotDate := day.Date()
		assert.Equal(t, []int{year, int(month), date}, []int{gotYear, int(gotMonth), gotDate})
		assert.Equal(t, at.Format(time.DateOnly), day.String())
		assert.Equal(t, day, pool.DayOf(year, month, date))
		assert.Equal(t, day, pool.DayAt(day.Time()))

		m := day.Month()
		assert.Equal(t, at.Format("2006-01"), m.String())
		assert.LessOrEqual(t, m.First(), day)
		assert.GreaterOrEqual(t, m.Last(), day)
		assert.Equal(t, m.Last()+1, (m + 1).First())
		y, mo := m.Date()
		assert.Equal(t, m, pool.MonthOf(y, mo))
	})
}
