package importing

import (
	"slices"
	"strconv"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// numberedDays is the column before others with the numbers of the days of a month, where a row above, or
// its own heading, says which: 5 and 6 below July 2026. It is -1 where there is none.
func (g *guess) numberedDays(row int) int {
	at := g.columnBelow(row, len(g.rows[row]), isDayNumber)
	if at < 0 {
		return -1
	}
	heading := cellAt(g.rows[row], at)
	if isMonth(heading) {
		return at
	}
	f := g.named(wordsOf(heading), nil)
	if isDate := f != nil && f.field == FieldDate; heading != "" && !isDate || !g.monthAbove(row) {
		return -1
	}
	return at
}

// numbering follows the numbers of days below or behind a month: after its last day the next one begins.
type numbering struct {
	month string
	last  int
	ahead int // by how many months those are later
}

// day is the day that a number stands for; ok is false where it may be of this month or of the next.
func (n *numbering) day(month, number string) (text string, ok bool) {
	if n.month != month {
		*n = numbering{month: month}
	}
	day, _ := strconv.Atoi(number)
	at := monthAfter(month, n.ahead)
	switch end := lastDayOf(at); {
	case day >= n.last:
	case day == 1 && n.last >= end:
		n.ahead++
		at = monthAfter(month, n.ahead)
	default:
		ok = !mayGoOn(n.last, day)
		n.last = day
		return dayOfMonth(at, day), ok
	}
	n.last = day
	return dayOfMonth(at, day), true
}

// mayGoOn reports whether a number behind another one may be a day of the next month.
func mayGoOn(last, day int) bool {
	const late, early = 21, 10
	return last >= late && day <= early
}

// lastDayOf is the last day that a month can have.
func lastDayOf(month string) int {
	for day := lastDay; ; day-- {
		if _, err := tables.ParseDate(dayOfMonth(month, day), tables.DayFirst, anyYear); err == nil || day == 1 {
			return day
		}
	}
}

// monthAfter is a month so many months later, with its year where the first one says that.
func monthAfter(month string, ahead int) string {
	if ahead == 0 {
		return month
	}
	names := [...]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}
	when, err := tables.ParseDate(dayOfMonth(month, 1), tables.DayFirst, anyYear)
	if err != nil {
		return month
	}
	n := when.Month - 1 + ahead
	if _, err := tables.ParseDate(dayOfMonth(month, 1), tables.DayFirst, 0); err != nil { // it has no year
		return names[n%len(names)]
	}
	return names[n%len(names)] + " " + strconv.Itoa(when.Year+n/len(names))
}

// dayBeside puts the day that a number stands for into a row whose days are numbers below a month.
func (w *wide) dayBeside() {
	w.dayTyped = ""
	c := w.columns[FieldDate]
	if w.Mapping.Wide.Across == FieldDate || c == nil || c.index < 0 || c.index >= len(w.Mapping.Columns) {
		return
	}
	number := w.cell(c)
	if !w.walking && w.guess.isDay(number) {
		w.wholeDays = true
	}
	if w.month == "" || w.wholeDays || !isDayNumber(number) {
		return
	}
	text, ok := w.numbers.day(w.month, number)
	if !ok && w.walking {
		w.add(Problem{Code: NoDate, Row: w.row, Column: c.Column.Column, Heading: c.Heading, Field: FieldDate, Sent: number,
			Message: message.F("This can be a day of %s, or of the month after it: write the day in full, such as 2026-07-06.", message.Quoted(w.month))})
	}
	w.dayTyped, w.parted[c.index] = number, text
}

// monthInCorner takes up a month that heads the numbers of its days.
func (w *wide) monthInCorner(cells []string) {
	c := w.columns[FieldDate]
	if w.Mapping.Wide.Across == FieldDate || c == nil || c.index < 0 {
		return
	}
	if cell := cellAt(cells, c.index); isMonth(cell) && !slices.ContainsFunc(w.block, func(b blockColumn) bool { return b.index == c.index }) {
		w.month, w.monthIsNew = cell, false
	}
}
