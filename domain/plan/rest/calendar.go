package rest

import (
	"math"
	"sort"
	"time"
)

// mostDays is how far ahead a season is followed.
const mostDays = 366

// Shift is when the honey house works, as hours of the day's clock, and on which days of the week.
type Shift struct {
	From, To float64
	Days     [7]bool // from Sunday
}

// hours are how many a day has.
func (s Shift) hours() float64 { return s.To - s.From }

// calendar is the working hours to come, as hours from an instant on.
type calendar struct {
	// since is how much of its day was over at the instant.
	since float64
	// starts and ends are of the working days, noons in the middle of the shift without the evening, and days
	// which days they are: 0 is that of the instant.
	starts, ends, noons []float64
	days                []int
}

// newCalendar lays a shift, and hours worked after it, on the days from an instant on.
func newCalendar(from time.Time, s Shift, eveningHours float64) *calendar {
	y, m, day := from.Date()
	c := &calendar{since: from.Sub(time.Date(y, m, day, 0, 0, 0, 0, from.Location())).Hours()}
	for d := range mostDays {
		midnight := time.Date(y, m, day+d, 0, 0, 0, 0, from.Location())
		clock := func(h float64) float64 {
			minutes := int(math.Round(60 * h))
			return time.Date(y, m, day+d, 0, minutes, 0, 0, from.Location()).Sub(from).Hours()
		}
		start, end := max(0, clock(s.From)), clock(min(24, s.To+eveningHours))
		if !s.Days[midnight.Weekday()] || end <= start {
			continue
		}
		c.starts, c.ends, c.days = append(c.starts, start), append(c.ends, end), append(c.days, d)
		c.noons = append(c.noons, max(start, clock((s.From+s.To)/2)))
	}
	return c
}

// next is the place of the first working day that ends after a time.
func (c *calendar) next(at float64) int {
	return sort.Search(len(c.ends), func(i int) bool { return c.ends[i] > at })
}

// open is the first time from one on at which somebody works; infinite where nobody does any more.
func (c *calendar) open(at float64) float64 {
	i := c.next(at)
	if i == len(c.ends) {
		return math.Inf(1)
	}
	return max(at, c.starts[i])
}

// after is when so many working hours from a time on are over.
func (c *calendar) after(at, hours float64) float64 {
	for i := c.next(at); i < len(c.ends); i++ {
		from := max(at, c.starts[i])
		if from+hours <= c.ends[i] {
			return from + hours
		}
		hours -= c.ends[i] - from
	}
	return math.Inf(1)
}

// between is the working hours between two times.
func (c *calendar) between(from, to float64) (sum float64) {
	for i := c.next(from); i < len(c.ends) && c.starts[i] < to; i++ {
		sum += min(to, c.ends[i]) - max(from, c.starts[i])
	}
	return sum
}

// day is which day a time is on, 0 that of the instant. A day on which clocks change counts as any other.
func (c *calendar) day(at float64) int { return min(mostDays-1, int((at+c.since)/24)) }
