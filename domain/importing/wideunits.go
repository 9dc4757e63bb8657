package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// scaleWords say in a title that figures count several at once, in English, Spanish, German, French and
// Portuguese. otherMasses has the tens.
var scaleWords = wordSet("dozen dozens pair pairs docena docenas par pares miles dutzend paar douzaine douzaines paires duzia duzias")

// askOtherUnits asks about the texts of a row that no figure, name or day of it is read from, where one says
// another unit than that of the figures: pounds over kilograms, or from here on.
func (w *wide) askOtherUnits(cells []string) {
	if !w.walking || w.leaveOut[w.row] {
		return
	}
	for i, cell := range cells {
		if cell == "" || startsAsFigure(cell) || !w.isBeside(i) || w.row > w.Mapping.HeadingRow && w.guess.factsOf(cell).cell {
			continue // or what otherRow asks about
		}
		w.askOtherUnit(i, cell)
	}
	for i, remark := range w.table.Remarks[w.row] {
		if at := w.table.RemarkedAt[w.row]; i < len(at) {
			w.askOtherUnit(at[i], remark)
		}
	}
}

// askOtherUnit asks about one such text, which stands in a column of the row at hand.
func (w *wide) askOtherUnit(index int, text string) {
	column := tables.Column(index)
	if w.Mapping.Cells[column+asText(w.row)] == LeftAside {
		w.aside[text] = true
	}
	if w.aside[text] || !w.saysUnitOfOthers(text) {
		return
	}
	var units message.List
	for _, c := range w.figures {
		if c.Unit != "" {
			units = append(units, message.Verbatim(string(c.Unit)))
		}
	}
	p := Problem{Code: WideSheet, Row: w.row, Column: column, Field: FieldCell, Sent: text, DidYouMean: []string{string(LeftAside)},
		Message: message.F("This speaks of another unit than that of the cells. Say the unit of the cells, bring what is in another one in as a sheet of its own, or leave the text aside%s.", message.Option("cells"))}
	if len(units) > 0 {
		p.Message = message.F("This speaks of another unit than that of the cells, which are read in %s. Say their unit, bring what is in another one in as a sheet of its own, or leave the text aside%s.", units, message.Option("cells"))
	}
	w.add(p)
}

// isBeside reports whether nothing is read of a cell but its words: in a row with headings it stands before
// or behind those of the block, and below them in a column that is not read, or is a note.
func (w *wide) isBeside(index int) bool {
	switch {
	case w.row == w.acrossRow || w.row == w.Mapping.HeadingRow:
		return !slices.ContainsFunc(w.block, func(b blockColumn) bool { return b.index == index })
	case w.row < w.Mapping.HeadingRow || index >= len(w.Mapping.Columns):
		return true
	}
	field := w.Mapping.Columns[index].Field
	return field == "" || field == FieldNote
}

// saysUnitOfOthers reports whether a text says a unit in which none of the figures is, and not how much of
// something: 20 lb of sugar.
func (w *wide) saysUnitOfOthers(text string) bool {
	for _, name := range unitsNamed(text, true) {
		unit := Unit(name)
		inUnit, inOther := false, false
		for _, c := range w.figures {
			if c.info.measure.takes(unit) {
				inUnit = inUnit || c.Unit == unit || c.Unit == ""
				inOther = inOther || c.Unit != unit
			}
		}
		below := w.row > w.Mapping.HeadingRow
		if !inUnit && (inOther || below && slices.ContainsFunc(cellsOf[w.Mapping.Of], func(f Field) bool { return infoOf(w.Mapping.Of, f).measure.takes(unit) })) {
			return true
		}
	}
	words := strings.Fields(spelling.Plain(text))
	for i, word := range words {
		if (scaleWords[word] || otherMasses[word]) && w.row <= w.Mapping.HeadingRow && !saysEach(words, i) {
			return true
		}
	}
	return false
}
