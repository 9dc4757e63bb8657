package pages

import (
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const tanksDayPath = tanksPath + "/day.svg"

// mostDayTanks are drawn over a day.
const mostDayTanks = 8

// tanksDay is what tanks held over the hours of a day on which something happened to them.
type tanksDay struct {
	tanks []chart.TankHoldings
	// from and until are full hours around the first and the last thing that happened.
	from, until time.Time
	// more tanks had something happen to them.
	more int
}

// dayAsked is the day that an address asks for; empty where it asks for none.
func dayAsked(ctx echo.Context) (string, error) { return siftDay(ctx, "day") }

// tanksDayOf takes from a book what its tanks held on a day, or on the last one on which something
// happened to them. Where nothing happened on the day, it has no tanks.
func tanksDayOf(b *ledger.Book, asked string) (day string, d tanksDay) {
	tanks := season.Tanks(b)
	if day = asked; day == "" {
		var last time.Time
		for _, t := range tanks {
			if t.LastMoved.After(last) {
				last = t.LastMoved
			}
		}
		if last.IsZero() {
			return "", d
		}
		day = last.In(b.Location()).Format(time.DateOnly)
	}
	begins, err := ledger.Date(day).On(b.Location())
	if err != nil {
		return day, d
	}
	ends := begins.AddDate(0, 0, 1).Add(-time.Microsecond)
	var ids []ledger.ID
	for _, t := range tanks {
		first, last, any := b.HappenedTo(t.TankID, begins, ends)
		switch {
		case !any:
			continue
		case len(d.tanks) == mostDayTanks:
			d.more++
			continue
		}
		if d.from.IsZero() || first.Before(d.from) {
			d.from = first
		}
		if last.After(d.until) {
			d.until = last
		}
		ids, d.tanks = append(ids, t.TankID), append(d.tanks, chart.TankHoldings{Name: t.Name})
	}
	if len(ids) == 0 {
		return day, d
	}
	d.from, d.until = fullHour(d.from.Add(-time.Microsecond), b.Location(), 0), fullHour(d.until, b.Location(), 1)
	for i, holdings := range b.Holdings(ids, d.from, d.until) {
		d.tanks[i].Holdings = holdings
	}
	return day, d
}

// fullHour is the full hour before an instant on the clock of a place, and so many hours later.
func fullHour(at time.Time, loc *time.Location, later int) time.Time {
	at = at.In(loc)
	return at.Add(time.Duration(later)*time.Hour - time.Duration(at.Minute())*time.Minute - time.Duration(at.Second())*time.Second - time.Duration(at.Nanosecond()))
}

// tanksDayView is a day's tanks in words.
type tanksDayView struct {
	// Day is as an address has it, Said as one reads it.
	Day, Said     string
	Chart, Narrow string
	Names         []string
	Hours         []hourRow
	More          int
}

// hourRow is what tanks held at a full hour.
type hourRow struct {
	At   string
	Held []string
}

func (d tanksDay) inWords(f locale.Voice, day string) *tanksDayView {
	v := &tanksDayView{Day: day, Said: f.Date(day), More: d.more}
	if len(d.tanks) == 0 {
		return v
	}
	v.Chart = tanksDayPath + "?day=" + day
	v.Narrow = v.Chart + "&form=narrow"
	for _, t := range d.tanks {
		v.Names = append(v.Names, t.Name)
	}
	for at := d.from; !at.After(d.until); at = at.Add(time.Hour) {
		row := hourRow{At: f.TimeOfDay(at)}
		for _, t := range d.tanks {
			i := slices.IndexFunc(t.Holdings, func(h ledger.Holding) bool { return h.At.After(at) })
			if i < 0 {
				i = len(t.Holdings)
			}
			row.Held = append(row.Held, f.Grams(t.Holdings[max(0, i-1)].Grams))
		}
		v.Hours = append(v.Hours, row)
	}
	return v
}

// tanksDayChart draws a day's tanks. The table on their page says the same.
func (p *pages) tanksDayChart(ctx echo.Context) error {
	asked, err := dayAsked(ctx)
	if err != nil {
		return err
	}
	form := formAsked(ctx)
	return p.keptChart(ctx, func(b *ledger.Book) (written, error) {
		day, d := tanksDayOf(b, asked)
		if len(d.tanks) == 0 {
			return nil, request.ParameterFault("day", day, "Nothing happened to a tank on that day. Choose another.")
		}
		return func(f locale.Voice) ([]byte, error) { return chart.Hours(form, f, d.tanks, d.from, d.until) }, nil
	})
}
