package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// saidElsewhere is a text of a sheet that names a unit and is no figure and no heading of one: a
// title above the table, a note in a row, a legend below, a comment, the sheet's own name.
type saidElsewhere struct {
	row  int // 0 for the sheet's name
	text string
}

// elsewhere holds the first such text for each unit that none of the texts before it named.
type elsewhere map[string]saidElsewhere

// otherMasses are units of mass, and ways of counting them, that the program knows and does not
// convert, in the languages of its headings; common practice.
var otherMasses = wordSet(`oz ounce ounces onza onzas cwt hundredweight hundredweights arroba arrobas quintal quintals quintales
	livre livres unze unzen zentner tens hundreds thousands decenas cientos x10 ×10 *10 x100 ×100 *100 x1000 ×1000 *1000`)

// pointsAt are words before a unit by which a text says what figures are in; aboutWeights are
// words of a text that speaks of figures. In the languages of the headings.
var (
	pointsAt     = wordSet("in en as are is not no son to into a em")
	aboutWeights = wordSet("weight weights wt gross net tare unit units scale peso pesos bruto neto tara unidad unidades báscula bascula gewicht poids")
)

// note takes a text into account. A title speaks of the whole table.
func (e elsewhere) note(row int, text string, title bool) {
	const longestSaid = 400
	if len(text) < 2 && title || len(text) == 0 || len(text) > longestSaid || startsAsFigure(text) && !strings.ContainsAny(text, " ") {
		return
	}
	for _, name := range unitsNamed(text, title) {
		if _, had := e[name]; !had {
			e[name] = saidElsewhere{row, strings.Clone(clip(text))}
		}
	}
}

// unitsNamed are the units, and of masses the ways of counting, that a text says that figures are in.
// Of a title any counts; what stands in a row speaks of something in it as often, and counts where it is
// short, or says of figures what they are in. A unit behind a number is that of a quantity, 20 lb of
// sugar, and a letter alone is as often a name.
func unitsNamed(text string, title bool) (names []string) {
	const few, edges = 3, "()[].,:;!\"'"
	tokens := strings.Fields(strings.ToLower(text))
	about := title || len(tokens) <= few || slices.ContainsFunc(tokens, func(word string) bool { return aboutWeights[strings.Trim(word, edges)] })
	before := ""
	for i, token := range tokens {
		bare, bracketed := strings.Trim(token, edges), strings.ContainsAny(token, "([")
		unit, known := unitWords[bare]
		name := string(unit)
		if !known && otherMasses[bare] {
			name, known = bare, true
		}
		switch {
		case !known, startsAsFigure(before) && !bracketed:
		case len(bare) == 1 && !bracketed && !(pointsAt[before] && i == len(tokens)-1):
		case about || pointsAt[before]:
			names = append(names, name)
		}
		before = bare
	}
	return names
}

// other is the first text that names another unit of a column's measure than one; false where
// none does.
func (e elsewhere) other(m measure, unit Unit) (out saidElsewhere, found bool) {
	for name, said := range e {
		is := m.takes(Unit(name)) || m == masses && otherMasses[name]
		if is && name != string(unit) && (!found || said.row < out.row || said.row == out.row && said.text < out.text) {
			out, found = said, true
		}
	}
	return out, found
}

// noteRow takes the texts of a row: of columns that are not read or hold notes, and of those of
// dates what is no date. heading is the row of the headings.
func (e elsewhere) noteRow(m *Mapping, row int, cells []string) {
	if row == m.HeadingRow || row > m.HeadingRow && m.headsAgain(cells) {
		return
	}
	for i, cell := range cells {
		if cell == "" || startsAsFigure(cell) && tables.IsPlain(cell) {
			continue
		}
		title := row < m.HeadingRow
		if i < len(m.Columns) && !title {
			switch c := m.Columns[i]; {
			case c.Field == "" && isUnitWord(cell) && m.besideFigure(i), c.Field != "" && c.Field != FieldNote && c.Field != FieldDate:
				continue
			case c.Field == FieldDate && (startsAsFigure(cell) || isDate(cell)):
				continue
			case c.Field == FieldDate:
				title = true // of a legend below
			}
		}
		e.note(row, cell, title)
	}
}

// headsAgain reports whether a row has a heading again below itself.
func (m *Mapping) headsAgain(cells []string) bool {
	for i, cell := range cells[:min(len(cells), len(m.Columns))] {
		if cell != "" && m.Columns[i].Field != "" && strings.EqualFold(cell, m.Columns[i].Heading) {
			return true
		}
	}
	return false
}

func isUnitWord(cell string) bool {
	_, known := unitWords[strings.ToLower(strings.Trim(cell, " ."))]
	return known
}

// besideFigure reports whether a column that is not read says in each row the unit of the figure
// before it, which is read.
func (m *Mapping) besideFigure(i int) bool {
	if headsUnits[strings.Join(wordsOf(m.Columns[i].Heading), " ")] {
		return slices.ContainsFunc(m.Columns[:i], func(c Column) bool { return c.Unit != "" || UnitsOf(c.Field) != nil })
	}
	return i > 0 && m.Columns[i].Heading == "" && UnitsOf(m.Columns[i-1].Field) != nil
}

// noteTable takes what stands beside the rows of a table: its name, and comments.
func (e elsewhere) noteTable(t *tables.Table) {
	e.note(0, t.Name, true)
	for row, remarks := range t.Remarks {
		for _, remark := range remarks {
			e.note(row, remark, false)
		}
	}
}

// unitsElsewhere leaves the unit of a column open that its heading says and a text elsewhere says
// otherwise.
func (g *guess) unitsElsewhere() error {
	if g.IsWide() || !slices.ContainsFunc(g.Columns, func(c Column) bool { return c.Unit != "" && c.Field != FieldOwn }) {
		return nil
	}
	said := elsewhere{}
	said.noteTable(g.table)
	err := g.table.Rows(func(row int, cells []string) bool {
		said.noteRow(&g.Mapping, row, cells)
		return row <= g.HeadingRow || row <= g.numbers[len(g.numbers)-1] || g.hasTexts()
	})
	if err != nil {
		return err
	}
	for i := range g.Columns {
		c := &g.Columns[i]
		if info := infoOf(g.Of, c.Field); info == nil || c.Unit == "" || c.Field == FieldOwn {
			continue
		} else if _, other := said.other(info.measure, c.Unit); other {
			c.Unit = ""
		}
	}
	return nil
}

// hasTexts reports whether a column may hold texts of which the sampled rows say nothing.
func (g *guess) hasTexts() bool {
	return slices.ContainsFunc(g.Columns, func(c Column) bool { return c.Field == "" || c.Field == FieldNote })
}

// leavesUnitOpen reports whether the unit of a column is open that its heading says, or is that of
// the last sheet: only then is it of use to know what texts say.
func (k *taking) leavesUnitOpen() bool {
	return k.wide == nil && slices.ContainsFunc(k.reads, func(c *column) bool { return c.Unit == "" && UnitIn(c.Heading, c.Field) != "" || keepsUnit(c) })
}

// keepsUnit reports whether the unit of a column is that of the last sheet with these headings.
func keepsUnit(c *column) bool { return c.From == "kept" && c.Unit != "" && c.Field != FieldOwn }

// openKeptUnits leaves units open that the last sheet had, where a text of this one says another:
// the year that the scales changed has the same headings.
func (k *taking) openKeptUnits() {
	for _, c := range k.reads {
		if _, other := k.elsewhere.other(c.info.measure, c.Unit); other && keepsUnit(c) {
			c.Unit, c.From = "", "" // so that it is asked once
		}
	}
}

// askUnitElsewhere asks for the unit of a column whose heading says one and a text elsewhere
// another; false where none does.
func (k *taking) askUnitElsewhere(c *column) bool {
	heading := UnitIn(c.Heading, c.Field)
	said, found := k.elsewhere.other(c.info.measure, heading)
	switch {
	case heading == "" || !found || k.wide != nil:
		return false
	case said.row == 0:
		k.problemOnce(NoUnit, c, message.F("The heading says %s, and the sheet is called %s. In which unit is this? Say it for column %s.", string(heading), message.Quoted(said.text), columnName(c.Column.Column, c.Heading)), c.info.measure.units()...)
	default:
		k.problemOnce(NoUnit, c, message.F("The heading says %s, and row %s says %s. In which unit is this? Say it for column %s; where the unit changes on the way, write it behind each figure.", string(heading), said.row, message.Quoted(said.text), columnName(c.Column.Column, c.Heading)), c.info.measure.units()...)
	}
	return true
}
