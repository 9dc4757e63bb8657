package importing

import (
	"time"

	"pullbook/domain/message"
)

// strayYears looks for days of another year than those around them: 2024 typed among days of 2025.
type strayYears struct {
	// before and at are the last days of the two runs of rows of one year that came last, and long is
	// how many rows the two have.
	before, at         time.Time
	longBefore, longAt int
	row                int // the first of the last run
	rows               int
	found              []strayYear
}

type strayYear struct {
	row  int
	day  time.Time
	near time.Time // the day of a row beside it
}

// mostStray bounds what is kept: where there are more, years change for another reason.
const mostStray = 20

// nextTo reports whether a day would lie beside another one, were it of its year.
func nextTo(day, other time.Time) bool {
	const beside = 45 * 24 * time.Hour // within a season rows are closer to each other; common practice
	moved := day.AddDate(other.Year()-day.Year(), 0, 0)
	return moved.Sub(other).Abs() <= beside && day.Sub(other).Abs() > beside
}

// note takes the day of a row.
func (s *strayYears) note(row int, day time.Time) {
	s.rows++
	if s.longAt > 0 && day.Year() == s.at.Year() {
		s.at, s.longAt = day, s.longAt+1
		return
	}
	s.close(day)
	s.before, s.longBefore = s.at, s.longAt
	s.at, s.longAt, s.row = day, 1, row
}

// close ends a run of rows of one year; after is the day behind it, or none.
func (s *strayYears) close(after time.Time) {
	const some = 3
	if s.longAt != 1 || len(s.found) >= mostStray {
		return
	}
	between := !after.IsZero() && s.longBefore > 0
	switch {
	case between && after.Year() == s.before.Year() && (nextTo(s.at, after) || nextTo(s.at, s.before)),
		!between && s.longBefore >= some && nextTo(s.at, s.before):
		s.found = append(s.found, strayYear{s.row, s.at, s.before})
	}
}

// noteYear takes the day of the row at hand, and asks about one that nobody who works now wrote down.
func (k *taking) noteYear(day time.Time) {
	if k.wide != nil || k.Mapping.Of == TemperatureLogs {
		return
	}
	const career = 70 // years, for whoever wrote it; common practice
	if k.Now.Year()-day.Year() > career && k.answered("") == "" {
		k.problem(DoubtfulRow, k.columns[FieldDate], message.F("This is a day of %s. Was another year meant? Put it right in the sheet, or say that the row holds as it stands%s.", yearOf(day), message.Option("rows: another")), string(Another))
		return
	}
	k.strayYears.note(k.row, day)
}

// yearOf is the year of a day in digits alone.
func yearOf(day time.Time) string { return day.Format("2006") }

// askStrayYears asks about days of another year than those around them, unless there are so many
// that the sheet goes to and fro between years.
func (k *taking) askStrayYears() {
	const (
		seldom = 20 // rows to one
		few    = 5  // rows tell too little of which year a sheet is
	)
	s := &k.strayYears
	s.close(time.Time{})
	if n := len(s.found); n == 0 || n > 1 && n*seldom > s.rows || s.rows < few {
		return
	}
	c := k.columns[FieldDate]
	for _, stray := range s.found {
		if k.Mapping.Rows[stray.row] != "" {
			continue
		}
		p := Problem{Code: DoubtfulRow, Row: stray.row, Field: FieldDate, DidYouMean: []string{string(Another)},
			Message: message.F("This is a day of %s, and the rows around it are of %s. Was that year meant? Put it right in the sheet, or say that the row holds as it stands%s.", yearOf(stray.day), yearOf(stray.near), message.Option("rows: another"))}
		if c != nil && c.index >= 0 {
			p.Column, p.Heading = c.Column.Column, c.Heading
		}
		k.add(p)
	}
}
