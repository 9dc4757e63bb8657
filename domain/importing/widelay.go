package importing

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"pullbook/domain/tables"
)

// lay makes a layout the mapping, where there is a column for the rest of what each row
// needs; else it reports false and changes nothing.
func (g *guess) lay(l layout) bool {
	width := 0
	for _, cells := range g.rows {
		width = max(width, len(cells))
	}
	columns := make([]Column, width)
	for i := range columns {
		columns[i] = Column{Column: tables.Column(i), Heading: cellAt(g.rows[l.row], i)}
	}
	m := g.Mapping
	m.Wide, m.HeadingRow, m.Columns = &Wide{Across: l.across}, g.numbers[l.row], columns
	g.first = l.row + 1
	block := g.twoRows(&l, columns)
	if block != nil {
		m.Wide.Row, m.HeadingRow = m.HeadingRow, g.numbers[l.row+1]
		g.first++
	} else {
		block = g.unheaded(l, g.wordsAbove(l))
	}
	cells := false
	for _, b := range block {
		c := &columns[b.column]
		c.Field, c.Of, c.Unit, c.Under, c.From = b.field, b.of, b.unit, b.under, "heading"
		if b.field == "" {
			c.Field = FieldCell
			cells = true
		}
	}
	if cells {
		g.whatCells(&l, m.Wide, block)
	}
	if !g.beside(l, columns) {
		return false
	}
	g.Mapping = m
	return true
}

// twoRows are the columns where the row below what runs across says what each of them
// holds; nil where it does not.
func (g *guess) twoRows(l *layout, columns []Column) (block []blockHead) {
	if l.row+1 >= len(g.rows) {
		return nil
	}
	above, below := g.rows[l.row], g.rows[l.row+1]
	over, words := "", false
	var headings []string
	for i := l.block[0].column; i < len(columns); i++ {
		if text := cellAt(above, i); text != "" {
			if over = text; g.isHeading(text) {
				over = "" // of a column of its own
			}
		}
		word := cellAt(below, i)
		field, of, unit := g.cellWord(word)
		if f := g.named(wordsOf(word), nil); field == "" && words && f != nil && f.field == FieldSampleC {
			field = f.field // of the refractometer's figure beside it
			unit, _ = unitOf(wordsOf(word), f.measure)
		}
		_, figures := g.below(l.row+1, i)
		switch {
		case field == "" && isFigure(word):
			return nil
		case over == "" || tables.IsTotal(over):
		case field != "" || word == "" && figures: // of which it is asked what it holds
			block = append(block, blockHead{column: i, field: field, of: of, unit: unit})
			words = words || field != ""
		}
		headings = append(headings, strings.TrimSpace(cmp.Or(over, cellAt(above, i))+" "+word))
	}
	if !words {
		return nil
	}
	for i := range columns {
		if first := l.block[0].column; i >= first {
			columns[i].Heading = headings[i-first]
		} else if columns[i].Heading == "" {
			columns[i].Heading = cellAt(below, i)
		}
	}
	return block
}

// wordsAbove says what the columns hold, where the row above what runs across does, and in
// more than one way; nil where it does not. The first of them may stand at the left of all.
func (g *guess) wordsAbove(l layout) (heads map[int]blockHead) {
	if l.row == 0 {
		return nil
	}
	var said blockHead
	kinds := map[Field]map[string]bool{}
	heads = map[int]blockHead{}
	last := l.block[len(l.block)-1].column
	for i := range last + 1 {
		if word := cellAt(g.rows[l.row-1], i); word != "" {
			if said = g.cellTitle(word); said.field == "" && i < l.block[0].column {
				continue
			} else if said.field == "" {
				return nil
			}
			if kinds[said.field] == nil {
				kinds[said.field] = map[string]bool{}
			}
			kinds[said.field][said.of] = true
		}
		heads[i] = said
	}
	if n := len(kinds[FieldSupers]); len(kinds) < 2 && n < 2 {
		return nil
	}
	return heads
}

// cellTitle is what a title above several columns says that they hold: kg, Boxes 2026.
func (g *guess) cellTitle(text string) (head blockHead) {
	if head.field, head.of, head.unit = g.cellWord(text); head.field != "" {
		return head
	}
	if all := g.cellWords(text); len(all) == 1 {
		return all[0]
	}
	return blockHead{}
}

// unheaded are the columns of a block whose headings stand in one row, and those among and
// behind them that have figures and no heading, where these are no sums: they are asked about.
func (g *guess) unheaded(l layout, heads map[int]blockHead) (block []blockHead) {
	for i := l.block[0].column; i < g.width(); i++ {
		at := slices.IndexFunc(l.block, func(b blockHead) bool { return b.column == i })
		switch {
		case at >= 0:
			b := l.block[at]
			if said := heads[i]; said.field != "" && b.field == "" {
				b.field, b.of, b.unit = said.field, said.of, said.unit
			}
			block = append(block, b)
		case g.table.Separator != 0 && i >= len(g.rows[l.row]): // the row is longer than its headings
		case cellAt(g.rows[l.row], i) == "" && !g.sumsAcross(l, i):
			if _, figures := g.below(l.row, i); figures {
				block = append(block, blockHead{column: i})
			}
		}
	}
	return block
}

func (g *guess) width() (n int) {
	for _, cells := range g.rows {
		n = max(n, len(cells))
	}
	return n
}

// sumsAcross reports whether the figures of a column are the sums of those of the block to
// the left of it.
func (g *guess) sumsAcross(l layout, column int) bool {
	for _, cells := range g.rows[l.row+1:] {
		total, err := tables.ParseFigure(cellAt(cells, column), tables.MarkUnknown)
		if err != nil {
			continue
		}
		sum := 0.
		for _, b := range l.block {
			if f, err := tables.ParseFigure(cellAt(cells, b.column), tables.MarkUnknown); err == nil && b.column < column {
				sum += f.Value
			}
		}
		if math.Abs(sum-total.Value) > 0.005*math.Abs(total.Value) {
			return false
		}
	}
	return true
}

// whatCells finds what the cells are: from the texts above them and the sheet's name, from
// what stands behind the figures, or from the figures themselves. It leaves open what can be
// two things.
func (g *guess) whatCells(l *layout, w *Wide, block []blockHead) {
	texts := []string{g.table.Name}
	for _, cells := range g.rows[:l.row] {
		texts = append(texts, cells...)
	}
	for i, cell := range g.rows[l.row] {
		if !slices.ContainsFunc(block, func(b blockHead) bool { return b.column == i }) && i < block[0].column {
			texts = append(texts, cell)
		}
	}
	said := map[Field]blockHead{}
	for _, text := range texts {
		for _, b := range g.cellWords(text) {
			had, is := said[b.field]
			switch {
			case is && (b.of == "" || had.two):
				continue
			case is && had.of != "" && sameName(had.of) != sameName(b.of), is && had.unit != "" && b.unit != "" && had.unit != b.unit:
				b.of, b.unit, b.two = "", "", true
			}
			said[b.field] = b
		}
	}
	if len(said) == 0 {
		said = g.behindCells(block)
	}
	if len(said) == 0 && g.Of == TemperatureLogs {
		said[FieldTemperature] = blockHead{field: FieldTemperature, unit: degreesIn(texts)}
	}
	if len(said) == 0 && g.Of == Readings && !slices.ContainsFunc(block, func(b blockHead) bool { return !g.most(b.column, isMoisture) }) {
		said[FieldMoisture] = blockHead{field: FieldMoisture}
	}
	for field, b := range said {
		if len(said) == 1 {
			w.Cells, w.Of, w.Unit = field, b.of, b.unit
		}
	}
}

// saysPlainly reports whether a text has a unit in more than a letter, with its sign or in
// brackets: what a letter alone stands for is as often a name.
func saysPlainly(text string, unit Unit) bool {
	for _, word := range strings.Fields(strings.ToLower(text)) {
		bare := strings.Trim(word, "()[].,:;")
		if unitWords[bare] == unit && (len(bare) > 1 || strings.ContainsAny(word, "([")) {
			return true
		}
	}
	return false
}

// degreesIn is the unit of temperatures that texts name with its sign; empty where they name
// none, or both.
func degreesIn(texts []string) (unit Unit) {
	for _, text := range texts {
		for _, word := range strings.Fields(strings.ToLower(text)) {
			word = strings.Trim(word, "()[].,:;")
			u, known := unitWords[word]
			if !known || !temperatures.takes(u) || len(word) == 1 {
				continue // a letter alone is as often a name
			}
			if unit != "" && unit != u {
				return ""
			}
			unit = u
		}
	}
	return unit
}

// cellWords is what the words of a title say that figures are.
func (g *guess) cellWords(text string) (out []blockHead) {
	words := wordsOf(text)
	if titledOtherwise(text) {
		return nil
	}
	for from := 0; from < len(words); from++ {
		const longest = 3
		for to := min(len(words), from+longest); to > from; to-- {
			field, of, unit := g.cellWord(strings.Join(words[from:to], " "))
			if field == "" {
				field, of, unit = g.cellWord(strings.TrimSuffix(strings.Join(words[from:to], " "), "s"))
			}
			// A unit alone may be that of anything, and a kind of box alone a name: Deep Creek.
			if alone := to-from == 1 && len(words) > 1; field != "" && !(alone && (unit != "" || of != "")) {
				out = append(out, blockHead{field: field, of: of, unit: unit})
				from = to - 1
				break
			}
		}
	}
	field, _, _ := g.cellWord(text)
	degrees := field != "" && infoOf(g.Of, field).measure == temperatures // Temp C: a letter behind a word that measures
	for i := range out {
		if len(words) > 1 && !saysPlainly(text, out[i].unit) && !degrees {
			out[i].unit = ""
		}
	}
	out = slices.DeleteFunc(out, func(b blockHead) bool {
		m := infoOf(g.Of, b.field).measure
		return (m == counts || m == masses) && ofAnother.MatchString(text)
	})
	for _, field := range cellsOf[g.Of] {
		unit, _ := unitOf(words, infoOf(g.Of, field).measure)
		switch {
		case unit == "" || !saysPlainly(text, unit) || len(out) != 1 || len(words) == 1:
		case out[0].field == field:
			out[0].unit = unit
		case infoOf(g.Of, out[0].field).measure == counts: // Supers (kg): which of the two?
			out = append(out, blockHead{field: field, unit: unit})
		}
	}
	return out
}

// behindCells is what stands behind nearly all figures of a block: kg, boxes.
func (g *guess) behindCells(block []blockHead) map[Field]blockHead {
	said := map[Field]blockHead{}
	all, told := 0, 0
	for _, cells := range g.rows[g.first:] {
		for _, b := range block {
			f, err := tables.ParseFigure(cellAt(cells, b.column), tables.MarkUnknown)
			if err != nil {
				continue
			}
			all++
			for _, field := range cellsOf[g.Of] {
				info := infoOf(g.Of, field)
				unit, known := unitWords[f.Unit]
				if f.Unit != "" && (info.measure == counts && slices.Contains(behind[field], f.Unit) || known && info.measure.takes(unit)) {
					said[field] = blockHead{field: field} // each cell says its own unit
					told++
					break
				}
			}
		}
	}
	if told*10 < all*9 {
		return map[Field]blockHead{}
	}
	return said
}

// beside takes up the columns that hold for a row: its day or its name, and words. It
// reports whether each row gets what it needs.
func (g *guess) beside(l layout, columns []Column) bool {
	taken := map[Field]bool{l.across: true}
	key, one := -1, true
	if l.across == FieldDate {
		key, one = g.theOne(l, columns, g.nameColumn(l.row, l.block[0].column), g.isName)
	} else {
		key, one = g.theOne(l, columns, g.dayColumn(l.row), g.isDay)
	}
	for i := range columns {
		c := &columns[i]
		if c.Field != "" {
			continue
		}
		f := g.fieldOf(c.Heading, taken)
		if i > l.block[0].column {
			f = g.named(wordsOf(c.Heading), taken) // the end alone may say it of one yard or day: Mill notes
		}
		if f == nil || f.measure >= counts {
			continue
		}
		if i != key && slices.Contains(across[g.Of], f.field) {
			continue
		}
		c.Field, c.From = f.field, "heading"
		taken[f.field] = true
	}
	if key < 0 || columns[key].Field == FieldCell {
		return false
	}
	switch c := &columns[key]; {
	case !one:
		c.Field, c.From = "", ""
	case c.Field == "" || c.Field == FieldTime:
		c.Field, c.From = FieldDate, "values"
		if l.across == FieldDate {
			c.Field = g.keyField(l, key)
		}
	}
	return true
}

// theOne is the column with the days or names of rows, where several before the block have some: the
// one whose heading says it. one is false where no heading does, or those of several: then a
// person says which it is.
func (g *guess) theOne(l layout, columns []Column, first int, is func(string) bool) (key int, one bool) {
	if first < 0 || first > l.block[0].column {
		return first, true
	}
	var all, headed []int
	for i := first; i < l.block[0].column; i++ {
		if !g.mostAre(l.row, i, is) {
			continue
		}
		all = append(all, i)
		f := g.named(wordsOf(columns[i].Heading), nil)
		if isDate := f != nil && f.field == FieldDate; f != nil && isDate == (l.across != FieldDate) && slices.Contains(across[g.Of], f.field) {
			headed = append(headed, i)
		}
	}
	switch {
	case len(all) < 2:
		return first, true
	case len(headed) == 1:
		return headed[0], true
	}
	return first, false
}

// keyField is what the names of a column may be of: what the outfit has of these names, else
// what a table of the kind is of first.
func (g *guess) keyField(l layout, column int) Field {
	for _, cells := range g.rows[l.row+1:] {
		if field := g.nounField(cellAt(cells, column)); field != "" {
			return field
		}
	}
	return across[g.Of][0]
}
