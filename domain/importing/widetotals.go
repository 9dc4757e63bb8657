package importing

import (
	"math"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// totalColumn is a column that says what the cells of its row come to.
type totalColumn struct {
	*Column
	index, figure int
}

// addTotals finds the columns of totals that are not read: what they say is held against the
// cells. A column that was missed, or a mark that was misread, shows there.
func (w *wide) addTotals() {
	for i := range w.Mapping.Columns {
		c := &w.Mapping.Columns[i]
		word, rest, _ := strings.Cut(c.Heading, " ")
		if c.Field != "" || !sumWords[strings.ToLower(strings.Trim(word, ":.="))] {
			continue
		}
		t := totalColumn{c, i, 0}
		if len(w.figures) > 1 {
			field, of, unit := w.guess.cellWord(rest)
			t.figure = -1
			for n, f := range w.figures {
				if field != "" && f.isOf(field, of, unit) {
					t.figure = n
				}
			}
		}
		if t.figure >= 0 {
			w.totals = append(w.totals, t)
		}
	}
}

// sumWords are headings of sums, and not of means; common practice.
var sumWords = map[string]bool{"total": true, "totals": true, "sum": true, "sums": true, "suma": true, "totales": true}

// otherTotal asks about a total that its row's cells do not come to.
func (w *wide) otherTotal(cells []string) {
	for _, t := range w.totals {
		text := cellAt(cells, t.index)
		said, err := tables.ParseFigure(text, w.figures[t.figure].mark)
		sum, ok := w.rowSum(cells, t.figure)
		const rounded = 0.005 // of what was weighed to half a kilogram, say
		if !w.walking || err != nil || !ok || math.Abs(said.Value-sum) <= rounded*math.Abs(said.Value) || w.Mapping.Cells[t.Column.Column+asText(w.row)] == LeftAside {
			continue
		}
		w.add(Problem{Code: OtherTotal, Row: w.row, Column: t.Column.Column, Heading: t.Heading, Sent: text, DidYouMean: []string{string(LeftAside)},
			Message: message.F("This total says %s, and the cells of its row come to %s: put right which one is wrong, or leave the total out%s.", message.Figure(said.Value), message.Figure(sum), message.Option("cells"))})
	}
}

// rowSum is what the cells of a row come to; ok is false where one of them cannot be read, which
// is asked about anyway.
func (w *wide) rowSum(cells []string, figure int) (sum float64, ok bool) {
	for _, s := range w.spans {
		for _, b := range s.columns {
			text := cellAt(cells, b.index)
			if b.figure != figure || tables.Missing(text) {
				continue
			}
			f, err := tables.ParseFigure(text, w.figures[figure].mark)
			if err != nil {
				return 0, false
			}
			sum += f.Value
		}
	}
	return sum, true
}
