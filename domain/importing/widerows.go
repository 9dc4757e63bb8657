package importing

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// rows walks the rows as they are taken: those of the sheet, or the parts of a wide one's.
func (k *taking) rows(yield func(row int, cells []string) bool) error {
	if k.wide == nil {
		return k.table.Rows(yield)
	}
	return k.wide.rows(yield)
}

func (w *wide) rows(yield func(row int, cells []string) bool) error {
	w.numbers, w.spans, w.month, w.monthIsNew, w.titles, w.last, w.figured = numbering{}, nil, "", false, map[string]bool{}, Problem{}, figuredBlock{}
	w.sums = columnSums{block: make([]float64, len(w.block)), part: make([]float64, len(w.block)), all: make([]float64, len(w.block))}
	if w.acrossRow = w.Mapping.Wide.Row; w.acrossRow == 0 {
		w.acrossRow = w.Mapping.HeadingRow
	}
	first := w.acrossRow
	defer func() {
		w.at = nil
		w.endBlock()
	}()
	return w.table.Rows(func(row int, cells []string) bool {
		w.at, w.isTotal, w.row, w.taking.cells, w.cells = nil, false, row, cells, cells
		clear(w.notedInRow)
		if !w.walking {
			w.legend.noteRow(&w.Mapping, row, cells)
		}
		_, was := w.wasTakenOut()
		switch {
		case row <= w.Mapping.HeadingRow:
			if w.leaveOut[row] && row != first {
				w.headed = max(w.headed, len(cells))
				return yield(row, cells)
			}
			if title := w.title(cells); title != "" {
				w.titles[sameName(title)] = true
			}
			if row == first {
				w.days, w.monthIsNew = slices.Clone(cells), false
				w.monthInCorner(cells)
				w.otherYears(cells[:min(len(cells), w.block[0].index)])
				w.runsAcross(row, cells)
			} else {
				w.aboveHeadings(cells)
				w.otherYears(cells)
			}
			w.askOtherUnits(cells)
			w.headed = max(w.headed, len(cells))
			return yield(row, cells)
		case w.headsAgain(row, cells): // even where the row is left out: what stands below it is of these names
			return true
		case w.leaveOut[row], was && w.Mapping.TakenOut != BringIn:
			return yield(row, w.whole(cells))
		case w.isSum(cells):
			w.isTotal = true
			w.otherSums(cells)
			return yield(row, w.whole(cells))
		case w.wordsAlone(cells), w.lost(cells):
			return true
		}
		return w.parts(row, cells, yield)
	})
}

// parts hands on a part of a row for each name or day with something below it. An empty
// cell is nothing that happened. Nor is a pull of 0 supers or of 0 kg one: the part is
// counted as left out.
func (w *wide) parts(row int, cells []string, yield func(int, []string) bool) bool {
	filled, began := false, false
	w.askOtherUnits(cells)
	for i := range w.spans {
		s := &w.spans[i]
		w.at = nil
		all, zeros := 0, 0
		for _, b := range s.columns {
			text := cellAt(cells, b.index)
			if w.reaches(b, text); tables.Missing(text) {
				continue
			}
			all++
			f, err := tables.ParseFigure(text, tables.MarkUnknown)
			if err == nil && f.Value == 0 && !f.LessThan {
				zeros++
			}
		}
		if all == 0 {
			continue
		}
		filled = true
		switch {
		case s.above == "":
			w.unnamed(s)
			continue
		case w.Mapping.Of == Pulls && zeros == all:
			w.count(0, all)
			continue
		}
		w.count(all, 0)
		if w.at = s; !began {
			w.otherRow(cells)
			w.ownYear(cells)
			w.yearDown()
			w.otherMonth()
			w.begin(cells)
			began = true
		}
		if !yield(row, w.part(s)) {
			return false
		}
	}
	if w.at = nil; filled {
		w.sum(cells)
		w.noteFigures(cells)
		w.otherTotal(cells)
		w.otherBlock(cells)
		w.askStrange(cells)
		w.last = Problem{}
		return true
	}
	w.otherYear(cells)
	w.otherCells(w.title(cells))
	return true
}

// filled reports whether a row as a whole holds figures.
func (w *wide) filled() bool {
	return slices.ContainsFunc(w.block, func(b blockColumn) bool { return cellAt(w.cells, b.index) != "" })
}

// count counts the cells of a part.
func (w *wide) count(cells, zeros int) {
	if !w.walking {
		return
	}
	w.Cells += int64(cells + zeros)
	if zeros > 0 {
		w.Rows++
		w.LeftOut++
		w.Zeros += int64(zeros)
	}
}

// whole is a row that is not parted.
func (w *wide) whole(cells []string) []string {
	width := len(w.Mapping.Columns)
	w.parted = append(w.parted[:0], cells[:min(width, len(cells))]...)
	for len(w.parted) < width+2+len(w.figures) {
		w.parted = append(w.parted, "")
	}
	return w.parted
}

// begin begins to part a row: what holds for all of it stays where it stands.
func (w *wide) begin(cells []string) {
	w.whole(cells)
	for _, b := range w.block {
		w.parted[b.index] = ""
	}
	w.dayBeside()
}

// part is the row that was begun as one that holds a single pull, reading or temperature.
func (w *wide) part(s *span) []string {
	clear(w.parted[len(w.Mapping.Columns):])
	w.parted[w.acrossOf(s.above).index] = s.above
	for _, b := range s.columns {
		w.parted[w.figures[b.figure].index] = cellAt(w.cells, b.index)
	}
	return w.parted
}

// acrossOf is the column that takes a name: the other one where the outfit has something of
// that name there alone, or where a name that it does not have says so itself: Tank 1.
func (w *wide) acrossOf(name string) *column {
	if w.other != nil {
		_, known := w.book.Names(kindOf[w.across.info.noun], sameName(name))
		if _, other := w.book.Names(kindOf[w.other.info.noun], sameName(name)); other && !known {
			return w.other
		} else if words := wordsOf(name); !known && len(words) > 0 {
			for _, f := range fieldsByHeading[w.Mapping.Of][words[0]] {
				if f.field == w.other.Field {
					return w.other
				}
			}
		}
	}
	return w.across
}

// runsAcross takes up the names or days of a row, and groups the columns below them. Where
// headings of two rows stand above the cells, a name holds as far as the next one.
func (w *wide) runsAcross(row int, cells []string) {
	w.endBlock()
	w.acrossRow, w.spans, w.names = row, nil, map[string][]int{}
	over := w.Mapping.Wide.Row > 0 && w.Mapping.Wide.Row < w.Mapping.HeadingRow
	text, at := "", 0
	w.numbers = numbering{}
	for _, b := range w.block {
		switch own := cellAt(cells, b.index); {
		case b.under != "":
			text, at = w.underOf(b, own), b.index
		case own != "":
			text, at = own, b.index
		case !over || !w.mergedOver(row, at, b.index):
			text, at = "", b.index
		}
		if !tables.IsTotal(text) {
			w.group(text, at, b)
		}
	}
	w.askMonths()
	w.yearAcross()
	w.daysDown = days{}
}

// underOf is the name or day of a column whose heading also says what it holds: Mill kg. That of a
// further block may say another yard there, or other figures, which is asked about.
func (w *wide) underOf(b blockColumn, own string) string {
	if w.row <= w.Mapping.HeadingRow || strings.EqualFold(own, w.Mapping.Columns[b.index].Heading) {
		return b.under
	}
	if isMonth(own) && w.daysBelowMonths() {
		return b.under // of which the row with its days asks
	}
	if own == "" {
		return ""
	}
	name, head := w.guess.parted(b.index, own)
	if head.field != "" && w.figures[b.figure].isOf(head.field, head.of, head.unit) {
		return name
	}
	w.otherWords(w.taking.cells, []blockColumn{b})
	return name
}

// askMonths asks about days like Jun-26 and Jul-26, where all have the same figures: these may
// be a day, or the year of a month.
func (w *wide) askMonths() {
	const several = 2
	same := map[string][]*span{}
	for i := range w.spans {
		if figures, is := isMonthAndYear(w.spans[i].above); is {
			same[figures] = append(same[figures], &w.spans[i])
		}
	}
	w.askMonthSums()
	for _, alike := range same {
		if !w.walking || w.Mapping.Wide.Across != FieldDate || len(same) > 1 || len(alike) < several {
			continue
		}
		for _, s := range alike {
			w.add(Problem{Code: TwoDates, Row: w.acrossRow, Column: tables.Column(s.column), Field: FieldDate, Sent: s.above, OfHeadings: true,
				Message: message.F("This can be a day of a month, or a month and its year: write the day in full, such as 2026-07-06.")})
		}
	}
}

// askMonthSums asks about months alone among whole days: they may be what those come to.
func (w *wide) askMonthSums() {
	days := slices.ContainsFunc(w.spans, func(s span) bool { return s.said != "" && !isMonth(s.said) })
	for i := range w.spans {
		if s := &w.spans[i]; w.walking && days && w.Mapping.Wide.Across == FieldDate && isMonth(s.said) {
			w.noted[noted{w.acrossRow, tables.Column(s.column), NoDate}] = true
			w.add(Problem{Code: LooksLikeSum, Row: w.acrossRow, Column: tables.Column(s.column), Field: FieldDate, Sent: s.said, OfHeadings: true,
				Message: message.F("Days stand beside this month: is it what they come to? Do not read the column, or write its day.")})
		}
	}
}

// group puts a column to the others below the same name, where they hold something else.
func (w *wide) group(said string, at int, b blockColumn) {
	above := w.dayOf(said)
	name := sameName(above)
	for _, i := range w.names[name] {
		s := &w.spans[i]
		if above != "" && !slices.ContainsFunc(s.columns, func(had blockColumn) bool { return had.figure == b.figure }) {
			s.columns = append(s.columns, b)
			return
		}
	}
	if had := w.names[name]; above != "" && len(had) > 0 {
		w.standsAgain(said, at, w.spans[had[0]].column, b)
	}
	w.names[name] = append(w.names[name], len(w.spans))
	w.spans = append(w.spans, span{above, said, at, []blockColumn{b}})
}

// standsAgain asks about a name or day that stands above another column that is taken for the
// same: below one of them may stand something else, as kilograms beside boxes.
func (w *wide) standsAgain(said string, at, first int, b blockColumn) {
	p := Problem{Code: TwoValues, Row: w.acrossRow, Column: tables.Column(at), Field: w.figures[b.figure].Field, Sent: said, OfHeadings: true,
		Message: message.F("%s stands above column %s too, and both are taken for %s. Say for each of the two columns what it holds, or bring one of them in as a sheet of its own.", message.Quoted(said), tables.Column(first), w.figures[b.figure].Field.text())}
	if w.walking && w.place(&p, nil) {
		w.add(p)
	}
}

// mergedOver reports whether a heading reaches from one column to another: by its merged
// cells where the row has some, else as far as the next heading.
func (w *wide) mergedOver(row, from, to int) bool {
	if len(w.merged[row]) == 0 {
		return true
	}
	return slices.ContainsFunc(w.merged[row], func(s tables.Span) bool { return s.First <= from && to <= s.Last })
}

// dayOf is a day of the month with the month that a title above it says, and of a month alone
// the day that was said to stand for it; other texts stay.
func (w *wide) dayOf(text string) string {
	said := w.Mapping.Wide
	switch {
	case said.Across != FieldDate:
	case w.month != "" && isDayNumber(text):
		if day, ok := w.numbers.day(w.month, text); ok {
			return day
		}
	case said.MonthDay > 0 && isMonth(text):
		return ofMonth(text, said.MonthDay, w.Mapping.Year)
	}
	return text
}

// keepDay notes what stood above the cell at hand, where its day was put together.
func (k *taking) keepDay() {
	switch {
	case k.wide == nil || k.wide.at == nil || k.Mapping.Of == TemperatureLogs:
	case k.wide.at.said != k.wide.at.above:
		k.keep(string(FieldDate), k.wide.at.said)
	case k.wide.dayTyped != "":
		k.keep(string(FieldDate), k.wide.dayTyped)
	}
}

// title is what a row says alone; empty where it says more. A month is taken up.
func (w *wide) title(cells []string) (said string) {
	for _, cell := range cells {
		if cell != "" && said != "" {
			return ""
		}
		said += cell
	}
	if isMonth(said) {
		if w.monthIsNew && w.month != said {
			w.noteOf(Problem{Code: NoDate, Row: w.row, Field: FieldDate, Sent: said,
				Message: message.F("%s and %s both stand above the same days: leave out the row that does not hold%s.", message.Quoted(w.month), message.Quoted(said), message.Option("leave_out_rows"))})
		}
		w.month, w.monthIsNew = said, true
	}
	return said
}

// otherCells asks about a title between the rows that says of figures what those above are
// not: below it may stand weights where there were supers.
func (w *wide) otherCells(title string) {
	if title == "" || isDay(title, w.table) || w.titles[sameName(title)] {
		return
	}
	p := Problem{Code: WideSheet, Row: w.row, Field: FieldCell, Sent: title,
		Message: message.F("This row says %s, and the cells are taken for something else: bring what stands below it in as a sheet of its own, or leave the row out if it is not about them%s.", message.Quoted(title), message.Option("leave_out_rows"))}
	if w.saysOther(title) || titledOtherwise(title) || w.saysKind(title) {
		w.noteOf(p)
		return
	}
	if w.last = (Problem{}); !isTimeTitle(title) {
		w.last = p
		w.last.Message = message.F("A further block stands below %s. Does it hold the same as the first one? Leave this row out if it does%s, or bring the block in as a sheet of its own.", message.Quoted(title), message.Option("leave_out_rows"))
	}
}

// saysOther reports whether a title names figures that the cells are not.
func (w *wide) saysOther(title string) bool {
	if slices.ContainsFunc(w.guess.cellWords(title), func(b blockHead) bool { return !w.holds(b.field, b.of, b.unit) }) {
		return true
	}
	if slices.ContainsFunc(w.figures, func(c *column) bool { return c.Unit != "" && w.saysOtherUnit(c, title) }) {
		return true
	}
	for _, word := range wordsOf(title) {
		if field := figureNamed(word); field != "" && !w.holds(field, "", "") {
			return true
		}
	}
	return false
}

// saysOtherUnit reports whether a title plainly says another unit than a column is in.
func (w *wide) saysOtherUnit(c *column, title string) bool {
	for _, unit := range unitWords {
		if unit != c.Unit && c.info.measure.takes(unit) && saysPlainly(title, unit) {
			return true
		}
	}
	return false
}

// figureNamed is a figure that a word names in some kind of table; empty where it names none.
func figureNamed(word string) Field {
	for _, kind := range Kinds() {
		for _, f := range fieldsByHeading[kind][word] {
			if f.measure >= counts {
				return f.field
			}
		}
	}
	return ""
}

// otherRow asks about a row of which a column that is not read says that its figures are not
// what the cells are taken for: below the boxes of a yard stand its kilograms.
func (w *wide) otherRow(cells []string) {
	for i, cell := range cells {
		if !w.walking || cell == "" || i < len(w.Mapping.Columns) && !w.saysBeside(&w.Mapping.Columns[i]) || !w.guess.factsOf(cell).word {
			continue
		}
		if field, of, unit := w.guess.cellWord(cell); field != "" && !w.holds(field, of, unit) && (unit == "" || saysPlainly(cell, unit)) {
			w.add(Problem{Code: WideSheet, Row: w.row, Column: tables.Column(i), Field: FieldCell, Sent: cell,
				Message: message.F("This row says %s, and its cells are taken for something else: give what it holds columns of its own, or leave the row out%s.", message.Quoted(cell), message.Option("leave_out_rows"))})
		}
	}
}

// otherBlock asks about a day or a name that stands among the figures, in a column that is not
// read: what stands behind it may be of that one, and of a block that stands beside the first.
func (w *wide) otherBlock(cells []string) {
	if !w.walking {
		return
	}
	for i := w.block[0].index + 1; i < w.block[len(w.block)-1].index && i < len(w.Mapping.Columns); i++ {
		c, cell := &w.Mapping.Columns[i], cellAt(cells, i)
		key := noted{column: c.Column, code: WideSheet}
		if c.Field != "" || cell == "" || w.noted[key] || !w.isKey(c, cell) {
			continue
		}
		w.noted[key] = true
		w.add(Problem{Code: WideSheet, Row: w.row, Column: c.Column, Heading: c.Heading, Field: FieldCell, Sent: cell, OfHeadings: true,
			Message: message.F("%s stands among the figures, in a column that is not read. Are the figures behind it of that one? Then bring them in as a sheet of their own, and do not read their columns here. If they are not, take this column out of the sheet.", message.Quoted(cell))})
	}
}

// isKey reports whether a cell of a column that is not read can say of the figures behind it what
// the row's day or name says of all: it is one, or its column is headed as that of the rows.
func (w *wide) isKey(c *Column, cell string) bool {
	for _, of := range w.columns {
		isKey := of.Field == FieldDate || slices.Contains(across[w.Mapping.Of], of.Field)
		if isKey && of.Heading != "" && strings.EqualFold(of.Heading, c.Heading) {
			return true
		}
	}
	if w.Mapping.Wide.Across == FieldDate {
		return w.guess.isName(cell)
	}
	if words := wordsOf(c.Heading); len(words) > 0 && (whenWords[words[0]] || whenWords[words[len(words)-1]]) {
		return true
	}
	f := w.guess.named(wordsOf(c.Heading), nil)
	return w.guess.isDay(cell) || f != nil && f.field == FieldDate
}

// whenWords head columns that say when, in English, Spanish, German, French and Portuguese.
var whenWords = wordSet("week wk semana sem kw woche semaine month mes monat mois day dia tag jour date fecha datum data")

// saysBeside reports whether what a column says of a row does not change how its cells are read: it is
// not read, or a note, or a kind of box where the cells are said to be of one kind.
func (w *wide) saysBeside(c *Column) bool {
	return c.Field == "" || c.Field == FieldNote || c.Field == FieldSuperKind && !slices.ContainsFunc(w.figures, func(f *column) bool { return f.Field == FieldSupers && f.Of == "" })
}

// noteOf lists a problem of a row as a whole, where problems are noted.
func (w *wide) noteOf(p Problem) {
	if w.walking {
		w.add(p)
	}
}

// holds reports whether the columns hold figures of this sort.
func (w *wide) holds(field Field, of string, unit Unit) bool {
	return slices.ContainsFunc(w.figures, func(c *column) bool { return c.isOf(field, of, unit) })
}

// isOf reports whether a column is of what a heading says.
func (c *column) isOf(field Field, of string, unit Unit) bool {
	return c.Field == field && (of == "" || sameName(c.Of) == sameName(of)) && (unit == "" || c.Unit == unit)
}

// twoWhole are boxes and kilograms in one cell, 12 380, rather than as many thousands.
var twoWhole = regexp.MustCompile(`^\d+\s+\d+$`)

var (
	fourDigits = regexp.MustCompile(`\b(19|20)\d\d\b`)
	overYears  = regexp.MustCompile(`\b((?:19|20)\d)(\d)[/–-]\d(\d)\b`) // 2025/26
)

// yearsIn are the years of which a text speaks, of a season over the new year both.
func yearsIn(text string) []string {
	years := fourDigits.FindAllString(text, -1)
	for _, m := range overYears.FindAllStringSubmatch(text, -1) {
		if first, err := strconv.Atoi(m[1] + m[2]); err == nil && (int(m[2][0])+1-'0')%10 == int(m[3][0]-'0') {
			years = append(years, strconv.Itoa(first+1))
		}
	}
	return years
}

// otherYear asks about a row that is a title of another year than dates without one are
// said to be of.
func (w *wide) otherYear(cells []string) {
	text := strings.TrimSpace(strings.Join(cells, " "))
	years := yearsIn(text)
	if !w.walking || w.Mapping.Year == 0 || len(years) == 0 || slices.Contains(years, strconv.Itoa(w.Mapping.Year)) || isDay(text, w.table) {
		return
	}
	w.add(Problem{Code: NoYear, Row: w.row, Sent: text, Message: message.F("This row speaks of another year than %s, of which dates without a year are said to be. Write the year into the dates, or leave this row out.", strconv.Itoa(w.Mapping.Year))})
}

// unnamed asks about figures with nothing above them.
func (w *wide) unnamed(s *span) {
	p := Problem{Code: MissingField, Row: w.acrossRow, Column: tables.Column(s.column), Field: w.Mapping.Wide.Across, OfHeadings: true,
		Message: message.F("Figures stand in this column, and nothing above them says what they are of: write it there, or do not read the column.")}
	if w.walking && w.place(&p, nil) {
		w.add(p)
	}
}

// reaches asks about a figure that is merged over cells of several names, days or rows:
// what of it is each one's own, nothing says.
func (w *wide) reaches(b blockColumn, text string) {
	if !w.walking {
		return
	}
	p := Problem{Code: TwoValues, Row: w.row, Column: tables.Column(b.index), Field: w.figures[b.figure].Field, Sent: text}
	over := w.overAt(b.index)
	merged := slices.ContainsFunc(w.merged[w.row], func(s tables.Span) bool { return s.First == b.index })
	switch {
	case text == "" && over != nil:
		p.Sent, p.Message = over.Text, message.F("This figure is merged over rows %s to %s: part the cells, and say in each row what is its own.", over.First, over.Last)
	case w.figures[b.figure].info.measure == counts && twoWhole.MatchString(text):
		p.Code, p.Message = NoFigure, message.F("These are two figures, or one with a blank in it: type one, and give the other a column of its own.")
	case text != "" && merged:
		p.Message = message.F("This figure is merged over several columns: part the cells, and say in each what is its own.")
	default:
		return
	}
	if w.place(&p, nil) {
		w.add(p)
	}
}

// lost notes a row of a text file with more fields than its headings.
func (w *wide) lost(cells []string) bool {
	if w.table.Separator == 0 || len(cells) <= w.headed || strings.Join(cells[w.headed:], "") == "" {
		return false
	}
	if w.walking {
		w.Rows++
		w.width = w.headed
		w.tooWide()
		w.width = 0
	}
	return true
}

// headsAgain takes up the headings of a further block, as of the next month: the columns
// that hold for a row have their headings once more, or nothing, or say what the block holds,
// and above the cells stand names or days, or the names of what the columns hold.
func (w *wide) headsAgain(row int, cells []string) bool {
	named, strange, corner := false, false, -1
	for _, c := range w.columns {
		if c.index < 0 || c.index >= len(w.Mapping.Columns) {
			continue
		}
		switch cell := cellAt(cells, c.index); {
		case cell == "":
		case strings.EqualFold(cell, c.Heading):
			named = true
		case w.guess.factsOf(cell).cell && !w.guess.isName(cell):
			corner = c.index
		case w.guess.isDay(cell), w.guess.isName(cell), c.Field != FieldDate && c.info.noun == "":
			return false
		default:
			strange = true // else headed than the first block
		}
	}
	if strange && !w.beginsWithHeading(cells) {
		return false
	}
	h := w.headingsIn(cells, named || corner >= 0)
	switch {
	case h.all > 0 && h.numbers == h.all && named && w.daysBelowMonths():
		w.noteOf(Problem{Code: WideSheet, Row: row, Field: FieldCell, OfHeadings: true,
			Message: message.F("A further block with the days of months begins here: bring it in as a sheet of its own.")})
	case h.all == 0 || h.across < h.all && h.words < h.all:
		return false
	case h.across == h.all && h.numbers == h.all && (corner >= 0 || w.isSum(cells)):
		return false // of the days of a month each can be a sum too
	case h.across < h.all && (corner >= 0 || strange), strange && h.numbers > 0:
		return false
	case h.across < h.all:
		w.otherWords(cells, h.others)
	default:
		w.headsBlock(row, cells, corner)
	}
	if w.walking {
		w.Rows++
		w.LeftOut++
	}
	return true
}

// beginsWithHeading reports whether the first cell that is filled is a name or a day, and no figure.
func (w *wide) beginsWithHeading(cells []string) bool {
	for _, b := range w.block {
		if cell := cellAt(cells, b.index); cell != "" {
			return w.guess.isDay(cell) || !startsAsFigure(cell)
		}
	}
	return false
}

// daysBelowMonths reports whether the days above the cells are made up of months and numbers.
func (w *wide) daysBelowMonths() bool {
	return w.Mapping.Wide.Across == FieldDate && slices.ContainsFunc(w.block, func(b blockColumn) bool { return b.under != "" })
}

// blockHeads is what stands in a row where figures do: how many cells are filled, can be
// headings of what runs across, are numbers, or say what their columns hold; others are those
// that say of their columns what these do not hold.
type blockHeads struct {
	all, across, numbers, words int
	others                      []blockColumn
}

// headingsIn looks at a row as at headings. Where one of them is known, all can be some.
func (w *wide) headingsIn(cells []string, named bool) (h blockHeads) {
	named = named || w.Mapping.Wide.Across != FieldDate && slices.ContainsFunc(w.block, func(b blockColumn) bool {
		cell := cellAt(cells, b.index)
		return cell != "" && !isFigure(cell) && w.isAcross(cell, false) && !tables.IsTotal(cell)
	})
	for _, b := range w.block {
		cell := cellAt(cells, b.index)
		if cell == "" {
			continue
		}
		h.all++
		if w.isAcross(cell, named) {
			h.across++
		}
		if isFigure(cell) {
			h.numbers++
		}
		if field, of, unit := w.guess.cellWord(cell); field != "" {
			h.words++
			if !w.figures[b.figure].isOf(field, of, unit) {
				h.others = append(h.others, b)
			}
		}
	}
	return h
}

// headsBlock takes up the names or days above a further block. corner is the column that says
// what it holds; -1 where none does.
func (w *wide) headsBlock(row int, cells []string, corner int) {
	if w.last.Row > 0 {
		w.noteOf(w.last)
	}
	w.last = Problem{}
	if corner >= 0 {
		if field, of, unit := w.guess.cellWord(cells[corner]); !w.holds(field, of, unit) {
			w.noteOf(Problem{Code: WideSheet, Row: row, Column: tables.Column(corner), Field: FieldCell, Sent: cells[corner], OfHeadings: true,
				Message: message.F("A further block says %s here, and the cells are taken for something else: bring it in as a sheet of its own.", message.Quoted(cells[corner]))})
		}
	}
	w.otherCorner(row, cells, corner)
	w.beyond(row, cells)
	w.monthOfDays(row, cells)
	w.monthInCorner(cells)
	w.runsAcross(row, cells)
	w.headed = max(w.headed, len(cells))
}

// otherCorner asks about a further block of which the corner says neither what the first one's does nor
// what its rows are of: it may hold hives, frames or a plan.
func (w *wide) otherCorner(row int, cells []string, corner int) {
	for _, c := range w.columns {
		cell := ""
		if c.index < len(w.Mapping.Columns) {
			cell = w.itself(c)
		}
		f := w.guess.named(wordsOf(cell), nil)
		if cell == "" || c.index == corner || strings.EqualFold(cell, c.Heading) || f != nil && f.field == c.Field || isTimeTitle(cell) {
			continue
		}
		p := Problem{Code: WideSheet, Row: row, Column: tables.Column(c.index), Field: FieldCell, Sent: cell, OfHeadings: true,
			Message: message.F("A further block says %s here, and the cells are taken for something else: bring it in as a sheet of its own.", message.Quoted(cell))}
		if !w.saysOther(cell) {
			if w.leaveOut[row] {
				continue
			}
			p.OfHeadings, p.Column = false, "" // what stands below it is read, by these headings
			p.Message = message.F("A further block stands below %s. Does it hold the same as the first one? Leave this row out if it does%s, or bring the block in as a sheet of its own.", message.Quoted(cell), message.Option("leave_out_rows"))
		}
		w.noteOf(p)
	}
}

// monthOfDays asks about a further block with the days of a month, where no title since the last
// one says of which: it may be the next one's. A page has the days of the one before once more.
func (w *wide) monthOfDays(row int, cells []string) {
	first, same := -1, true
	for _, b := range w.block {
		cell := cellAt(cells, b.index)
		if first < 0 && isDayNumber(cell) {
			first = b.index
		}
		same = same && cell == cellAt(w.days, b.index)
	}
	if first >= 0 && !same && !w.monthIsNew {
		w.noteOf(Problem{Code: NoDate, Row: row, Column: tables.Column(first), Field: FieldDate, Sent: cells[first], OfHeadings: true,
			Message: message.F("Days of a month stand here, and no row above them says of which month: write it into a row of its own above them, such as August 2026.")})
	}
	w.days, w.monthIsNew = slices.Clone(cells), false
}

// otherMonth asks about rows below a title that says another month, where no days stand below that.
func (w *wide) otherMonth() {
	if !w.monthIsNew || !slices.ContainsFunc(w.spans, func(s span) bool { return isDayNumber(s.said) }) {
		return
	}
	w.noteOf(Problem{Code: NoDate, Row: w.row, Field: FieldDate, Sent: w.month,
		Message: message.F("Rows begin here below %s, and the days above them are those of the month before. Write the days of that month above them, or bring them in as a sheet of their own.", message.Quoted(w.month))})
	w.monthIsNew = false
}

// wordsAlone asks about a row with words and no figure where figures stand, and neither name nor
// day: below it may stand a further block.
func (w *wide) wordsAlone(cells []string) bool {
	some, words := min(2, len(w.block)), 0
	for _, b := range w.block {
		switch cell := cellAt(cells, b.index); {
		case tables.Missing(cell):
		case startsAsFigure(cell):
			return false
		default:
			words++
		}
	}
	for _, c := range w.columns {
		if c.index >= 0 && c.index < len(w.Mapping.Columns) && cellAt(cells, c.index) != "" {
			return false
		}
	}
	if words < some {
		return false
	}
	if w.walking {
		w.Rows++
	}
	w.noteOf(Problem{Code: WideSheet, Row: w.row, Field: FieldCell,
		Message: message.F("Words stand here in place of figures. If a further block begins here, bring it in as a sheet of its own; if these are remarks, leave the row out%s.", message.Option("leave_out_rows"))})
	return true
}

// isAcross reports whether a cell can be a heading of what runs across; named is true where
// its row has the heading of another column.
func (w *wide) isAcross(cell string, named bool) bool {
	if tables.IsTotal(cell) {
		return true
	}
	if w.Mapping.Wide.Across == FieldDate {
		return isDay(cell, w.table) || isMonth(cell) || w.month != "" && isDayNumber(cell)
	}
	if isFigure(cell) || tables.Missing(cell) {
		return false
	}
	return named || w.guess.isName(cell) || w.names[sameName(cell)] != nil
}

// otherWords asks about headings of a further block that say of columns what they do not hold.
func (w *wide) otherWords(cells []string, columns []blockColumn) {
	for _, b := range columns {
		p := Problem{Code: WideSheet, Row: w.row, Column: tables.Column(b.index), Field: w.figures[b.figure].Field, Sent: cellAt(cells, b.index), OfHeadings: true,
			Message: message.F("A further block has another heading here than the first one: bring it in as a sheet of its own.")}
		if w.walking && w.place(&p, nil) {
			w.add(p)
		}
	}
}

// beyond asks about headings of a further block above columns that are not read.
func (w *wide) beyond(row int, cells []string) {
	for i, cell := range cells {
		unread := i >= len(w.Mapping.Columns) || w.Mapping.Columns[i].Field == ""
		if !w.walking || !unread || cell == "" || tables.IsTotal(cell) || !w.isAcross(cell, true) {
			continue
		}
		w.add(Problem{Code: MissingField, Row: row, Column: tables.Column(i), Field: FieldCell, Sent: cell, OfHeadings: true,
			Message: message.F("A further block has a heading here, and the column is not read: say that it holds cells, or bring the block in as a sheet of its own.")})
	}
}

// aboveHeadings asks about a row above the headings with figures where the cells are: it may
// be of a block that would go unread.
func (w *wide) aboveHeadings(cells []string) {
	for _, b := range w.block {
		cell := cellAt(cells, b.index)
		if !w.walking || w.leaveOut[w.row] || !isFigure(cell) || fourDigits.MatchString(cell) {
			continue
		}
		w.add(Problem{Code: WideSheet, Row: w.row, Column: tables.Column(b.index), Field: FieldCell, Sent: cell,
			Message: message.F("This figure stands above the headings, and is not read: say which row has the headings%s, or leave the row out%s.", message.Option("heading_row"), message.Option("leave_out_rows"))})
		return
	}
}

// isSum reports whether a row sums others up: it says so, or it has neither name nor day
// of its own, and its figures are the sums of those above.
func (w *wide) isSum(cells []string) bool {
	for _, c := range w.columns {
		if c.index < 0 || c.index >= len(w.Mapping.Columns) || c.Field != FieldDate && c.info.noun == "" {
			continue
		}
		if own := w.cell(c); own != "" {
			if tables.IsTotal(own) {
				return true
			}
			if c.Field == FieldDate || slices.Contains(across[w.Mapping.Of], c.Field) {
				return false
			}
		}
	}
	for i, cell := range cells {
		if tables.IsTotal(cell) && !slices.ContainsFunc(w.block, func(b blockColumn) bool { return b.index == i }) {
			return true
		}
	}
	return w.sumsUp(cells)
}

func (w *wide) sumsUp(cells []string) bool {
	const fewest = 2
	same := 0
	for i, b := range w.block {
		f, err := tables.ParseFigure(cellAt(cells, b.index), tables.MarkUnknown)
		switch {
		case tables.Missing(cellAt(cells, b.index)):
		case err != nil || !isTotalOf(f.Value, w.sums.block[i]):
			return false
		default:
			same++
		}
	}
	return same > 0 && w.sums.rows >= fewest
}
