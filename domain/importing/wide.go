package importing

import (
	"errors"
	"slices"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// Wide says how a sheet is laid out of which one row holds several pulls, readings or
// temperatures: one for each yard, tank or day that runs across above its cells.
type Wide struct {
	// Across is what runs across: a field of names, or FieldDate. It is Nothing where each
	// row is one thing after all, and empty where that has to be asked.
	Across Field `json:"across,omitempty"`
	// Row is the row where it stands, from 1; 0 where that is the row with the headings.
	Row int `json:"row,omitempty"`
	// Cells is what columns hold that are taken for FieldCell; empty where that has to be
	// asked. Of, Unit and DecimalMark are as those of a Column.
	Cells       Field       `json:"cells,omitempty"`
	Of          string      `json:"of,omitempty"`
	Unit        Unit        `json:"unit,omitempty"`
	DecimalMark DecimalMark `json:"decimal_mark,omitempty"`
	// MonthDay is the day of the month, from 1 to 31, that stands for a month alone; its last day
	// where it has fewer. 0 where that was not said.
	MonthDay int `json:"month_day,omitempty"`
}

// Nothing runs across: the sheet is not wide, whatever it looks like.
const Nothing Field = "nothing"

// FieldCell is a figure of a wide sheet; what it is of, Wide says once for all of them.
const FieldCell Field = "cell"

// across lists what may run across in a kind of table.
var across = map[Kind][]Field{
	Pulls:           {FieldYard, FieldDate},
	Readings:        {FieldTank, FieldLot, FieldContainer, FieldDate},
	TemperatureLogs: {FieldTank, FieldRoom, FieldDate},
	HiveCounts:      {FieldYard, FieldDate},
}

// cellsOf lists what the cells of a wide sheet may be.
var cellsOf = map[Kind][]Field{
	Pulls:           {FieldSupers, FieldGross},
	Readings:        {FieldMoisture, FieldRefractive, FieldBrix, FieldHMF, FieldDiastase, FieldColour, FieldConductivity, FieldFreeAcidity, FieldPH},
	TemperatureLogs: {FieldTemperature, FieldHumidity},
	HiveCounts:      {FieldHives},
}

// AcrossOf lists what may run across in a wide table of a kind; none where the kind has no wide
// tables.
func AcrossOf(kind Kind) []Field { return across[kind] }

// CellsOf lists what the cells of a wide table of a kind may be.
func CellsOf(kind Kind) []Field { return cellsOf[kind] }

// EntryOf is the kind of entry that cells of a wide table become, a day's of a log one; empty
// where the kind has no wide tables.
func EntryOf(kind Kind) ledger.Kind {
	return map[Kind]ledger.Kind{Pulls: ledger.KindPull, Readings: ledger.KindReading, TemperatureLogs: ledger.KindTemperatureLog, HiveCounts: ledger.KindHiveCount}[kind]
}

// IsWide reports whether the mapping is of a wide sheet.
func (m *Mapping) IsWide() bool { return m.Wide != nil && m.Wide.Across != Nothing }

// wide is a wide sheet as it is read. Each of its rows is parted into as many as it has
// names or days above filled cells. A part stands where the row stands: the cells of the
// block are emptied, and behind all columns of the sheet come what runs across and the
// figures.
type wide struct {
	*taking
	guess guess // knows what headings say
	// other is for what is a room among tanks, or a tank among rooms; nil in other tables.
	across, other *column
	// block are the columns with figures, in the order of the sheet, and figures what they are
	// of, each once.
	block   []blockColumn
	figures []*column
	// walking is true where problems are noted and rows counted.
	walking bool
	// acrossRow is where the names or days stand that hold for the rows at hand, and spans are
	// the groups of columns below them.
	acrossRow int
	spans     []span
	names     map[string][]int // the spans by what is above them
	// month is what a title says of the day numbers below it; empty where none does.
	month string
	// monthIsNew is true where no days stand below that title yet, and days is the last row of days.
	monthIsNew bool
	days       []string
	daysDown   days // of the rows since the last headings
	// numbers are the days of the month that stand for days, dayTyped is that of the row at hand, and
	// wholeDays is true where others have their month.
	numbers   numbering
	dayTyped  string
	wholeDays bool
	// yearTurnsDown is true where the year turns among the days of the rows.
	yearTurnsDown bool
	// at is the group at hand; nil for a row as a whole.
	at     *span
	merged map[int][]tables.Span
	// noted are the problems of headings and of whole columns, and notedInRow those of the row at
	// hand.
	noted, notedInRow map[noted]bool
	sums              columnSums
	figured           figuredBlock
	lastFigured       int // the last row with figures
	looked            int // how much was looked at for sums
	totals            []totalColumn
	// headed is how many fields the headings of a text file have room for.
	headed int
	// titles are what stands alone above the headings, and last what did so since the last row
	// with figures.
	titles map[string]bool
	last   Problem
	// strange are columns that are not read and may hold cells.
	strange []int
	legend  legend
	// aside are texts that a person said to tell nothing of the figures.
	aside map[string]bool
	// isTotal is true where the row at hand sums others up.
	isTotal bool
	// cells are those of the row at hand, and parted has room for a part of it.
	cells, parted []string
}

// blockColumn is a column with figures: where it stands, which of the figures it holds, and
// what runs across above it where its heading says more than that.
type blockColumn struct {
	index, figure int
	under         string
}

// span is what stands below one name or day: a column for each figure.
type span struct {
	above   string
	said    string // what stands there, where that is less
	column  int    // where that stands
	columns []blockColumn
}

// noted is a problem that was noted: one of a heading is one, however many rows are below it.
type noted struct {
	row    int
	column string
	code   Code
}

// compileWide makes a wide sheet ready to be read.
func (k *taking) compileWide() error {
	m := &k.Mapping
	said := m.Wide
	switch {
	case across[m.Of] == nil:
		return fault.New(fault.Invalid, "A table of %s cannot be wide: give each of them a row of its own.", string(m.Of))
	case said.Across != "" && !slices.Contains(across[m.Of], said.Across):
		return fault.New(fault.Invalid, "In a table of %s, %s cannot run across.", string(m.Of), message.Quoted(said.Across))
	case said.Cells != "" && !slices.Contains(cellsOf[m.Of], said.Cells):
		return fault.New(fault.Invalid, "In a table of %s, the cells cannot be %s.", string(m.Of), message.Quoted(said.Cells))
	case m.HeadingRow == 0:
		return fault.New(fault.Invalid, "A wide sheet has headings: say which row they are in (heading_row).")
	case said.Row > m.HeadingRow:
		return fault.New(fault.Invalid, "What runs across stands in row %s, below the headings in row %s: it can only be that row or one above.", said.Row, m.HeadingRow)
	case said.MonthDay < 0 || said.MonthDay > lastDay:
		return fault.New(fault.Invalid, "The day that stands for a month is from 1 to %s.", lastDay)
	case said.Cells != "" && said.Unit != "" && !infoOf(m.Of, said.Cells).measure.takes(said.Unit):
		return fault.New(fault.Invalid, "The cells cannot be in %s.", message.Quoted(said.Unit))
	}
	w := &wide{taking: k, guess: guess{book: k.book, table: k.table, Mapping: Mapping{Of: m.Of}}, noted: map[noted]bool{}, notedInRow: map[noted]bool{}, aside: map[string]bool{}, merged: map[int][]tables.Span{}}
	for _, s := range k.table.Merged {
		if s.Last > s.First {
			w.merged[s.Row] = append(w.merged[s.Row], s)
		}
	}
	for row, is := range m.Rows {
		k.leaveOut[row] = k.leaveOut[row] || is == LeftAside
	}
	for i := range m.Columns {
		if err := w.addColumn(&m.Columns[i], i); err != nil {
			return err
		}
	}
	if !w.askLayout() {
		return nil
	}
	w.addAcross()
	w.addTotals()
	w.strange, w.legend = w.strangeColumns(), m.legendOf()
	k.wide = w
	return nil
}

// askLayout asks what nothing in the sheet says: what runs across, what the cells are.
func (w *wide) askLayout() (settled bool) {
	m := &w.Mapping
	before := w.all
	if len(w.block) == 0 && !slices.ContainsFunc(m.Columns, func(c Column) bool { return c.Field == FieldCell }) {
		w.add(Problem{Code: WideSheet, Field: FieldCell, Message: message.F("The sheet is said to be wide, and no column holds its cells: say which columns are cells, or that nothing runs across%s.", message.Option("wide"))})
		return false
	}
	if m.Wide.Across == "" {
		w.add(Problem{Code: WideSheet, Field: FieldCell, DidYouMean: fieldNames(append(slices.Clone(across[m.Of]), Nothing)),
			Message: message.F("The sheet looks wide: figures stand below %s. Say what these are, so that each filled cell becomes an entry, or that nothing runs across%s.", w.headings(), message.Option("wide: across"))})
	}
	if m.Wide.Cells == "" && slices.ContainsFunc(m.Columns, func(c Column) bool { return c.Field == FieldCell }) {
		p := Problem{Code: WideSheet, Field: FieldCell, DidYouMean: fieldNames(cellsOf[m.Of]),
			Message: message.F("The sheet is wide, and nothing in it says what the figures below %s are. Say what the cells are%s.", w.headings(), message.Option("wide: cells"))}
		title, err := doubtfulTitle(w.table, m)
		w.failed = errors.Join(w.failed, err)
		if title != "" {
			p.Message = message.F("The sheet is wide, and it says %s. If each figure below %s is that of its own day all the same, say what the cells are%s. If they are sums so far, rates, a plan or what went back, do not bring the sheet in.", message.Quoted(title), w.headings(), message.Option("wide: cells"))
		}
		w.add(p)
	}
	return w.all == before
}

func fieldNames(fields []Field) (out []string) {
	for _, f := range fields {
		out = append(out, string(f))
	}
	return out
}

// headings are the first of those above cells.
func (w *wide) headings() (out message.List) {
	const few = 5
	for _, c := range w.Mapping.Columns {
		if c.Field == FieldCell || w.isBlock(&c) {
			if len(out) == few {
				return append(out, message.Verbatim("…"))
			}
			out = append(out, message.Verbatim(columnName(c.Column, c.Heading)))
		}
	}
	return out
}

// isBlock reports whether a column holds figures, which are those of what runs across.
func (w *wide) isBlock(c *Column) bool {
	info := infoOf(w.Mapping.Of, c.Field)
	return info != nil && info.measure >= counts && c.Field != FieldOwn
}

// addColumn takes up a column of the sheet: one of the block, or one that holds for its row.
func (w *wide) addColumn(c *Column, index int) error {
	field := Column{Column: c.Column, Field: c.Field, Of: c.Of, Unit: c.Unit, DecimalMark: c.DecimalMark}
	switch {
	case c.Field == FieldOwn:
		return fault.New(fault.Invalid, "A wide sheet cannot hold %s: give each reading a row of its own.", message.Quoted(c.Field))
	case c.Field == FieldCell:
		said := w.Mapping.Wide
		if field.Field, field.Of, field.Unit, field.DecimalMark = said.Cells, said.Of, said.Unit, said.DecimalMark; said.Cells == "" {
			return nil
		}
	case !w.isBlock(c):
		return w.taking.addColumn(c, index)
	}
	if c.Column != tables.Column(index) || c.Unit != "" && !infoOf(w.Mapping.Of, field.Field).measure.takes(c.Unit) {
		return w.taking.addColumn(c, index) // which says what is wrong
	}
	w.block = append(w.block, blockColumn{index, w.figure(field), c.Under})
	return nil
}

// figure is the place of what a column holds among the figures.
func (w *wide) figure(c Column) int {
	for i, had := range w.figures {
		if had.Field != c.Field || sameName(had.Of) != sameName(c.Of) {
			continue
		}
		if had.Unit != c.Unit {
			w.add(Problem{Code: NoUnit, Column: c.Column, Field: c.Field, Sent: string(c.Unit),
				Message: message.F("Columns %s and %s hold the same in two units: say one for both, or bring them in as two sheets.", had.Column.Column, c.Column)})
		}
		switch mark := c.DecimalMark.mark(); {
		case had.mark == tables.MarkUnknown:
			had.mark = mark
		case mark != tables.MarkUnknown && mark != had.mark:
			w.add(Problem{Code: TwoFigures, Column: c.Column, Field: c.Field, Sent: string(c.DecimalMark),
				Message: message.F("Columns %s and %s hold the same with two decimal marks: say one for both, or bring them in as two sheets.", had.Column.Column, c.Column)})
		}
		return i
	}
	w.figures = append(w.figures, &column{Column: &c, info: infoOf(w.Mapping.Of, c.Field), mark: c.DecimalMark.mark()})
	return len(w.figures) - 1
}

// addAcross takes up what the parts of rows have behind the columns of the sheet.
func (w *wide) addAcross() {
	m := &w.Mapping
	first, last := m.Columns[w.block[0].index].Column, m.Columns[w.block[len(w.block)-1].index].Column
	where := first
	if last != first {
		where += "–" + last
	}
	behind := func(field Field) *column {
		return &column{Column: &Column{Column: where, Field: field}, info: infoOf(m.Of, field), order: m.Dates}
	}
	w.across = behind(m.Wide.Across)
	all := []*column{w.across}
	if others := map[Field]Field{FieldTank: FieldRoom, FieldRoom: FieldTank}; m.Of == TemperatureLogs && others[m.Wide.Across] != "" {
		w.other = behind(others[m.Wide.Across]) // tanks and rooms stand side by side
		all = append(all, w.other)
	}
	for _, c := range w.figures {
		c.Column.Column = where
		all = append(all, c)
	}
	for i, c := range all {
		c.index = len(m.Columns) + i
		w.takeUp(c)
	}
}

// place says where a problem stands in a wide sheet: at the cell, or at the name or day
// above it. It reports whether the problem is new: those of a row or a heading are met with
// once for each part.
func (w *wide) place(p *Problem, c *column) (isNew bool) {
	w.where(p, c)
	of, key := w.notedInRow, noted{p.Row, p.Column, p.Code}
	switch {
	case ofColumn[p.Code] && c != nil:
		of, key = w.noted, noted{column: c.Column.Column, code: p.Code} // one answer mends all
	case p.Row == w.acrossRow:
		of = w.noted
	}
	if of[key] && key.column != "" {
		return false
	}
	of[key] = true
	return true
}

// where puts the place of a cell of the part at hand into a problem.
func (w *wide) where(p *Problem, c *column) {
	s := w.at
	if s == nil {
		return
	}
	if c != nil && (c == w.across || c == w.other) {
		p.Row, p.Column, p.Heading, p.Sent, p.OfHeadings = w.acrossRow, tables.Column(s.column), "", s.above, true
		return
	}
	if c != nil && !slices.Contains(w.figures, c) {
		return
	}
	at := s.columns[0]
	for _, b := range s.columns {
		if c == w.figures[b.figure] {
			at = b
		}
	}
	p.Column, p.Heading, p.Sent = tables.Column(at.index), s.above, cellAt(w.cells, at.index)
}

// isOpen reports whether it is asked what rows or blocks of the sheet are.
func (w *wide) isOpen() bool {
	return slices.ContainsFunc(w.list, func(p *Problem) bool { return p.Code == WideSheet })
}

// isAsked reports whether it is asked why the name or day of the part at hand stands above several columns.
func (w *wide) isAsked() bool { return w.at != nil && len(w.names[sameName(w.at.above)]) > 1 }

// cellName is the name of the first cell of the part at hand, D7; empty where a row is whole.
func (k *taking) cellName() string {
	if k.wide == nil || k.wide.at == nil {
		return ""
	}
	return tables.Column(k.wide.at.columns[0].index) + asText(k.row)
}

// whose is the name that the part at hand is of, as the sheet has it; empty where a row is whole.
func (k *taking) whose() string {
	if k.wide == nil || k.wide.at == nil {
		return ""
	}
	if k.Mapping.Wide.Across != FieldDate {
		return k.wide.at.above
	}
	for _, field := range across[k.Mapping.Of] {
		if c := k.columns[field]; c != nil && field != FieldDate && k.cell(c) != "" {
			return k.cell(c)
		}
	}
	return ""
}

// concerns reports whether a comment on the row at hand is of the part at hand: of one of
// its cells, or of one that holds for the row.
func (w *wide) concerns(n int) bool {
	at := w.table.RemarkedAt[w.row]
	if w.at == nil || n >= len(at) {
		return true
	}
	in := func(b blockColumn) bool { return b.index == at[n] }
	return slices.ContainsFunc(w.at.columns, in) || !slices.ContainsFunc(w.block, in)
}

func cellAt(cells []string, index int) string {
	if index < len(cells) {
		return cells[index]
	}
	return ""
}

// part is what of a wide sheet's row is at hand, and goTo goes back to it.
func (k *taking) part() *span {
	if k.wide == nil || k.wide.at == nil {
		return nil
	}
	return k.wide.at
}

func (k *taking) goTo(s *span) {
	if k.wide != nil {
		k.wide.at, k.wide.cells = s, nil
	}
}

// answerWide takes over what was said of a wide sheet.
func (m *Mapping) answerWide(said *Wide) {
	switch {
	case said == nil:
		return
	case m.Wide == nil || said.Across == Nothing:
		w := *said
		m.Wide = &w
		return
	}
	w := *m.Wide
	if said.Across != "" {
		w.Across = said.Across
	}
	if said.Row != 0 {
		w.Row = said.Row
	}
	if said.Cells != "" && said.Cells != w.Cells {
		w.Cells, w.Of, w.Unit, w.DecimalMark = said.Cells, "", "", ""
	}
	if said.Of != "" {
		w.Of = said.Of
	}
	if said.Unit != "" {
		w.Unit = said.Unit
	}
	if said.DecimalMark != "" {
		w.DecimalMark = said.DecimalMark
	}
	if said.MonthDay != 0 {
		w.MonthDay = said.MonthDay
	}
	m.Wide = &w
}

// inRowOf is what was said of a sheet, said of another one, where what runs across stands in a
// row of its own.
func (w Wide) inRowOf(other *Wide) *Wide {
	if other != nil {
		w.Row = other.Row
	}
	return &w
}
