package pool

import (
	"fmt"
	"time"
)

// A Month is a calendar month: the year times 12, plus 0 for January to 11 for
// December.
type Month int

// MonthOf gives the month of a year.
func MonthOf(year int, month time.Month) Month { return Month(year*12 + int(month) - 1) }

// Date gives the year and the month.
func (m Month) Date() (year int, month time.Month) {
	year, rest := int(m)/12, int(m)%12
	if rest < 0 {
		year, rest = year-1, rest+12
	}
	return year, time.Month(rest + 1)
}

// First gives the first day of the month.
func (m Month) First() Day {
	year, month := m.Date()
	return DayOf(year, month, 1)
}

// Last gives the last day of the month.
func (m Month) Last() Day { return (m + 1).First() - 1 }

// String gives the month as ISO 8601 writes it: "2026-03".
func (m Month) String() string {
	year, month := m.Date()
	return fmt.Sprintf("%04d-%02d", year, int(month))
}

// A Day is a calendar day, counted from 1 January 1970. It has no time zone.
type Day int

const secondsADay = 24 * 60 * 60

// DayOf gives the day of a date; a day past the end of the month runs on into
// the next, as in package time.
func DayOf(year int, month time.Month, day int) Day {
	return DayAt(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

// DayAt gives the day that it is at t in universal time.
func DayAt(t time.Time) Day {
	seconds := t.Unix()
	day := seconds / secondsADay
	if seconds%secondsADay < 0 {
		day--
	}
	return Day(day)
}

// Time gives the start of the day in universal time.
func (d Day) Time() time.Time { return time.Unix(int64(d)*secondsADay, 0).UTC() }

// Date gives the year, the month and the day of the month.
func (d Day) Date() (year int, month time.Month, day int) { return d.Time().Date() }

// Month gives the month of the day.
func (d Day) Month() Month {
	year, month, _ := d.Date()
	return MonthOf(year, month)
}

// String gives the day as ISO 8601 writes it: "2026-03-01".
func (d Day) String() string {
	year, month, day := d.Date()
	return fmt.Sprintf("%04d-%02d-%02d", year, int(month), day)
}

// monthsBefore gives the same day of the month so many months earlier, or the
// last day of that month when it is shorter.
func (d Day) monthsBefore(months int) Day {
	_, _, day := d.Date()
	earlier := d.Month() - Month(months)
	return min(earlier.First()+Day(day-1), earlier.Last())
}
