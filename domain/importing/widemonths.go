package importing

import (
	"strconv"

	"pullbook/domain/tables"
)

// monthDays finds the numbers of days below months that stand side by side: in the row below
// them, or each behind its own month. It takes them only where they can be nothing else: the
// months go up, and in each the days do, and it has them, and some month has several.
func (g *guess) monthDays(row int) (l layout, known int) {
	const fewest, side = 3, 2
	if !g.mayRun(FieldDate) || across[g.Of] == nil {
		return l, 0
	}
	var months []monthAt
	for i, cell := range g.rows[row] {
		if g.factsOf(cell).month {
			months = append(months, monthAt{i, cell})
		}
	}
	if len(months) < side || !monthsGoUp(months) {
		return l, 0
	}
	l = layout{across: FieldDate, row: row}
	if below := row + 1; below < len(g.rows) && g.isMonthRow(row, months[0].column) && g.headsDayNumbers(below, months[0].column) {
		l.row = below
	}
	month, last, filled := -1, 0, 0
	for i, cell := range g.rows[l.row] {
		if month+1 < len(months) && months[month+1].column == i {
			if month, last = month+1, 0; l.row == row {
				if all, _ := g.below(row, i); all > 0 {
					return l, 0 // figures below the month itself: of which day?
				}
				continue
			}
		}
		if month < 0 || cell == "" || tables.IsTotal(cell) {
			continue
		}
		day, err := strconv.Atoi(cell)
		text := dayOfMonth(months[month].said, day)
		if _, wrong := tables.ParseDate(text, tables.DayFirst, anyYear); err != nil || wrong != nil || day <= last {
			return l, 0
		}
		all, figures := g.below(l.row, i)
		if last = day; figures {
			filled++
		} else if all > 0 {
			return l, 0
		}
		l.block = append(l.block, blockHead{column: i, under: text})
	}
	if filled == 0 || len(l.block) < fewest || len(l.block) <= len(months) || g.nameColumn(l.row, l.block[0].column) < 0 {
		return l, 0
	}
	return l, len(l.block)
}

// monthAt is a month and the column above which it stands.
type monthAt struct {
	column int
	said   string
}

// monthsGoUp reports whether each month is later than the one before.
func monthsGoUp(months []monthAt) bool {
	const inYear = 12
	last := 0
	for _, m := range months {
		w, err := tables.ParseDate(dayOfMonth(m.said, 1), tables.DayFirst, anyYear)
		if n := w.Year*inYear + w.Month; err != nil || n <= last {
			return false
		} else {
			last = n
		}
	}
	return true
}

// isMonthRow reports whether a row has months alone from a column on.
func (g *guess) isMonthRow(row, first int) bool {
	for i, cell := range g.rows[row] {
		if i >= first && cell != "" && !g.factsOf(cell).month {
			return false
		}
	}
	return true
}

// headsDayNumbers reports whether a row has numbers of days from a column on, and before it
// headings or nothing: no row of a yard has that.
func (g *guess) headsDayNumbers(row, first int) bool {
	numbers := 0
	for i, cell := range g.rows[row] {
		switch {
		case cell == "" || tables.IsTotal(cell):
		case i < first && (!g.isHeading(cell) || g.isName(cell)), i >= first && !isDayNumber(cell):
			return false
		case i >= first:
			numbers++
		}
	}
	return numbers > 0
}
