package importing

import (
	"math"
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// totalColumn is a column that says what the cells of its row come to.
type totalColumn struct {
	*Column
	index  int
	figure int    // -1 for all of them
	of     string // the name or day of which it is; empty where it is of all
	part   bool   // it says that it is of some
}

// addTotals finds the columns of totals that are not read: what they say is held against the
// cells. A column that was missed, or a mark that was misread, shows there.
func (w *wide) addTotals() {
	for i := range w.Mapping.Columns {
		c := &w.Mapping.Columns[i]
		rest, is := totalOf(c.Heading)
		if c.Field != "" || !is {
			continue
		}
		t := totalColumn{c, i, -1, "", saysPart(c.Heading)}
		switch figure, is := w.figureSaid(rest); {
		case is:
			t.figure = figure
		case rest != "" && w.isAbove(rest):
			t.of = sameName(rest)
		case w.saysOther(rest):
			continue
		}
		if t.figure >= 0 || !slices.ContainsFunc(w.figures, func(f *column) bool { return f.Field != w.figures[0].Field }) {
			w.totals = append(w.totals, t)
		}
	}
}

// totalOf is what a heading of sums says beside that: Total kg, Mill total, Grand total. is is false
// for other headings, and for those of means.
func totalOf(text string) (rest string, is bool) {
	for _, word := range strings.Fields(text) {
		plain := spelling.Plain(word)
		switch {
		case sumWords[plain]:
			is = true
		case !idleInTotals[plain] && !fourDigits.MatchString(word) && strings.Trim(word, "0123456789:.=-–") != "":
			rest = strings.TrimSpace(rest + " " + word)
		}
	}
	return rest, is
}

// sumWords are words of sums, and not of means, in English, Spanish, German, French and Portuguese;
// idleInTotals say nothing beside them. Common practice.
var (
	sumWords     = wordSet("total totals sum sums subtotal suma totales summe gesamt insgesamt zwischensumme somme totaux soma totais")
	idleInTotals = wordSet("grand general all of for the de del la el los las do da des und y and season temporada year ano")
)

// figureSaid is the figure that a few words say; is is false where they say none that the cells hold.
func (w *wide) figureSaid(words string) (figure int, is bool) {
	field, of, unit := w.guess.cellWord(words)
	if field == "" {
		return 0, false
	}
	figure = slices.IndexFunc(w.figures, func(c *column) bool { return c.isOf(field, of, unit) })
	return figure, figure >= 0
}

// isAbove reports whether a name stands above cells by the headings of the mapping.
func (w *wide) isAbove(name string) bool {
	return slices.ContainsFunc(w.block, func(b blockColumn) bool {
		return sameName(b.under) == sameName(name) || sameName(w.Mapping.Columns[b.index].Heading) == sameName(name)
	})
}

// otherTotal asks about a total that its row's cells do not come to.
func (w *wide) otherTotal(cells []string) {
	before := 0 // from which column on no total counts
	for _, t := range w.totals {
		text := cellAt(cells, t.index)
		mark := w.figures[max(t.figure, 0)].mark
		said, err := tables.ParseFigure(text, mark)
		sum, ok := w.rowSum(cells, &t, -1)
		part, _ := w.rowSum(cells, &t, before)
		before = t.index
		if !w.walking || err != nil || !ok || isTotalOf(said.Value, sum) || t.of == "" && isTotalOf(said.Value, part) || w.Mapping.Cells[t.Column.Column+asText(w.row)] == LeftAside {
			continue
		}
		if t.part {
			sum = part
		}
		w.add(Problem{Code: OtherTotal, Row: w.row, Column: t.Column.Column, Heading: t.Heading, Sent: text, DidYouMean: []string{string(LeftAside)},
			Message: message.F("This total says %s, and the cells of its row come to %s: put right which one is wrong, or leave the total out%s.", message.Figure(said.Value), message.Figure(sum), message.Option("cells"))})
	}
}

// isTotalOf reports whether a total is what cells come to, as far as these may be rounded: of what was
// weighed to half a kilogram, say.
func isTotalOf(said, sum float64) bool { return math.Abs(said-sum) <= 0.005*math.Abs(said)+1e-9 }

// rowSum is what those cells of a row come to that a total is of: of all columns, or from one on as far as
// the total itself, where that is 0 or more. ok is false where one of them cannot be read, which is asked about anyway.
func (w *wide) rowSum(cells []string, t *totalColumn, from int) (sum float64, ok bool) {
	for _, s := range w.spans {
		if t.of != "" && sameName(s.above) != t.of && sameName(s.said) != t.of {
			continue
		}
		for _, b := range s.columns {
			text := cellAt(cells, b.index)
			if t.figure >= 0 && b.figure != t.figure || from >= 0 && (b.index < from || b.index > t.index) || tables.Missing(text) {
				continue
			}
			f, err := tables.ParseFigure(text, w.figures[b.figure].mark)
			if err != nil {
				return 0, false
			}
			sum += f.Value
		}
	}
	return sum, true
}

// columnSums adds up what stands in the columns of the block: since the headings, since the last row of
// totals, and in all blocks. A figure that cannot be read makes what it belongs to none.
type columnSums struct {
	block, part, all []float64
	rows             int
	// above are rows of totals that stand above what they sum up.
	above []totalRow
}

type totalRow struct {
	row   int
	cells []string
	part  bool // it says that it is of some
}

// saysPart reports whether a text says that a total is of some alone.
func saysPart(text string) bool {
	plain := spelling.Plain(text)
	return strings.Contains(plain, "subtotal") || strings.Contains(plain, "zwischen")
}

func (s *columnSums) add(column int, value float64) {
	s.block[column] += value
	s.part[column] += value
	s.all[column] += value
}

// sum adds a row up.
func (w *wide) sum(cells []string) {
	w.sums.rows++
	for i, b := range w.block {
		text := cellAt(cells, b.index)
		if tables.Missing(text) {
			continue
		}
		f, err := tables.ParseFigure(text, w.figures[b.figure].mark)
		if err != nil {
			f.Value = math.NaN()
		}
		w.sums.add(i, f.Value)
	}
}

// otherSums asks about a row of totals that the cells above it, or those below it, do not come to.
func (w *wide) otherSums(cells []string) {
	if !w.walking || !w.saysSum(cells) {
		return
	}
	t := totalRow{w.row, cells, slices.ContainsFunc(cells, saysPart)}
	const mostAbove = 20
	if w.otherTotal(cells); w.sums.rows == 0 && len(w.sums.above) < mostAbove {
		t.cells = slices.Clone(cells)
		w.sums.above = append(w.sums.above, t)
		return
	}
	w.compare(t)
	clear(w.sums.part)
}

// saysSum reports whether a row says in a word that it is of sums, of the figures that the cells are.
func (w *wide) saysSum(cells []string) bool {
	for i, cell := range cells {
		if cell == "" || slices.ContainsFunc(w.block, func(b blockColumn) bool { return b.index == i }) {
			continue
		}
		if rest, is := totalOf(cell); is {
			return !w.saysOther(rest)
		}
	}
	return false
}

// compare holds a row of totals against what the cells of each column come to.
func (w *wide) compare(t totalRow) {
	for i, b := range w.block {
		text := cellAt(t.cells, b.index)
		said, err := tables.ParseFigure(text, w.figures[b.figure].mark)
		sum, name := w.sums.block[i], tables.Column(b.index)
		if err != nil || tables.Missing(text) || math.IsNaN(sum) || isTotalOf(said.Value, sum) || isTotalOf(said.Value, w.sums.part[i]) || isTotalOf(said.Value, w.sums.all[i]) || w.Mapping.Cells[name+asText(t.row)] == LeftAside {
			continue
		}
		switch {
		case t.part:
			sum = w.sums.part[i]
		case w.sums.part[i] == 0 && !math.IsNaN(w.sums.all[i]): // it follows the total of its own block
			sum = w.sums.all[i]
		}
		w.add(Problem{Code: OtherTotal, Row: t.row, Column: name, Heading: w.Mapping.Columns[b.index].Heading, Sent: text, DidYouMean: []string{string(LeftAside)},
			Message: message.F("This total says %s, and the cells of its column come to %s: put right which one is wrong, or leave the total out%s.", message.Figure(said.Value), message.Figure(sum), message.Option("cells"))})
	}
}

// endBlock holds the totals that stand above a block against it, and asks for names that are sums.
func (w *wide) endBlock() {
	for _, t := range w.sums.above {
		w.compare(t)
	}
	w.askSums()
	w.sums.above, w.sums.rows = nil, 0
	clear(w.sums.block)
	clear(w.sums.part)
}
