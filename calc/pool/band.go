package pool

import "strconv"

// A Band is a count of makers as it is published: the least count of its band,
// 8, 15, 25 or 50.
type Band int

// The bands of makers: 8–14, 15–24, 25–49, and 50 or more.
const (
	Makers8  Band = 8
	Makers15 Band = 15
	Makers25 Band = 25
	Makers50 Band = 50
)

// BandOf gives the band that a count falls in, 0 below the first.
func BandOf(count int) Band {
	band := Band(0)
	for _, b := range []Band{Makers8, Makers15, Makers25, Makers50} {
		if count >= int(b) {
			band = b
		}
	}
	return band
}

// Bounds gives the least and the most makers of the band; most is 0 where there
// is no end.
func (b Band) Bounds() (least, most int) {
	switch b {
	case Makers8:
		return 8, 14
	case Makers15:
		return 15, 24
	case Makers25:
		return 25, 49
	}
	return int(b), 0
}

// String gives the band as it is read: "8–14", "50+".
func (b Band) String() string { return rangeText(b.Bounds()) }

// A DaysBand is a number of days to sell as it is published: the least number
// of its band.
type DaysBand int

var daysBands = []DaysBand{0, 8, 15, 31, 61, 121}

// DaysBandOf gives the band that a number of days, times 1,000,000, falls in.
// Half a day goes to the even day.
func DaysBandOf(days Micros) DaysBand {
	whole := toStep(days, One, Nearest) / One
	band := daysBands[0]
	for _, b := range daysBands {
		if whole >= Micros(b) {
			band = b
		}
	}
	return band
}

// Bounds gives the least and the most days of the band; most is 0 where there
// is no end.
func (b DaysBand) Bounds() (least, most int) {
	for i, band := range daysBands[:len(daysBands)-1] {
		if band == b {
			return int(b), int(daysBands[i+1]) - 1
		}
	}
	return int(b), 0
}

// String gives the band as it is read: "0–7", "121+".
func (b DaysBand) String() string { return rangeText(b.Bounds()) }

func rangeText(least, most int) string {
	if most == 0 {
		return strconv.Itoa(least) + "+"
	}
	return strconv.Itoa(least) + "–" + strconv.Itoa(most)
}
