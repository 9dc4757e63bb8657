package season

import (
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Course is how a season came in, day by day in the outfit's time zone.
type Course struct {
	// Days are those on which runs began that gave honey, in order. The last has
	// the season's honey as its sum.
	Days []DayLine
	// Before are the days of the season before, moved to the same days of the year
	// of this one. It is empty where there is no such season, where it gave nothing,
	// or where it is of the same year: then no day of it is the same.
	Before []DayLine
	// Moisture are the days on which the season's pulls and runs were read.
	Moisture []MoistureDay
}

// DayLine is a day with honey.
type DayLine struct {
	On ledger.Date
	// HoneyG is of the runs that began that day, whenever it was drawn off; SumG
	// is of all until the end of that day.
	HoneyG, SumG int64
	// BeforeG is what the season before had come to by the end of the same day
	// of the year.
	BeforeG int64
}

// MoistureDay is what the readings of one day found on pulls and runs.
type MoistureDay struct {
	On ledger.Date
	// MeanPct is the mean of the readings, each counted once; LowPct and HighPct
	// are the driest and the wettest. In percent by mass.
	MeanPct, LowPct, HighPct float64
	Readings                 int
}

// courseOf is the course of a season beside that of another, which may be nil.
func courseOf(y, before *yields, loc *time.Location) Course {
	c := Course{Days: y.days(loc), Moisture: y.moistureDays(loc)}
	if before == nil {
		return c
	}
	years := yearsBetween(before.season.First, y.season.First)
	if years == 0 {
		return c
	}
	c.Before = moved(before.days(loc), years)
	for i := range c.Days {
		c.Days[i].BeforeG = sumBy(c.Before, c.Days[i].On)
	}
	return c
}

// days are those with honey, by when the runs began.
func (y *yields) days(loc *time.Location) []DayLine {
	honey := map[ledger.Date]int64{}
	for _, r := range y.runs {
		if r.honeyG != 0 {
			honey[dateOf(r.at, loc)] += r.honeyG
		}
	}
	return summed(honey)
}

// summed puts days in order and sums them up.
func summed(honey map[ledger.Date]int64) []DayLine {
	out := make([]DayLine, 0, len(honey))
	for on, grams := range honey {
		out = append(out, DayLine{On: on, HoneyG: grams})
	}
	slices.SortFunc(out, func(a, b DayLine) int { return cmp.Compare(a.On, b.On) })
	var sum int64
	for i := range out {
		sum += out[i].HoneyG
		out[i].SumG = sum
	}
	return out
}

func dateOf(at time.Time, loc *time.Location) ledger.Date {
	return ledger.Date(at.In(loc).Format(time.DateOnly))
}

// yearsBetween is how many years later a season is than another: so many that
// their first days come nearest to one another.
func yearsBetween(first, later ledger.Date) int {
	const daysPerYear = 365.2425 // of the Gregorian calendar
	from, err := first.On(time.UTC)
	to, errTo := later.On(time.UTC)
	if err != nil || errTo != nil {
		return 0
	}
	return int(math.Round(to.Sub(from).Hours() / 24 / daysPerYear))
}

// EachDay are the days of the season and those of the one before, in order: a day of
// one of them alone has no honey of the other.
func (c Course) EachDay() []DayLine {
	honey := map[ledger.Date]int64{}
	for _, d := range c.Before {
		honey[d.On] = 0
	}
	for _, d := range c.Days {
		honey[d.On] = d.HoneyG
	}
	out := summed(honey)
	for i := range out {
		out[i].BeforeG = sumBy(c.Before, out[i].On)
	}
	return out
}

// moved moves days by so many years. The 29th of February counts with the 1st of
// March where the year has none.
func moved(days []DayLine, years int) []DayLine {
	honey := map[ledger.Date]int64{}
	for _, d := range days {
		if on, err := d.On.On(time.UTC); err == nil {
			honey[dateOf(on.AddDate(years, 0, 0), time.UTC)] += d.HoneyG
		}
	}
	return summed(honey)
}

// sumBy is what days had come to by the end of a day.
func sumBy(days []DayLine, by ledger.Date) (sum int64) {
	for _, d := range days {
		if d.On > by {
			break
		}
		sum = d.SumG
	}
	return sum
}

// moistureDays are the readings on the season's own pulls and on its runs, by the
// day on which they were taken.
func (y *yields) moistureDays(loc *time.Location) []MoistureDay {
	days := map[ledger.Date]*MoistureDay{}
	add := func(reads []readAt) {
		for _, r := range reads {
			on := dateOf(r.at, loc)
			d := days[on]
			if d == nil {
				d = &MoistureDay{On: on, LowPct: r.pct, HighPct: r.pct}
				days[on] = d
			}
			d.MeanPct += r.pct // the sum, until all are in
			d.LowPct, d.HighPct = min(d.LowPct, r.pct), max(d.HighPct, r.pct)
			d.Readings++
		}
	}
	for _, p := range y.pulls {
		if p.counts() {
			add(p.moisture.reads)
		}
	}
	for _, r := range y.runs {
		add(r.moisture.reads)
	}
	out := make([]MoistureDay, 0, len(days))
	for _, d := range days {
		d.MeanPct /= float64(d.Readings)
		out = append(out, *d)
	}
	slices.SortFunc(out, func(a, b MoistureDay) int { return cmp.Compare(a.On, b.On) })
	return out
}
