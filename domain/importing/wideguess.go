package importing

import (
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// layout is how a sheet may be wide: what runs across in a row, and which columns hold
// figures below it.
type layout struct {
	across Field
	row    int // among the rows of the guess
	block  []blockHead
}

// blockHead is a column below what runs across: what it holds where the headings say it, and
// what is above it where its heading says more than that.
type blockHead struct {
	column    int
	field     Field
	of, under string
	unit      Unit
	two       bool // it is said in two ways
}

// isWide recognises a sheet that can be nothing else: two things that the outfit has, or two
// days, stand above columns of figures.
func (g *guess) isWide() bool {
	const surely = 2
	for row := range g.rows[:min(len(g.rows), mostAbove)] {
		l, known := g.nameHeads(row)
		if known < surely {
			l, known = g.monthDays(row)
		}
		if known < surely {
			l, known = g.dayHeads(row)
		}
		if known >= surely && g.mayRun(l.across) && g.lay(l) {
			return true
		}
	}
	return false
}

// mostAbove is how many rows may be the one with the headings.
const mostAbove = 30

// mayRun reports whether something may run across: nothing else was said to.
func (g *guess) mayRun(field Field) bool {
	said := g.sent.Wide
	return across[g.Of] != nil && (said == nil || said.Across == "" || said.Across == field)
}

// mayBeWide recognises a sheet with one such heading, or with headings that nobody knows
// above figures beside a column of days, where it cannot be read with each row as one thing.
// What runs across is asked unless the outfit has one of them, or one spelt alike.
func (g *guess) mayBeWide() {
	if g.complete() || g.hasNames() || g.sent.Wide != nil && g.sent.Wide.Across == Nothing {
		return
	}
	const some = 2
	for row := range g.rows[:min(len(g.rows), mostAbove)] {
		l, known := g.nameHeads(row)
		switch {
		case known > 0 && g.mayRun(l.across):
		case len(l.block) > 0 && g.sent.Wide != nil && g.sent.Wide.Across != "" && g.sent.Wide.Across != FieldDate:
			l.across = g.sent.Wide.Across
		case len(l.block) >= some && known == 0 && g.mayRun("") && !g.hasFigures():
			l.across = ""
		default:
			if l, known = g.dayHeads(row); known == 0 || !g.mayRun(FieldDate) {
				continue
			}
		}
		if g.lay(l) {
			return
		}
	}
}

// complete reports whether each row has what it needs, from its columns or for all rows.
func (g *guess) complete() bool {
	return !slices.ContainsFunc(needed[g.Of], func(any []Field) bool {
		return !slices.ContainsFunc(any, func(f Field) bool { return g.has(f) || g.sent.Fixed[f] != "" })
	})
}

// hasNames reports whether each row has its day and its name: then nothing runs across, though
// other columns are not known.
func (g *guess) hasNames() bool {
	return g.has(FieldDate) && slices.ContainsFunc(g.Columns, func(c Column) bool {
		if c.Field == "" || c.Field == FieldDate || !slices.Contains(across[g.Of], c.Field) {
			return false
		}
		_, figures := g.below(max(g.first-1, 0), slices.Index(g.Columns, c))
		return !figures
	})
}

// hasFigures reports whether a column with figures is taken for something that a row has.
func (g *guess) hasFigures() bool {
	for i, c := range g.Columns {
		if info := infoOf(g.Of, c.Field); info != nil && info.measure >= counts && g.first > 0 {
			if _, figures := g.below(g.first-1, i); figures {
				return true
			}
		}
	}
	return false
}

// nameHeads finds names above columns of figures in a row, beside a column of days, and how
// many of them the outfit has, or has spelt nearly so.
func (g *guess) nameHeads(row int) (l layout, known int) {
	if across[g.Of] == nil {
		return l, 0
	}
	l = layout{across: across[g.Of][0], row: row}
	days := g.dayColumn(row)
	if days < 0 || g.isDay(cellAt(g.rows[row], days)) {
		return l, 0 // what has a day tells of something
	}
	of, filled := map[Field]int{}, 0
	for i, heading := range g.rows[row] {
		h := g.headOf(heading)
		if h.never || i == days {
			continue
		}
		all, figures := g.below(row, i)
		if h.field == "" && (h.heading || !figures || i < days) {
			continue
		}
		if h.field != "" {
			of[h.field]++
		}
		if figures {
			filled++
		}
		if (figures || all == 0) && (h.field != "" || h.spelt) {
			known++
		}
		h.column = i
		l.block = append(l.block, h.blockHead)
	}
	for _, field := range across[g.Of] {
		if of[field] > of[l.across] {
			l.across = field
		}
	}
	if filled == 0 {
		return l, 0
	}
	return l, known
}

// nameHead is a text as what may stand above cells: it has a name with something behind it.
type nameHead struct {
	blockHead
	// field is that of what the outfit has of the name, and spelt is true where it has nearly that.
	field Field
	spelt bool
	// heading is true for the heading of another column, and never for what is no name.
	heading, never bool
}

// notNames are headings of figures that nobody calls a yard or a tank; common practice.
var notNames = wordSet(`week wk semana sem number no nr n crew hours horas km miles fuel rain weather lluvia clima year ano season temporada
	hives colonies colmenas honey miel wax cera frames cuadros price precio temp temperature temperatura`)

func (g *guess) headOf(text string) nameHead {
	if text == "" {
		return nameHead{never: true}
	}
	h, had := g.heads[text]
	if had {
		return h
	}
	said := g.factsOf(text)
	name := text
	if h.field = g.nounField(text); h.field == "" {
		name, h.blockHead = g.parted(0, text)
		h.field = g.nounField(name)
	}
	h.never = said.day || said.total || isFigure(text) && h.field == ""
	h.heading = h.field == "" && (g.isHeading(text) || notNames[spelling.Plain(text)])
	h.spelt = h.field == "" && !h.heading && !h.never && g.spelt(name)
	if g.heads == nil {
		g.heads = map[string]nameHead{}
	}
	g.heads[text] = h
	return h
}

// isName reports whether the outfit has something of this name that may run across.
func (g *guess) isName(text string) bool { return g.nounField(text) != "" }

// nounField is the field of what the outfit has of a name; empty where it has nothing.
func (g *guess) nounField(name string) Field {
	for _, field := range across[g.Of] {
		if noun := infoOf(g.Of, field).noun; noun != "" {
			if _, known := g.book.Names(kindOf[noun], sameName(name)); known {
				return field
			}
		}
	}
	return ""
}

// spelt reports whether the outfit has something of nearly this name.
func (g *guess) spelt(name string) bool {
	noun := infoOf(g.Of, across[g.Of][0]).noun
	if g.index == nil {
		g.index = &spelling.Index{}
		g.book.InForceOf(kindOf[noun], func(root ledger.ID, _ *ledger.Entry) bool {
			g.index.Add(g.book.Name(root))
			return true
		})
	}
	return len(g.index.Near(name, nil)) > 0
}

// parted parts a heading into a name and what the column holds: Mill kg, Ridge boxes.
func (g *guess) parted(column int, heading string) (name string, head blockHead) {
	head = blockHead{column: column}
	if wordsOf(heading) == nil {
		return heading, head // too long for a heading
	}
	words := strings.Fields(heading)
	for n := len(words) - 1; n > 0; n-- {
		field, of, unit := g.cellWord(strings.Join(words[n:], " "))
		if unit != "" && !saysPlainly(heading, unit) {
			continue // a letter alone is as often a name: Block G
		}
		if name = strings.Trim(strings.Join(words[:n], " "), " -:,("); field != "" && name != "" && !g.isHeading(name) && (of == "" || g.isName(name)) {
			head.field, head.of, head.unit, head.under = field, of, unit, name
			return name, head
		}
	}
	for n := 1; n < len(words); n++ { // Alzas Mill, kg de Mill
		field, of, unit := g.cellWord(strings.Join(words[:n], " "))
		name = strings.TrimPrefix(strings.Trim(strings.Join(words[n:], " "), " -:,()"), "de ")
		if field != "" && g.isName(name) && (unit == "" || saysPlainly(heading, unit)) {
			head.field, head.of, head.unit, head.under = field, of, unit, name
			return name, head
		}
	}
	return heading, head
}

// isHeading reports whether all of a text is the heading of a field.
func (g *guess) isHeading(text string) bool {
	words := wordsOf(text)
	if words == nil {
		return true // too long for a name
	}
	return len(fieldsByHeading[g.Of][strings.Join(words, " ")]) > 0 || g.named(words, nil) != nil
}

// cellWord is what a short text says that figures are: boxes, gross kg, lb, deep.
func (g *guess) cellWord(text string) (field Field, of string, unit Unit) {
	words := wordsOf(text)
	if len(words) == 0 {
		return "", "", ""
	}
	if kind := g.superKind(text); kind != "" {
		return FieldSupers, kind, ""
	}
	if f := g.named(words, nil); f != nil && slices.Contains(cellsOf[g.Of], f.field) {
		unit, _ = unitOf(words, f.measure)
		return f.field, "", unit
	}
	for _, field := range cellsOf[g.Of] {
		m := infoOf(g.Of, field).measure
		plain := strings.Trim(strings.ToLower(text), " ()[].")
		if u, known := unitWords[plain]; known && m.takes(u) && m != counts && m != figures {
			return field, "", u
		}
	}
	return "", "", ""
}

// dayHeads finds days above columns of figures in a row, beside a column of names.
func (g *guess) dayHeads(row int) (l layout, known int) {
	l = layout{across: FieldDate, row: row}
	numbers, last, filled := 0, 0, 0
	for i, heading := range g.rows[row] {
		head := blockHead{column: i}
		n, _ := strconv.Atoi(heading)
		likely := 0
		all, figures := g.below(row, i)
		if figures || all == 0 {
			likely = 1
		}
		switch {
		case g.isDay(heading) || g.factsOf(heading).month:
			known += likely
		case isDayNumber(heading) && (n > last || numbers > 0 && figures):
			numbers, last = numbers+1, n
		default:
			name, parted := g.parted(i, heading)
			if parted.under == "" || !g.isDay(name) && !isMonth(name) {
				continue
			}
			head = parted
			known += likely
		}
		if figures {
			filled++
		}
		l.block = append(l.block, head)
	}
	if filled == 0 {
		return l, 0
	}
	if numbers > 0 { // days of a month that a title says, and not some figures
		const fewest = 3
		if known > 0 || numbers < fewest || !g.monthAbove(row) {
			return l, 0
		}
		known = numbers
	}
	if len(l.block) > 0 {
		if at := g.nameColumn(row, l.block[0].column); at < 0 || g.isName(cellAt(g.rows[row], at)) {
			known = 0
		}
	}
	return l, known
}

// monthAbove reports whether a row above says a month alone.
func (g *guess) monthAbove(row int) bool {
	return slices.ContainsFunc(g.rows[:row], func(cells []string) bool { return isMonth(strings.Join(cells, "")) })
}

// below counts the cells of a column below a row, and reports whether these are figures, and
// little else. What runs across further blocks below does not count.
func (g *guess) below(row, column int) (all int, figures bool) {
	yes := 0
	for _, cells := range g.under(row) {
		text := cellAt(cells, column)
		if tables.Missing(text) {
			continue
		}
		switch said := g.factsOf(text); {
		case said.figure && !said.day:
			all, yes = all+1, yes+1
		case said.figure || !said.word: // else they are the headings of a further block
			all++
		}
	}
	return all, yes > 0 && yes*2 > all
}

// under are the rows below a row that tell what its columns hold.
func (g *guess) under(row int) [][]string {
	const enough = 60
	return g.rows[row+1 : min(len(g.rows), row+1+enough)]
}

// textFacts is what is known of a text, which stands in a sheet many times.
type textFacts struct {
	day, month, total, figure bool
	// word is true where it names what the outfit has, or says what figures are; cell where it
	// says that.
	word, cell bool
}

func (g *guess) factsOf(text string) textFacts {
	had, known := g.texts[text]
	if !known {
		const most = 1 << 16
		if g.texts == nil || len(g.texts) == most {
			g.texts = map[string]textFacts{}
		}
		field, _, _ := g.cellWord(text)
		had = textFacts{isDay(text, g.table), isMonth(text), tables.IsTotal(text), startsAsFigure(text), field != "" || g.isName(text), field != ""}
		g.texts[text] = had
	}
	return had
}

// isDay is isDay of the sheet's texts.
func (g *guess) isDay(text string) bool { return g.factsOf(text).day }

// startsAsFigure holds for a figure with anything behind it: 12, 8+4, 12 med.
func startsAsFigure(text string) bool {
	text = strings.TrimLeft(text, "'<~ ")
	return text != "" && '0' <= text[0] && text[0] <= '9'
}

// dayColumn is the first column with days below a row; -1 where none has them.
func (g *guess) dayColumn(row int) int {
	if at := g.columnBelow(row, len(g.Columns), g.isDay); at >= 0 {
		return at
	}
	return g.numberedDays(row)
}

// nameColumn is the column with names below a row, before a column: the one with what the
// outfit has, else the first with texts; -1 where none has.
func (g *guess) nameColumn(row, before int) int {
	if at := g.columnBelow(row, before, g.isName); at >= 0 {
		return at
	}
	for i := range min(before, len(g.rows[row])) {
		if words := wordsOf(g.rows[row][i]); len(words) > 0 {
			if f := g.named(words, nil); f != nil && slices.Contains(across[g.Of], f.field) {
				return i
			}
		}
	}
	return g.columnBelow(row, before, func(text string) bool { return !startsAsFigure(text) })
}

// columnBelow is the first column before another of which most cells below a row are
// something, rows of totals and titles apart.
func (g *guess) columnBelow(row, before int, is func(string) bool) int {
	width := 0
	for _, cells := range g.rows {
		width = max(width, len(cells))
	}
	if before == 0 || before > width {
		before = width
	}
	for i := range before {
		if g.mostAre(row, i, is) {
			return i
		}
	}
	return -1
}

// mostAre reports whether most cells of a column below a row are something, rows of totals and
// titles apart.
func (g *guess) mostAre(row, column int, is func(string) bool) bool {
	all, yes := 0, 0
	for _, cells := range g.under(row) {
		text := cellAt(cells, column)
		if text == "" || text == cellAt(g.rows[row], column) {
			continue
		}
		if said := g.factsOf(text); !said.total && !said.month {
			all++
			if is(text) {
				yes++
			}
		}
	}
	return yes > 0 && yes*3 >= all*2
}
