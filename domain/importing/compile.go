package importing

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// needed lists, for each kind of table, sets of fields of which one must be there.
var needed = map[Kind][][]Field{
	Yards:           {{FieldName}},
	Pulls:           {{FieldDate}, {FieldYard}, {FieldSupers}},
	Runs:            {{FieldDate}, {FieldName}},
	Readings:        {{FieldDate}, {FieldTank, FieldLot, FieldContainer}, {FieldMoisture, FieldRefractive, FieldBrix, FieldHMF, FieldDiastase, FieldColour, FieldConductivity, FieldFreeAcidity, FieldPH, FieldOwn}},
	Lots:            {{FieldDate}, {FieldLot}},
	Containers:      {{FieldDate}, {FieldLot}, {FieldTank}, {FieldContainer}, {FieldContainerKind}, {FieldGross, FieldNet}},
	TemperatureLogs: {{FieldDate}, {FieldTank, FieldRoom}, {FieldTemperature}},
	HiveCounts:      {{FieldDate}, {FieldYard}, {FieldCountName}, {FieldHives}},
	RunSupers:       {{FieldDate, FieldRun}, {FieldYard}, {FieldSupers}},
	Transfers:       {{FieldDate}, {FieldFromTank}, {FieldToTank}, {FieldHoney}},
	Sales:           {{FieldDate}, {FieldBuyer}, {FieldContainer, FieldLot}},
}

// compile makes the mapping ready to read by, and looks at the columns as wholes:
// which decimal mark, which order of dates, what sums would be. The error is of a
// mapping that is none.
func (k *taking) compile() error {
	m := &k.Mapping
	if needed[m.Of] == nil {
		return fault.New(fault.Invalid, "There is no kind of table %s.", message.Quoted(m.Of))
	}
	k.columns, k.leaveOut, k.headings = map[Field]*column{}, map[int]bool{}, map[string]bool{}
	for _, c := range m.Columns {
		k.headings[c.Heading] = c.Heading != ""
	}
	for _, row := range m.LeaveOutRows {
		k.leaveOut[row] = true
	}
	if err := k.addColumns(); err != nil {
		return err
	}
	for field := range m.Fixed {
		info := infoOf(m.Of, field)
		if info == nil || field == FieldOwn || field == FieldCell { // which one, nothing would say
			return fault.New(fault.Invalid, "A table of %s has no field %s.", string(m.Of), message.Quoted(field))
		}
		if k.columns[field] == nil {
			k.columns[field] = &column{Column: &Column{Field: field}, info: info, index: -1, mark: tables.MarkPoint}
		}
	}
	if !m.IsWide() || k.wide != nil {
		k.missing()
		k.askInOut()
		k.askCorrected()
		k.askOfTable()
	}
	if k.all > 0 {
		return nil
	}
	if err := k.profile(); err != nil {
		return err
	}
	k.askCalled()
	k.tall = map[int][]tables.Tall{}
	for _, t := range k.table.Tall {
		k.tall[t.Column] = append(k.tall[t.Column], t)
	}
	for _, of := range k.tall {
		slices.SortFunc(of, func(a, b tables.Tall) int { return a.First - b.First })
	}
	k.take = map[Kind]func() error{
		Yards: k.yard, Pulls: k.pull, Runs: k.run, Readings: k.reading, Lots: k.lot, Containers: k.container, TemperatureLogs: k.point,
		HiveCounts: k.hiveCount, RunSupers: k.supersOfRun, Transfers: k.transfer, Sales: k.sale,
	}[m.Of]
	return nil
}

func (k *taking) addColumns() error {
	if k.Mapping.IsWide() {
		return k.compileWide()
	}
	for i := range k.Mapping.Columns {
		if err := k.addColumn(&k.Mapping.Columns[i], i); err != nil {
			return err
		}
	}
	return nil
}

func (k *taking) addColumn(c *Column, index int) error {
	if c.Field == "" {
		return nil
	}
	info := infoOf(k.Mapping.Of, c.Field)
	switch {
	case info == nil:
		return fault.New(fault.Invalid, "A table of %s has no field %s.", string(k.Mapping.Of), message.Quoted(c.Field))
	case c.Field == FieldCell && !k.Mapping.IsWide():
		return fault.New(fault.Invalid, "Column %s is taken for a cell of a wide sheet: say what runs across (wide).", columnName(c.Column, c.Heading))
	case c.Unit != "" && !info.measure.takes(c.Unit) && c.Field != FieldOwn:
		return fault.New(fault.Invalid, "Column %s cannot be in %s.", columnName(c.Column, c.Heading), message.Quoted(c.Unit))
	case c.Column != tables.Column(index):
		return fault.New(fault.Invalid, "The mapping's column %s is %s in the sheet: a mapping lists all columns in order.", c.Column, tables.Column(index))
	}
	col := &column{Column: c, info: info, index: index, mark: c.DecimalMark.mark(), order: k.Mapping.Dates}
	switch info.measure {
	case dates, clocks:
		col.zone = tables.ZoneIn(c.Heading)
		col.am, col.pm = halves(c.Heading)
	case masses, temperatures:
		col.units = k.unitColumns(index)
	default:
		col.scale = scaleIn(c.Field, c.Heading)
	}
	k.takeUp(col)
	return nil
}

// takeUp takes a column for what it holds, where no other holds the same.
func (k *taking) takeUp(col *column) {
	c := col.Column
	had := k.columns[c.Field]
	if c.Of != "" {
		had = nil
		for _, other := range slices.Concat(k.supers, k.owns) {
			if other.Field == c.Field && sameName(other.Of) == sameName(c.Of) {
				had = other
			}
		}
	}
	switch {
	case had != nil:
		k.add(Problem{Code: TwoValues, Column: c.Column, Heading: c.Heading, Field: c.Field,
			Message: message.F("Columns %s and %s are both taken for %s: only one can be.", had.Column.Column, c.Column, strings.TrimSpace(string(c.Field)+" "+c.Of))})
	case c.Field == FieldOwn:
		k.addOwn(col)
	case c.Of != "":
		k.supers = append(k.supers, col)
	default:
		k.columns[c.Field] = col
	}
}

// missing lists the fields without which no row can be read.
func (k *taking) missing() {
	for _, any := range needed[k.Mapping.Of] {
		if slices.ContainsFunc(any, k.isThere) {
			continue
		}
		if yards := k.yardHeadings(); any[0] == FieldYard && len(yards) > 1 {
			text := message.F("Columns are headed with the yards %s: give each pull a row of its own, with its yard in a column and its supers in another.", yards)
			if k.Mapping.Of != Pulls {
				text = message.F("Columns are headed with the yards %s: give each yard a row of its own, with its name in a column and its figure in another.", yards)
			}
			k.add(Problem{Code: MissingField, Field: FieldYard, Message: text})
			continue
		}
		if k.wide != nil && any[0] == FieldSupers {
			k.add(Problem{Code: MissingField, Field: FieldSupers,
				Message: message.F("The cells are weights alone, and a pull also says how many supers came: put a column with the supers beside each column with a weight.")})
			continue
		}
		var list message.Either
		for _, f := range any {
			list = append(list, f.text())
		}
		k.add(Problem{Code: MissingField, Field: any[0],
			Message: message.F("No column says the %s: say which column it is, or give one value for all rows%s.", list, message.Option("fixed"))})
	}
}

// isThere reports whether a column holds a field.
func (k *taking) isThere(f Field) bool {
	return k.columns[f] != nil || f == FieldSupers && len(k.supers) > 0 || f == FieldOwn && len(k.owns) > 0
}

// yardHeadings are the columns headed with the name of a yard.
func (k *taking) yardHeadings() (out message.List) {
	for _, c := range k.Mapping.Columns {
		if _, known := k.book.Names(ledger.KindYard, sameName(c.Heading)); known && c.Field == "" {
			out = append(out, message.Verbatim(c.Heading))
		}
	}
	return out
}

// sums are those of the columns that can be summed, to know a last row of totals
// that says nothing of being one.
type sums struct {
	columns []*column
	total   []float64
	last    []float64
	rows    []int // with figures, above the last one
	row     int
	dated   bool
}

// profiled is a column with what its cells say of its figures or dates.
type profiled struct {
	*column
	marks  tables.Marks
	orders tables.Orders
	// timed and untimed count serial numbers of dates with and without a time.
	timed, untimed int
	turning        turning
}

// profile looks at every row once, before any is taken.
func (k *taking) profile() error {
	var figured, dated []*profiled
	k.sums, k.reads = &sums{}, k.ordered()
	for _, c := range k.reads {
		switch {
		case c.index < 0:
		case c.info.measure == dates:
			dated = append(dated, &profiled{column: c})
		case c.info.measure >= counts:
			figured = append(figured, &profiled{column: c})
			if c.info.measure == masses || c.info.measure == counts {
				k.sums.columns = append(k.sums.columns, c)
			}
		}
	}
	k.sums.total, k.sums.last = make([]float64, len(k.sums.columns)), make([]float64, len(k.sums.columns))
	k.sums.rows = make([]int, len(k.sums.columns))
	if k.sides = (sides{}); k.Mapping.Of == Yards {
		k.sides.ofBook(k.book)
	}
	if k.leavesUnitOpen() {
		k.elsewhere = elsewhere{}
		k.elsewhere.noteTable(k.table)
	}
	rows := 0
	k.unread.begin(&k.Mapping)
	err := k.rows(func(row int, cells []string) bool {
		if row == k.Mapping.HeadingRow && k.table.Separator != 0 {
			k.width = k.room(len(cells))
		}
		if k.elsewhere != nil {
			k.elsewhere.noteRow(&k.Mapping, row, cells)
		}
		if row <= k.Mapping.HeadingRow {
			k.noteHeadings(row, cells)
			k.noteAbove(row, cells)
			return true
		}
		if rows++; rows > mostRows {
			return false
		}
		k.lengths.note(len(cells))
		k.row, k.cells = row, cells
		if k.wide == nil { // else what comes is a part of a row
			k.unread.look(row, cells)
		}
		if k.leaveOut[row] {
			return true
		}
		for _, p := range figured {
			if cell := k.cell(p.column); !k.isNumber(cell) {
				p.marks.Note(cell)
			}
			k.sides.note(p.column, k.itself(p.column))
		}
		for _, p := range dated {
			p.orders.Note(k.cell(p.column))
			p.noteTime(k.table, k.itself(p.column))
			p.turning.note(k.stands(p.column), k.itself(p.column), k.table)
		}
		if _, was := k.wasTakenOut(); !was || k.Mapping.TakenOut == BringIn {
			k.sum() // what was taken out still says how people wrote
		}
		return true
	})
	if rows > mostRows {
		return fault.New(fault.TooLarge, "The sheet has more than %s rows. Nothing was stored. Bring it in as parts.", mostRows)
	}
	k.sides.sort()
	k.openKeptUnits()
	k.unread.done = err == nil && k.wide == nil
	for _, p := range figured {
		if p.mark == tables.MarkUnknown {
			p.mark = p.marks.Mark()
		}
	}
	for _, p := range dated {
		if p.order == tables.OrderUnknown {
			p.order = p.orders.Order()
		}
		p.column.bothOrders, p.column.timed = p.orders.Both(), p.timed > p.untimed
		k.askTurned(p)
	}
	return err
}

// noteHeadings notes what stands in the rows of the headings: those of groups and units have
// rows of their own.
func (k *taking) noteHeadings(row int, cells []string) {
	const most = 3
	if k.wide != nil || row <= k.Mapping.HeadingRow-most {
		return
	}
	if k.above == nil {
		k.above = map[string]bool{}
	}
	for _, cell := range cells {
		k.above[strings.ToLower(strings.Clone(cell))] = true
	}
}

// isNumber reports whether a cell of a workbook holds a number, and no text that shows one:
// what it shows is a matter of the program, and proves nothing of how people write.
func (k *taking) isNumber(cell string) bool { return k.table.Serials && tables.IsPlain(cell) }

func (p *profiled) noteTime(t *tables.Table, cell string) {
	serial, err := strconv.ParseFloat(cell, 64)
	switch w, known := tables.FromSerial(serial, t.Epoch1904); {
	case !t.Serials || err != nil || !known:
	case w.HasClock:
		p.timed++
	default:
		p.untimed++
	}
}

// lengths is how many fields the rows of a table have.
type lengths struct{ least, most int }

func (l *lengths) note(fields int) {
	if l.least == 0 || fields < l.least {
		l.least = fields
	}
	l.most = max(l.most, fields)
}

// uneven reports whether some rows have more fields than others: a comma that no quotes
// keep together makes one more of a row, and moves what stands behind it.
func (l lengths) uneven() bool { return l.most > l.least }

// room is how many fields rows may have: as many as the heading row, or as the
// mapping reads.
func (k *taking) room(headings int) int {
	for _, c := range k.ordered() {
		headings = max(headings, c.index+1)
	}
	return headings
}

// ordered gives the columns: those of which there may be several, then those of fields in the
// order of the sheet.
func (k *taking) ordered() (out []*column) {
	for _, c := range k.columns {
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b *column) int { return a.index - b.index })
	return slices.Concat(k.supers, k.owns, out)
}

func (k *taking) sum() {
	s := k.sums
	if len(s.columns) == 0 {
		return
	}
	for i, c := range s.columns {
		if s.total[i] += s.last[i]; s.last[i] != 0 {
			s.rows[i]++
		}
		f, err := tables.ParseFigure(k.cell(c), tables.MarkUnknown)
		if s.last[i] = f.Value; err != nil {
			s.last[i] = 0
		}
	}
	date := k.columns[FieldDate]
	s.row, s.dated = k.row, date != nil && k.itself(date) != ""
}

// isTotal reports whether the row at hand sums others up: it says so, or it is the
// last, has no date, and its figures are the sums of those above it.
func (k *taking) isTotal() bool {
	if k.wide != nil {
		return k.wide.isTotal
	}
	date := k.columns[FieldDate]
	if date != nil && k.itself(date) != "" && !tables.IsTotal(k.itself(date)) {
		return k.isTotalOfDay()
	}
	if k.Mapping.Of == Yards {
		if _, explicit := k.choice(NounYard, k.itself(k.columns[FieldName])); explicit {
			return false
		}
	}
	for i, cell := range k.cells {
		if tables.IsTotal(cell) && (i < 3 || date != nil) {
			return true
		}
	}
	s := k.sums
	if k.row != s.row || s.dated || date == nil {
		return false
	}
	same := 0
	for i, total := range s.total {
		switch {
		case s.last[i] == 0:
		case math.Abs(s.last[i]-total) > 0.005*math.Abs(total):
			return false
		default:
			same++
		}
	}
	return same > 0
}

// isTotalOfDay reports whether a row that has a date says that it is a sum where others have
// their name, or in a note that says no more.
func (k *taking) isTotalOfDay() bool {
	for _, f := range [...]Field{FieldName, FieldLot, FieldContainer, FieldCountName, FieldNote} {
		c := k.columns[f]
		if c == nil || c.info.measure != words || k.Mapping.Of == Yards {
			continue
		}
		const most = 2 // July total
		text := k.itself(c)
		if said := len(strings.Fields(text)); tables.IsTotal(text) && (said == 1 || said <= most && strings.Contains(strings.ToLower(text), "total")) {
			return true
		}
	}
	return false
}

// columnAt is the column that a part of an entry came from.
func (k *taking) columnAt(pointer string) *column {
	for _, at := range [...]struct {
		pointer string
		fields  []Field
	}{
		{"/occurred_at", []Field{FieldDate}}, {"/points", []Field{FieldDate}}, {"/name", []Field{FieldName, FieldYard}}, {"/code", []Field{FieldLot}},
		{"/container", []Field{FieldContainer}}, {"/gross_kg", []Field{FieldGross, FieldNet}}, {"/tare_kg", []Field{FieldTare}},
		{"/moisture_pct", []Field{FieldMoisture}}, {"/refractive_index", []Field{FieldRefractive}}, {"/brix_deg", []Field{FieldBrix}},
		{"/sample_temperature_c", []Field{FieldSampleC}}, {"/yard_id", []Field{FieldYard}}, {"/super_kind_id", []Field{FieldSuperKind}}, {"/on", []Field{FieldTank, FieldLot, FieldContainer}},
		{"/mass_kg", []Field{FieldHoney}}, {"/hives", []Field{FieldHives}}, {"/buyer_id", []Field{FieldBuyer}}, {"/containers", []Field{FieldContainer, FieldLot}}, {"/from/id", []Field{FieldFromTank}}, {"/to/id", []Field{FieldToTank}},
	} {
		if at.pointer != pointer && !strings.HasPrefix(pointer, at.pointer+"/") {
			continue
		}
		for _, f := range at.fields {
			if c := k.columns[f]; c != nil {
				return c
			}
		}
	}
	for at, from := range map[string][]*column{"/measured/": k.measuredFrom, "/observed/": k.observedFrom} {
		place, is := strings.CutPrefix(pointer, at)
		place, _, _ = strings.Cut(place, "/")
		if n, err := strconv.Atoi(place); is && err == nil && n < len(from) {
			return from[n]
		}
	}
	return nil
}
