package importing

import (
	"math"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// figuredBlock is what stands with the names of a block, as far as it takes to see which of them are
// sums of others: a line for each row, with a figure for each column of each span.
type figuredBlock struct {
	lines [][]float64
	rows  []figuredRow
}

// figuredRow is a row, and the name or day that it is of.
type figuredRow struct {
	row  int
	name string
}

// noteFigures takes up the figures of a row.
func (w *wide) noteFigures(cells []string) {
	const mostRows, most = 200, 1 << 17
	width := len(w.spans) * len(w.figures)
	w.lastFigured = w.row
	if !w.walking || len(w.figured.lines) == mostRows || (len(w.figured.lines)+1)*width > most {
		return
	}
	line := make([]float64, width)
	for i := range line {
		line[i] = math.NaN()
	}
	for i, s := range w.spans {
		for _, b := range s.columns {
			f, err := tables.ParseFigure(cellAt(cells, b.index), w.figures[b.figure].mark)
			if err == nil && !f.LessThan {
				line[i*len(w.figures)+b.figure] = f.Value
			}
		}
	}
	w.figured.lines = append(w.figured.lines, line)
	w.figured.rows = append(w.figured.rows, figuredRow{w.row, strings.Clone(w.whoseRow())})
}

// whoseRow is the name that the row at hand is of where days run across; empty in other sheets.
func (w *wide) whoseRow() string {
	if c := w.nameBeside(); c != nil {
		return w.cell(c)
	}
	return ""
}

// nameBeside is the column with the names of rows where days run across.
func (w *wide) nameBeside() *column {
	if w.Mapping.Wide.Across != FieldDate {
		return nil
	}
	for _, field := range across[w.Mapping.Of] {
		if c := w.columns[field]; c != nil && field != FieldDate && c.index >= 0 {
			return c
		}
	}
	return nil
}

// askSums asks about the names whose figures come of those of others: one that nobody knows and that
// is to be set up with all the others may be what some yards come to, East or Target.
func (w *wide) askSums() {
	block := w.figured
	w.figured = figuredBlock{}
	names := max(len(w.spans), len(block.rows))
	w.looked += names * names * len(block.lines)
	const mostNames, mostLooked = 300, 1 << 25
	switch beside := w.nameBeside(); {
	case len(block.lines) == 0 || names > mostNames || w.looked > mostLooked: // no honey house has as many
	case beside != nil:
		free := make([]bool, len(block.rows))
		for i, r := range block.rows {
			free[i] = r.name != "" && !w.isMeant(beside, r.name)
			if free[i] && saysReckoned(r.name) { // of which it is asked
				free[i], block.lines[i] = false, nil
			}
		}
		for _, found := range reckoned(block.lines, free) {
			r := block.rows[found.at]
			var of message.List
			for _, i := range found.of {
				of = w.some(of, block.rows[i].name)
			}
			w.noteOf(Problem{Code: LooksLikeSum, Row: r.row, Column: beside.Column.Column, Heading: beside.Heading, Field: beside.Field, Sent: r.name,
				Message: message.F("The figures of this row are %s of those of %s. Leave the row out%s, or say that this is a name of its own%s.", found.how, of, message.Option("leave_out_rows"), message.Option("create"))})
		}
	case w.Mapping.Wide.Across != FieldDate:
		w.askColumnSums(&block)
		w.askLastRow(&block)
	}
}

// askLastRow asks about the last row of a block that has a day, and the sums of all those above it.
func (w *wide) askLastRow(block *figuredBlock) {
	const tried = 10
	last := len(block.lines) - 1
	row := block.rows[last].row
	above := make([]int, last)
	for i := range above {
		above[i] = i
	}
	if _, said := w.Mapping.Rows[row]; said || row != w.lastFigured || !sumOf.agrees(block.lines, last, above, tried) {
		return
	}
	w.noteOf(Problem{Code: LooksLikeSum, Row: row, Field: FieldDate, Sent: block.rows[last].name, DidYouMean: []string{string(Another), string(LeftAside)},
		Message: message.F("The figures of this row are the sums of those above it, and it has a day of its own. Is it their total, to be left out, or another row%s?", message.Option("rows: leave_out or another"))})
}

// askColumnSums is askSums of the names that run across.
func (w *wide) askColumnSums(block *figuredBlock) {
	lines, free := make([][]float64, len(w.spans)), make([]bool, len(w.spans))
	for i, s := range w.spans {
		free[i] = s.above != "" && !w.isMeant(w.acrossOf(s.above), s.above)
		if free[i] && saysReckoned(s.above) { // of which it is asked
			free[i] = false
			continue
		}
		for _, line := range block.lines {
			lines[i] = append(lines[i], line[i*len(w.figures):(i+1)*len(w.figures)]...)
		}
	}
	for _, found := range reckoned(lines, free) {
		s := &w.spans[found.at]
		var of message.List
		for _, i := range found.of {
			of = w.some(of, w.spans[i].above)
		}
		w.noteOf(Problem{Code: LooksLikeSum, Row: w.acrossRow, Column: tables.Column(s.column), Field: w.Mapping.Wide.Across, Sent: s.above, OfHeadings: true,
			Message: message.F("The figures of this column are %s of those of %s. Do not read it, or say that this is a name of its own%s.", found.how, of, message.Option("create"))})
	}
}

// some adds a name to a list of which the first are said.
func (w *wide) some(list message.List, name string) message.List {
	const few = 5
	switch {
	case len(list) == few:
		return append(list, message.Verbatim("…"))
	case len(list) > few:
		return list
	}
	return append(list, message.Verbatim(clip(name)))
}

// isMeant reports whether the outfit has a name, or somebody said of it alone what it is.
func (w *wide) isMeant(c *column, name string) bool {
	noun := c.info.noun
	if id, known := w.book.Names(kindOf[noun], sameName(name)); known {
		e, _ := w.book.Entry(id)
		if e == nil || e.Number <= w.known { // else the sheet sets it up
			return true
		}
	}
	_, said := w.choice(noun, name)
	return said
}
