package importing

import (
	"cmp"
	"slices"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// sampled is how many rows a guess looks at, and sampledBytes how much of long ones.
const (
	sampled      = 200
	sampledBytes = 8 << 20
)

// Guess finds out what each column of a sheet is: from its heading, else from its values.
// The error is of the sheet's Rows.
func Guess(book *ledger.Book, t *tables.Table, kind Kind) (Mapping, error) {
	return guessAs(book, t, kind, Mapping{})
}

// guessAs is Guess of a sheet of which something was said beside its columns.
func guessAs(book *ledger.Book, t *tables.Table, kind Kind, sent Mapping) (Mapping, error) {
	g := guess{book: book, table: t, sent: sent, own: book.OwnParameters(), Mapping: Mapping{Of: kind, Sheet: t.Name}}
	bytes := 0
	err := t.Rows(func(row int, cells []string) bool {
		g.rows = append(g.rows, slices.Clone(cells))
		g.numbers = append(g.numbers, row)
		for _, cell := range cells {
			bytes += len(cell)
		}
		return len(g.rows) < sampled && bytes < sampledBytes
	})
	if err != nil {
		return g.Mapping, err
	}
	if g.isWide() {
		return g.Mapping, nil
	}
	g.headings()
	g.byHeading()
	g.byValue()
	g.mayBeWide()
	err = g.unitsElsewhere()
	return g.Mapping, err
}

type guess struct {
	Mapping
	book    *ledger.Book
	table   *tables.Table
	rows    [][]string
	numbers []int
	first   int // the first row below the headings
	own     []ledger.NamedParameter
	sent    Mapping         // what was said of the sheet
	index   *spelling.Index // of what may run across
	// texts is what was found out of them, and heads what was of those that may be above cells.
	texts map[string]textFacts
	heads map[string]nameHead
}

// headings finds the row with the headings: the one of the first that holds most
// words that are headings of this kind of table. Above it may stand the headings
// of groups of columns.
func (g *guess) headings() {
	best, row, lone := 0, -1, false
	for i, cells := range g.rows[:min(len(g.rows), 30)] {
		if slices.ContainsFunc(cells, isDate) {
			continue // what has a date tells of something
		}
		known, filled := 0, 0
		for _, cell := range cells {
			if cell != "" {
				filled++
			}
			if own, _ := g.ownOf(cell); own != "" || g.fieldOf(cell, nil) != nil || g.superKind(cell) != "" {
				known++
			}
		}
		// One word among figures is more likely a name than a heading.
		if (known > best || known == best && lone && filled > 1) && (known > 1 || !slices.ContainsFunc(cells, isFigure)) {
			best, row, lone = known, i, filled == 1 // what stands alone may be the title of those below
		}
	}
	if row < 0 && len(g.rows) > 0 && g.headsDates(g.rows[0]) {
		row = 0
	}
	width := 0
	for _, cells := range g.rows {
		width = max(width, len(cells))
	}
	g.Columns = make([]Column, width)
	for i := range g.Columns {
		g.Columns[i].Column = tables.Column(i)
	}
	if row < 0 {
		return
	}
	g.first, g.HeadingRow = row+1, g.numbers[row]
	for i, cell := range g.rows[row] {
		g.Columns[i].Heading = cell
	}
	if row > 0 {
		g.groups(row - 1)
	}
	g.unitsBelow()
}

// headsDates reports whether a row of words that nobody taught the program stands above a
// column of dates: its words are headings too.
func (g *guess) headsDates(cells []string) bool {
	if g.Of == Yards || slices.ContainsFunc(cells, isFigure) || slices.ContainsFunc(cells, isDate) {
		return false
	}
	for i, cell := range cells {
		if cell != "" && len(g.rows) > 1 && mostOf(g.rows[1:], i, isDate) {
			return true
		}
	}
	return false
}

// unitsBelow puts the units that stand in a row of their own, under the headings,
// behind those. A unit below no heading goes with the heading before it, which has one too.
func (g *guess) unitsBelow() {
	if g.first >= len(g.rows) {
		return
	}
	units := 0
	for _, cell := range g.rows[g.first] {
		plain := strings.Trim(strings.ToLower(cell), " ()[].")
		_, known := unitWords[plain]
		switch {
		case cell == "":
		case known || plain == "%":
			units++
		case !idleWords[plain] && plain != "no" && (cell[0] != '(' && cell[0] != '[' || isFigure(cell)):
			return
		}
	}
	if units == 0 {
		return
	}
	over := "" // a weight in two units has one heading above both
	for i, cell := range g.rows[g.first] {
		heading := &g.Columns[i].Heading
		if over = cmp.Or(*heading, over); cell == "" {
			over = ""
		}
		*heading = strings.TrimSpace(cmp.Or(*heading, over) + " " + cell)
	}
	g.HeadingRow = g.numbers[g.first]
	g.first++
}

// groups puts the heading of a group of columns before those of its columns.
func (g *guess) groups(row int) {
	above := g.rows[row]
	filled := 0
	for _, cell := range above {
		if cell != "" {
			filled++
		}
	}
	// A lone title at the left is that of the whole table.
	if filled < 2 && above[0] != "" && len(g.table.Merged) == 0 {
		return
	}
	merged := slices.DeleteFunc(slices.Clone(g.table.Merged), func(s tables.Span) bool { return s.Row != g.numbers[row] })
	over := ""
	for i := range g.Columns {
		if i < len(above) && above[i] != "" {
			over = above[i]
		}
		if !g.spans(merged, i, above) || over == "" || len(over) > longestHeading || strings.ContainsAny(over, "0123456789") {
			continue
		}
		if heading := &g.Columns[i].Heading; *heading == "" {
			*heading = over
		} else if i >= len(above) || above[i] != *heading {
			*heading = over + " " + *heading
		}
	}
}

// spans reports whether a group's heading reaches to a column: by its merged cells
// where the file says so, else as far as the next one.
func (g *guess) spans(merged []tables.Span, column int, above []string) bool {
	if column < len(above) && above[column] != "" || len(g.table.Merged) == 0 {
		return true
	}
	for _, s := range merged {
		if s.First <= column && column <= s.Last && s.Last-s.First+1 < len(g.Columns) {
			return true
		}
	}
	return false
}

// fieldOf is the field of a heading: by all of its words, or by the last or first
// of them, since the others may be a group's. taken are those that are given away.
func (g *guess) fieldOf(heading string, taken map[Field]bool) *fieldInfo {
	words := wordsOf(heading)
	for from := range words {
		if f := g.named(words[from:], taken); f != nil && f.isOf(heading, words[:from], words[from:]) {
			return f
		}
	}
	for to := len(words) - 1; to > 0; to-- {
		if f := g.named(words[:to], taken); f != nil && f.isOf(heading, words[to:], words[:to]) {
			return f
		}
	}
	return nil
}

// longestHeading is above what any heading takes, in bytes.
const longestHeading = 120

// wordsOf are the plain words of a heading; none where it is too long to be one.
func wordsOf(heading string) []string {
	const most = 16
	if heading == "" || len(heading) > longestHeading {
		return nil
	}
	words := strings.Fields(spelling.Plain(heading))
	if len(words) > most {
		return nil
	}
	return words
}

// fieldsByHeading are the fields of each kind of table by their headings.
var fieldsByHeading = func() map[Kind]map[string][]*fieldInfo {
	out := map[Kind]map[string][]*fieldInfo{}
	for _, kind := range Kinds() {
		out[kind] = map[string][]*fieldInfo{}
		for i := range fields {
			for _, heading := range fields[i].headings {
				if fields[i].isIn(kind) {
					out[kind][heading] = append(out[kind][heading], &fields[i])
				}
			}
		}
	}
	return out
}()

func (g *guess) named(plain []string, taken map[Field]bool) *fieldInfo {
	for _, m := range [...]measure{-1, words, masses, temperatures} {
		heading := strings.Join(plain, " ")
		if m >= 0 {
			_, heading = unitOf(plain, m)
		}
		for _, f := range fieldsByHeading[g.Of][heading] {
			if !taken[f.field] && (m <= words || f.measure == m) {
				return f
			}
		}
	}
	return nil
}

// superKind is the outfit's kind of super that a heading, or the end of one, names.
func (g *guess) superKind(heading string) string {
	if g.Of != Pulls && g.Of != RunSupers || heading == "" {
		return ""
	}
	_, bare := unitOf(wordsOf(heading), words)
	tries := []string{heading, strings.TrimSuffix(bare, " supers")}
	for rest := bare; rest != ""; _, rest, _ = strings.Cut(rest, " ") {
		tries = append(tries, rest, strings.TrimSuffix(rest, "s"))
	}
	for _, name := range tries {
		if id, known := g.book.Names(ledger.KindSuperKind, name); known {
			if name != heading && saysOtherwise(heading, name) {
				return "" // the average of a deep, deeps put on
			}
			return ledger.Named[ledger.SuperKind](g.book, id).Name
		}
	}
	return ""
}

func (g *guess) byHeading() {
	taken := map[Field]bool{}
	if slices.ContainsFunc(g.Columns, func(c Column) bool { return g.superKind(c.Heading) != "" }) {
		taken[FieldSupers] = true // each kind has its column: one of all of them is their sum
	}
	for i := range g.Columns {
		c := &g.Columns[i]
		if kind := g.superKind(c.Heading); kind != "" {
			c.Field, c.Of, c.From = FieldSupers, kind, "heading"
		} else if own, unit := g.ownOf(c.Heading); own != "" {
			c.Field, c.Of, c.Unit, c.From = FieldOwn, own, unit, "heading"
		}
	}
	// What says it in all of its words goes before what says it in some.
	g.takeBy(taken, func(heading string, taken map[Field]bool) *fieldInfo {
		f := g.named(wordsOf(heading), taken)
		if f == nil || !f.isOf(heading, nil, nil) {
			return nil
		}
		return f
	})
	g.takeBy(taken, g.fieldOf)
	g.weightAlone()
	g.inAndOut()
	g.byUnit()
	g.timesAreDates()
}

// takeBy takes columns for the fields that a way of reading headings finds. One that is like
// another taken in this way for the same, and holds something else, is taken for it too: which
// of the two it is, is asked.
func (g *guess) takeBy(taken map[Field]bool, fieldOf func(heading string, taken map[Field]bool) *fieldInfo) {
	before := map[Field]bool{}
	for f := range taken {
		before[f] = true
	}
	for i := range g.Columns {
		c := &g.Columns[i]
		if c.Field != "" {
			continue
		}
		if twin := g.twin(i); twin != nil {
			c.Field, c.Unit, c.From = twin.Field, twin.Unit, "heading"
			continue
		}
		f := fieldOf(c.Heading, taken)
		if f == nil {
			if f = fieldOf(c.Heading, before); f == nil || !g.rivals(i, f) {
				continue
			}
		}
		if f.measure == dates && g.most(i, isWeekday) {
			continue
		}
		c.Field, c.From = f.field, "heading"
		taken[f.field] = true
		if f.measure == masses || f.measure == temperatures {
			c.Unit, _ = unitOf(wordsOf(c.Heading), f.measure)
		}
	}
}

// weightAlone leaves open whether the only weight of containers, headed no more than that, is
// their gross or their net.
func (g *guess) weightAlone() {
	if g.Of != Containers || g.has(FieldNet) || g.has(FieldTare) {
		return
	}
	for i := range g.Columns {
		if c := &g.Columns[i]; c.Field == FieldGross && !saysGross(c.Heading) {
			c.Field, c.Unit, c.From = "", "", ""
		}
	}
}

// rivals reports whether a column holds what a field can have, and something else than the
// column further left that was taken for it.
func (g *guess) rivals(column int, f *fieldInfo) bool {
	other := slices.IndexFunc(g.Columns, func(c Column) bool { return c.Field == f.field })
	is := isFigure
	switch {
	case f.measure == dates:
		is = isDate
	case f.measure == names:
		is = g.knows(kindOf[f.noun])
	case f.field == FieldContainer, g.Of == Runs && f.field == FieldName:
		is = func(string) bool { return true }
	case f.measure < counts:
		return false
	}
	return other >= 0 && g.most(column, is) && g.otherThan(column, other)
}

// timesAreDates takes a column of times for that of dates where each says its day and no other
// column does, as that of a logger.
func (g *guess) timesAreDates() {
	for i := range g.Columns {
		if c := &g.Columns[i]; c.Field == FieldTime && !g.has(FieldDate) && g.most(i, func(text string) bool { return isDate(text) || g.isDay(text) }) {
			c.Field, c.From = FieldDate, "values"
		}
	}
}

// byUnit takes a column that is headed with a unit of mass alone, kg, for the only mass that a
// sale or a container leaves open. Of two that it can be, as gross or net, it is asked.
func (g *guess) byUnit() {
	switch g.Of {
	case Sales, Containers, Transfers:
	default:
		return // that of a pull or a run can be of its wax or its honey as well
	}
	open := slices.DeleteFunc(FieldsOf(g.Of), func(f Field) bool { return infoOf(g.Of, f).measure != masses || g.has(f) })
	var units []*Column
	for i := range g.Columns {
		if c := &g.Columns[i]; c.Field == "" && unitAlone(c.Heading) != "" {
			units = append(units, c)
		}
	}
	if len(open) == 1 && len(units) == 1 {
		c := units[0]
		c.Field, c.Unit, c.From = open[0], unitAlone(c.Heading), "heading"
	}
}

// twin is a column further left that has the same heading as one, is taken for
// something, and holds something else.
func (g *guess) twin(column int) *Column {
	heading := spelling.Plain(g.Columns[column].Heading)
	for i := range g.Columns[:column] {
		other := &g.Columns[i]
		if heading == "" || other.Field == "" || other.Of != "" || spelling.Plain(other.Heading) != heading {
			continue
		}
		if g.otherThan(column, i) {
			return other
		}
	}
	return nil
}

// otherThan reports whether a column holds what one further left does not.
func (g *guess) otherThan(column, left int) bool {
	return slices.ContainsFunc(g.rows[g.first:], func(cells []string) bool {
		return max(column, left) < len(cells) && cells[column] != "" && cells[column] != cells[left]
	})
}

// byValue takes columns for what their cells are, where the headings leave a
// needed field open. Of two that it can be, as the top and the bottom of a tank, it is asked.
func (g *guess) byValue() {
	for _, want := range []struct {
		field Field
		is    func(string) bool
	}{
		{FieldDate, isDate},
		{FieldYard, g.knows(ledger.KindYard)}, {FieldTank, g.knows(ledger.KindTank)}, {FieldSuperKind, g.knows(ledger.KindSuperKind)},
		{FieldContainerKind, g.knows(ledger.KindContainerKind)}, {FieldRoom, g.knows(ledger.KindRoom)},
		{FieldMoisture, isMoisture},
	} {
		if infoOf(g.Of, want.field) == nil || g.has(want.field) {
			continue
		}
		var can []*Column
		for i := range g.Columns {
			if c := &g.Columns[i]; c.Field == "" && g.most(i, want.is) && infoOf(g.Of, want.field).isOf(c.Heading, wordsOf(c.Heading), nil) {
				can = append(can, c)
			}
		}
		if len(can) == 1 {
			can[0].Field, can[0].From = want.field, "values"
		}
	}
}

func (g *guess) has(field Field) bool {
	return slices.ContainsFunc(g.Columns, func(c Column) bool { return c.Field == field })
}

// most reports whether nine in ten of a column's cells are something.
func (g *guess) most(column int, is func(string) bool) bool {
	return mostOf(g.rows[g.first:], column, is)
}

func mostOf(rows [][]string, column int, is func(string) bool) bool {
	all, yes := 0, 0
	for _, cells := range rows {
		if column >= len(cells) || cells[column] == "" {
			continue
		}
		all++
		if is(cells[column]) {
			yes++
		}
	}
	return all > 0 && yes*10 >= all*9
}

func (g *guess) knows(kind ledger.Kind) func(string) bool {
	return func(name string) bool { _, known := g.book.Names(kind, name); return known }
}

func isDate(text string) bool {
	_, err := tables.ParseDate(text, tables.DayFirst, 0)
	if err != nil {
		_, err = tables.ParseDate(text, tables.MonthFirst, 0)
	}
	return err == nil
}

// isWeekday holds for Mon and lunes, which are of each week.
func isWeekday(text string) bool {
	const shortest = 3
	words := wordsOf(text)
	return len(words) == 1 && len(words[0]) >= shortest && dayWords[words[0]]
}

func isFigure(text string) bool {
	_, err := tables.ParseFigure(text, tables.MarkPoint)
	return err == nil
}

// isMoisture holds for what honey's moisture ordinarily is, in percent; common
// practice.
func isMoisture(text string) bool {
	f, err := tables.ParseFigure(text, tables.MarkUnknown)
	return err == nil && 13 <= f.Value && f.Value <= 25 && strings.ContainsAny(text, ".,")
}
