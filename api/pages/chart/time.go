package chart

import (
	"slices"
	"strconv"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"pullbook/api/locale"
)

// seconds is where an instant stands on a scale of time.
func seconds(t time.Time) float64 { return float64(t.UnixMilli()) / 1000 }

// calendar is a way of marking a scale of time.
type calendar struct {
	// hours marks every so many hours, years every so many years; otherwise months
	// marks the days of every so many months.
	hours, months, years int
	days                 []int
}

// calendars are the ways that people choose, the finest first.
var calendars = []calendar{
	{hours: 1}, {hours: 3}, {hours: 6}, {hours: 12},
	{months: 1, days: everyDay(1, 31)}, {months: 1, days: everyDay(2, 29)}, {months: 1, days: []int{1, 5, 10, 15, 20, 25}},
	{months: 1, days: []int{1, 10, 20}}, {months: 1, days: []int{1, 15}},
	{months: 1, days: []int{1}}, {months: 2, days: []int{1}}, {months: 3, days: []int{1}}, {months: 6, days: []int{1}},
	{years: 1}, {years: 2}, {years: 5}, {years: 10}, {years: 50},
}

// wholeDays are the calendars that mark no hours.
var wholeDays = slices.DeleteFunc(slices.Clone(calendars), func(c calendar) bool { return c.hours > 0 })

func everyDay(step, last int) (out []int) {
	for d := 1; d <= last; d += step {
		out = append(out, d)
	}
	return out
}

// mostMarks are looked at, of a calendar that is far too fine.
const mostMarks = 60

// marks are the calendar's moments from one instant until another, a few more than
// mostMarks at the most.
func (c calendar) marks(from, until time.Time) (out []time.Time) {
	add := func(at time.Time) {
		if !at.Before(from) && !at.After(until) {
			out = append(out, at)
		}
	}
	y, m, d := from.Date()
	date := func(y int, m time.Month, d, hour int) time.Time {
		return time.Date(y, m, d, hour, 0, 0, 0, from.Location())
	}
	switch {
	case c.hours > 0:
		for at := date(y, m, d, 0); !at.After(until) && len(out) <= mostMarks; d++ {
			for hour := 0; hour < 24; hour += c.hours {
				add(date(y, m, d, hour))
			}
			at = date(y, m, d+1, 0)
		}
	case c.years > 0:
		for y -= y % c.years; !date(y, 1, 1, 0).After(until) && len(out) <= mostMarks; y += c.years {
			add(date(y, 1, 1, 0))
		}
	default:
		for m -= (m - 1) % time.Month(c.months); !date(y, m, 1, 0).After(until) && len(out) <= mostMarks; m += time.Month(c.months) {
			last := date(y, m+1, 0, 0).Day()
			for _, d := range c.days {
				if d <= last {
					add(date(y, m, d, 0))
				}
			}
		}
	}
	return out
}

// label writes a mark: as short as the calendar allows, with what changes at it.
func (c calendar) label(f locale.Voice, at time.Time, first bool) string {
	switch {
	case c.years > 0:
		return strconv.Itoa(at.Year())
	case c.hours > 0 && at.Hour() != 0:
		return f.Region.FmtTimeShort(at)
	case len(c.days) != 1:
		return f.DayInYear(at)
	}
	month := f.Region.MonthAbbreviated(at.Month())
	if first || at.Month() == time.January {
		return month + " " + strconv.Itoa(at.Year())
	}
	return month
}

// DayTicks marks days that a person would choose between two instants, in seconds, on a
// scale that goes across a drawing: as many as there is room for.
func DayTicks(f locale.Voice, form Form, low, high float64) []plot.Tick {
	return timeTicks(f, form, low, high, wholeDays)
}

func timeTicks(f locale.Voice, form Form, low, high float64, ways []calendar) (out []plot.Tick) {
	from, until := time.UnixMilli(int64(1000*low)).In(f.Zone), time.UnixMilli(int64(1000*high)).In(f.Zone)
	for _, c := range ways {
		if out = out[:0]; !until.After(from) {
			return nil
		}
		for i, at := range c.marks(from, until) {
			out = append(out, plot.Tick{Value: seconds(at), Label: c.label(f, at, i == 0)})
		}
		if form.haveRoom(out, low, high) {
			return out
		}
	}
	return nil
}

// haveRoom reports whether labels stand apart on a scale that goes across a drawing.
func (form Form) haveRoom(ticks []plot.Tick, low, high float64) bool {
	style := letters(form.TextSize)
	perSecond := form.across() / vg.Length(high-low)
	end := vg.Length(-1)
	for i, t := range ticks {
		at, half := vg.Length(t.Value-low)*perSecond, style.Width(t.Label)/2
		if i > 0 && at-half < end+form.TextSize {
			return false
		}
		end = at + half
	}
	return true
}

// across is how long a scale is that goes across a drawing, at the least: figures of
// the other scale stand beside it.
func (form Form) across() vg.Length { return form.Width - 8*form.TextSize }
