package importing

import (
	"strconv"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// turning is what a column's real dates say of having been turned round. A program that
// expects the month first makes 7 June of 06/07, typed for 6 July, and leaves 13/07 the
// text that it is.
type turning struct {
	// either counts real dates that are days of both orders, other those that are not.
	either, other int
	// first, cell and date are of the first of either.
	first Problem
	cell  string
	date  tables.When
}

// realDate is the date that a cell holds as a date and not as a text: a day's number in a
// workbook, or one with the year first.
func realDate(cell string, t *tables.Table) (w tables.When, is bool) {
	if isReal(cell) {
		w, err := tables.ParseDate(cell, tables.OrderUnknown, 0)
		return w, err == nil
	}
	serial, err := strconv.ParseFloat(cell, 64)
	if err != nil || !t.Serials {
		return w, false
	}
	return tables.FromSerial(serial, t.Epoch1904)
}

// isReal reports whether a text has the year first, with marks between, as programs write
// real dates.
func isReal(text string) bool {
	const yearAndMark = 5
	return len(text) > yearAndMark && (text[4] == '-' || text[4] == '/' || text[4] == '.') && tables.IsPlain(text[:4])
}

func (t *turning) note(at Problem, cell string, table *tables.Table) {
	w, is := realDate(cell, table)
	switch {
	case !is || w.Day == w.Month:
	case w.Day > 12:
		t.other++
	default:
		if t.either++; t.either == 1 {
			t.first, t.cell, t.date = at, cell, w
		}
	}
}

// askTurned asks whether a column's real dates were turned round, where its texts all have
// days that are no months: a program would have left just those.
func (k *taking) askTurned(p *profiled) {
	proven := p.orders.Order()
	if proven == tables.OrderUnknown || p.turning.either == 0 || p.orders.Open > 0 && p.turning.other > 0 {
		return
	}
	switch k.Mapping.Turned {
	case AsTheyStand:
		return
	case TurnedRound:
		p.column.turned = true
		return
	}
	real := p.turning.date
	round := round(real)
	stands := message.F("day first")
	if proven == tables.MonthFirst {
		stands = message.F("month first")
	}
	k.row = p.turning.first.Row
	k.add(Problem{Code: TurnedDates, Row: p.turning.first.Row, Column: p.turning.first.Column, Heading: p.turning.first.Heading, Field: p.Field, Sent: p.turning.cell, DidYouMean: []string{string(AsTheyStand), string(TurnedRound)},
		Message: message.F("Texts of this column have the %s, and among them stand real dates, of which this is %s. A program that expects the other order turns such dates round: was %s written? Say of all of them whether they are right as they stand or were turned round%s.",
			stands, day(real), day(round), message.Option("turned_dates"))})
}

// round is a date with day and month the other way round.
func round(w tables.When) tables.When {
	w.Day, w.Month = w.Month, w.Day
	return w
}

// aright is a real date with day and month as they were written.
func (c *column) aright(w tables.When, real bool) tables.When {
	if c.turned && real && w.Day <= 12 {
		return round(w)
	}
	return w
}
