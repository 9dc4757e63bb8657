package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
)

// strangeColumns are the columns that are not read and stand among those of the block, or next to them, of
// which no word of their headings says that they hold something else: a month in a language that the
// program does not know, a kind of box that the outfit does not have.
func (w *wide) strangeColumns() (out []int) {
	columns := w.Mapping.Columns
	inBlock := map[int]bool{}
	for _, b := range w.block {
		inBlock[b.index] = true
	}
	first, last := w.block[0].index, w.block[len(w.block)-1].index
	for first > 0 && w.isStrange(&columns[first-1]) {
		first--
	}
	for last < len(columns)-1 && w.isStrange(&columns[last+1]) {
		last++
	}
	for i := first; i <= last; i++ {
		if !inBlock[i] && w.isStrange(&columns[i]) {
			out = append(out, i)
		}
	}
	return out
}

// isStrange reports whether nothing says what a column holds.
func (w *wide) isStrange(c *Column) bool {
	if c.Field != "" || c.Heading == "" || w.Mapping.Cells[c.Column+asText(w.headingRow())] == LeftAside {
		return false
	}
	if _, is := totalOf(c.Heading); is || saysReckoned(c.Heading) || w.guess.isHeading(c.Heading) {
		return false
	}
	return !slices.ContainsFunc(strings.Fields(spelling.Plain(c.Heading)), func(word string) bool {
		return notNames[word] || otherwise[word] || besideWords[word] || figureNamed(word) != ""
	})
}

// besideWords head figures beside the cells that are none of them; common practice.
var besideWords = wordSet(`truck trailer load loads route area zone code id ref page row line crew people staff trip trips pickup
	camion viaje viajes ruta zona codigo fila linea pagina gente personas elevation altitude wind humidity sun humedad viento altitud sol
	mileage odometer distance start end from to hour hora time min minutes minutos day days dia dias`)

// headingRow is the row in which what runs across stands.
func (w *wide) headingRow() int {
	if row := w.Mapping.Wide.Row; row != 0 {
		return row
	}
	return w.Mapping.HeadingRow
}

// askStrange asks about figures of a row in such columns, once for each.
func (w *wide) askStrange(cells []string) {
	if !w.walking {
		return
	}
	for _, i := range w.strange {
		c, cell := &w.Mapping.Columns[i], cellAt(cells, i)
		key := noted{column: c.Column, code: MissingField}
		if w.noted[key] || !startsAsFigure(cell) || w.guess.isDay(cell) {
			continue
		}
		w.noted[key] = true
		w.add(Problem{Code: WideSheet, Row: w.headingRow(), Column: c.Column, Heading: c.Heading, Field: FieldCell, Sent: c.Heading, DidYouMean: []string{string(LeftAside)}, OfHeadings: true,
			Message: message.F("Figures stand below %s, beside those that are read, and this column is not read. Say what it holds, or leave it aside%s.", message.Quoted(c.Heading), message.Option("cells"))})
	}
}
