package importing

import (
	"errors"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// otherYears asks about the cells above the headings that speak of another year than dates without
// one are said to be of: 2025 above some days, 2026 above others.
func (w *wide) otherYears(cells []string) {
	if w.leaveOut[w.row] {
		return
	}
	for i := range cells {
		w.otherYear(cells[i : i+1])
	}
}

// ownYear asks about a row that has its year in a column of its own, and another one than its date
// is said to be of.
func (w *wide) ownYear(cells []string) {
	for i := range min(len(cells), len(w.Mapping.Columns)) {
		c := &w.Mapping.Columns[i]
		words := wordsOf(c.Heading)
		if n := len(words); c.Field != "" || n > 0 && !yearWords[words[0]] && !yearWords[words[n-1]] || fourDigits.FindString(cells[i]) != cells[i] {
			continue
		}
		w.otherYear(cells[i : i+1])
	}
}

// yearWords head columns of years, in English and Spanish.
var yearWords = wordSet("year season ano temporada")

// days follows the days of a sheet that have no year, to see where the year turns among them.
type days struct {
	last, fell bool
	at         time.Time
}

// turns reports whether the year turns between the last day and a text: it goes back by more than
// half a year, or forward by as much where days go down.
func (d *days) turns(text string, order tables.Order) bool {
	_, err := tables.ParseDate(text, order, 0)
	if none := new(tables.NoYearError); !errors.As(err, &none) {
		return false
	}
	when, err := tables.ParseDate(text, order, anyYear)
	if err != nil {
		return false
	}
	const half = 183 * 24 * time.Hour
	at := time.Date(when.Year, time.Month(when.Month), when.Day, 0, 0, 0, 0, time.UTC)
	step := at.Sub(d.at)
	turned := d.last && (step < -half || step > half && d.fell)
	if d.last && step != 0 && -half <= step && step <= half {
		d.fell = step < 0
	}
	d.last, d.at = true, at
	return turned
}

// yearAcross asks about a day above the cells with which the year turns.
func (w *wide) yearAcross() {
	if w.Mapping.Wide.Across != FieldDate {
		return
	}
	d := days{}
	for i := range w.spans {
		if s := &w.spans[i]; d.turns(s.above, w.across.order) {
			w.noted[noted{column: w.across.Column.Column, code: NoYear}] = w.Mapping.Year == 0 // one year will not do
			w.yearTurns(Problem{Code: NoYear, Row: w.acrossRow, Column: tables.Column(s.column), Sent: s.said, OfHeadings: true})
			for _, s := range w.spans { // in the wrong year a day may be to come
				w.noted[noted{w.acrossRow, tables.Column(s.column), RefusedByBook}] = true
			}
		}
	}
}

// yearDown asks about a row with whose day the year turns.
func (w *wide) yearDown() {
	c := w.columns[FieldDate]
	if c == nil || c == w.across {
		return
	}
	turns := w.daysDown.turns(strings.TrimPrefix(w.cell(c), "'"), c.order)
	switch {
	case !w.walking:
		w.yearTurnsDown = w.yearTurnsDown || turns
	case w.yearTurnsDown && w.Mapping.Year == 0:
		w.noted[noted{column: c.Column.Column, code: NoYear}] = true // one year will not do
	}
	if turns {
		w.yearTurns(Problem{Code: NoYear, Row: w.row, Column: c.Column.Column, Heading: c.Heading, Sent: w.cell(c)})
	}
}

func (w *wide) yearTurns(p Problem) {
	if !w.walking {
		return
	}
	p.Field = FieldDate
	p.Message = message.F("The year seems to turn here, and dates without a year are all said to be of %s. Write the year into the dates.", strconv.Itoa(w.Mapping.Year))
	if w.Mapping.Year == 0 {
		p.Code, p.Message = NoDate, message.F("The year seems to turn here, and the dates have none. Write the year into them.") // no one year is asked for
	}
	w.add(p)
}
