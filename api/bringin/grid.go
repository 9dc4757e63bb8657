package bringin

import (
	"encoding/binary"
	"encoding/xml"
	"errors"
	"strconv"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// The bounds of a sheet.
const (
	// mostColumns bounds a row, as in a text file, and lastRow is the last that a
	// spreadsheet program has.
	mostColumns = 1000
	lastRow     = 1 << 20
	mostCells   = 20_000_000
	// mostShown bounds what all cells show together: many may share one long text.
	mostShown  = 512 << 20
	mostMerged = 100_000
)

// grid is a sheet as it is read. It takes little more room than the texts of its cells.
type grid struct {
	name   string
	texts  []string
	styles []style
	aside  map[int]tables.Aside

	// rows are packed one after the other into texts of some size: the row's number,
	// how many cells it has, and each cell as the place of a shared text or as its own.
	rows    []string
	packing []byte
	cells   int
	shown   int

	merged   []tables.Span
	tall     []tables.Tall
	unworked bool

	row, column int
	within      []string
	held        []cell // those of the row at hand
	typ         string
	style       style
	value       []byte
	formula     []byte
	has         struct{ value, formula bool }
	inline      textReader
}

type cell struct {
	text   string
	shared int // the place of its text, from 1; 0 where it has its own
}

// grid reads a sheet's part.
func (p *parts) grid(part string, g *grid) error {
	err := p.read(part, element{start: g.start, text: g.text, end: g.end})
	if errors.Is(err, errNotThere) {
		return fault.New(fault.Malformed, "The workbook has no part for its sheet %s: open it in a spreadsheet program and save it as .xlsx or CSV.", message.Quoted(g.name))
	}
	if len(g.packing) > 0 {
		g.rows = append(g.rows, string(g.packing))
		g.packing = nil
	}
	return err
}

// at reports whether the element at hand stands within others.
func (g *grid) at(within ...string) bool {
	if len(g.within) < len(within) {
		return false
	}
	for i, name := range g.within[len(g.within)-len(within):] {
		if name != within[i] {
			return false
		}
	}
	return true
}

func (g *grid) start(name string, attributes []xml.Attr) error {
	g.within = append(g.within, name)
	switch {
	case g.at("sheetData", "row"):
		return g.startRow(attributes)
	case g.at("sheetData", "row", "c"):
		g.typ, g.value, g.formula = attribute(attributes, "t"), g.value[:0], g.formula[:0]
		g.style = style{}
		if n, err := strconv.Atoi(attribute(attributes, "s")); err == nil && 0 <= n && n < len(g.styles) {
			g.style = g.styles[n]
		}
		g.has.value, g.has.formula = false, false
		return g.place(attribute(attributes, "r"))
	case g.at("row", "c", "v"):
		g.has.value = true
	case g.at("row", "c", "f"):
		g.has.formula = true
	case g.at("mergeCells", "mergeCell"):
		return g.merge(attribute(attributes, "ref"))
	}
	g.inline.start(name)
	return nil
}

func (g *grid) text(text []byte) error {
	switch {
	case g.at("row", "c", "v"):
		g.value = append(g.value, text...)
	case g.at("row", "c", "f"):
		g.formula = append(g.formula, text...)
	default:
		return g.inline.add(text)
	}
	if len(g.value) > mostText || len(g.formula) > mostText {
		return errLongCell
	}
	return nil
}

func (g *grid) end(name string) error {
	var err error
	switch {
	case g.at("sheetData", "row", "c"):
		err = g.put()
	case g.at("sheetData", "row"):
		err = g.endRow()
	}
	g.inline.end(name)
	g.within = g.within[:len(g.within)-1]
	return err
}

func (g *grid) startRow(attributes []xml.Attr) error {
	n, number := g.row+1, attribute(attributes, "r")
	if number != "" {
		var err error
		if n, err = strconv.Atoi(number); err != nil || n <= g.row {
			return fault.New(fault.Malformed, "The rows of the sheet %s do not stand in order (row %s): open the workbook in a spreadsheet program and save it as .xlsx or CSV.", message.Quoted(g.name), number)
		}
	}
	if n > lastRow {
		return fault.New(fault.TooLarge, "The sheet has more than %s rows. Nothing was stored. Bring it in as parts.", lastRow)
	}
	g.row, g.column = n, 0
	g.held = g.held[:0]
	if hidden := attribute(attributes, "hidden"); hidden == "1" || hidden == "true" {
		g.setAside(tables.Hidden)
	}
	return nil
}

// setAside notes that the row at hand was taken out, in the first way that is found.
func (g *grid) setAside(how tables.Aside) {
	if g.aside == nil {
		g.aside = map[int]tables.Aside{}
	}
	if g.aside[g.row] == 0 {
		g.aside[g.row] = how
	}
}

// place is where a cell stands: where it says, or after the one before it.
func (g *grid) place(name string) error {
	g.column++
	if name == "" {
		return nil
	}
	column, _, ok := coordinates(name)
	if !ok {
		return fault.New(fault.Malformed, "The sheet %s has a cell %s, which is none: open the workbook in a spreadsheet program and save it as .xlsx or CSV.", message.Quoted(g.name), message.Quoted(name))
	}
	g.column = column
	return nil
}

// coordinates are a cell's column and row, from 1, by its name: C7.
func coordinates(name string) (column, row int, ok bool) {
	letters := 0
	for letters < len(name) && letters < 3 && 'A' <= name[letters]&^0x20 && name[letters]&^0x20 <= 'Z' {
		column = column*26 + int(name[letters]&^0x20-'A') + 1
		letters++
	}
	row, err := strconv.Atoi(name[letters:])
	const lastColumn = 1 << 14
	return column, row, err == nil && 1 <= column && column <= lastColumn && 1 <= row && row <= lastRow
}

// put takes the cell that has ended.
func (g *grid) put() error {
	c := g.shows()
	if c.text == "" {
		return nil
	}
	if g.column > mostColumns {
		return fault.New(fault.Malformed, "Row %s of the sheet %s has %s columns, and %s are the most: delete what stands far to the right of the table.", g.row, message.Quoted(g.name), g.column, mostColumns)
	}
	if g.style.struck {
		g.setAside(tables.Struck)
	}
	for len(g.held) < g.column {
		g.held = append(g.held, cell{})
	}
	g.held[g.column-1] = c
	return nil
}

// shows is what the cell shows. A formula that was never worked out shows itself; one
// that was worked out to an empty text shows nothing.
func (g *grid) shows() cell {
	inline := strings.TrimSpace(g.inline.take())
	value := strings.TrimSpace(string(g.value))
	switch {
	case g.has.formula && value == "" && inline == "" && !(g.typ == "str" && g.has.value):
		g.unworked = true
		return cell{text: "=" + strings.TrimSpace(string(g.formula))}
	case g.typ == "inlineStr":
		return cell{text: asText(inline)}
	case g.typ == "b" && (value == "0" || value == "1"):
		return cell{text: map[string]string{"0": "FALSE", "1": "TRUE"}[value]}
	case g.typ == "s":
		if n, err := strconv.Atoi(value); err == nil && 0 <= n && n < len(g.texts) {
			return cell{strings.TrimSpace(g.texts[n]), n + 1}
		}
	case g.typ == "str":
		return cell{text: asText(value)}
	case g.typ == "" || g.typ == "n":
		return cell{text: g.style.shows(plainly(value))}
	}
	return cell{text: value}
}

// plainly is a number without an exponent, which some programs write: 1.2E7.
func plainly(number string) string {
	if !strings.ContainsAny(number, "eE") {
		return number
	}
	x, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return number
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// asText marks a text that could be taken for a number of another value.
func asText(text string) string {
	if len(text) < longestGrouped && tables.MayBeGrouped(strings.TrimSpace(text)) {
		return "'" + strings.TrimSpace(text)
	}
	return text
}

// longestGrouped is above what any figure with its unit takes, in bytes.
const longestGrouped = 64

// endRow packs the row that has ended.
func (g *grid) endRow() error {
	if len(g.held) == 0 {
		return nil
	}
	if g.cells += len(g.held); g.cells > mostCells {
		return fault.New(fault.TooLarge, "The sheet %s has more than %s cells: save it as CSV.", message.Quoted(g.name), mostCells)
	}
	out := binary.AppendUvarint(g.packing, uint64(g.row))
	out = binary.AppendUvarint(out, uint64(len(g.held)))
	for _, c := range g.held {
		if g.shown += len(c.text); g.shown > mostShown {
			return fault.New(fault.TooLarge, "The cells of the sheet %s show more than %s MB of text: no sheet of a honey house does. It was not read.", message.Quoted(g.name), mostShown>>20)
		}
		if c.shared > 0 {
			out = binary.AppendUvarint(out, uint64(c.shared)<<1|1)
			continue
		}
		out = binary.AppendUvarint(out, uint64(len(c.text))<<1)
		out = append(out, c.text...)
	}
	const full = 1 << 20
	if g.packing = out; len(out) >= full {
		g.rows, g.packing = append(g.rows, string(out)), out[:0]
	}
	return nil
}

func (g *grid) merge(ref string) error {
	from, to, _ := strings.Cut(ref, ":")
	first, top, ok1 := coordinates(from)
	last, bottom, ok2 := coordinates(to)
	if !ok1 || !ok2 || first > mostColumns {
		return nil
	}
	if len(g.merged) == mostMerged {
		return fault.New(fault.TooLarge, "The sheet %s has more than %s merged cells: part them, or save it as CSV.", message.Quoted(g.name), mostMerged)
	}
	g.merged = append(g.merged, tables.Span{Row: top, First: first - 1, Last: last - 1})
	if bottom > top {
		g.tall = append(g.tall, tables.Tall{Column: first - 1, First: top, Last: bottom})
	}
	return nil
}

// table is what was read; nil where the sheet holds nothing.
func (g *grid) table() *tables.Table {
	if len(g.rows) == 0 {
		return nil
	}
	t := &tables.Table{Name: g.name, Serials: true, Merged: g.merged, Aside: g.aside}
	rows, texts := g.rows, g.texts
	t.Rows = func(yield func(int, []string) bool) error {
		var cells []string
		for _, some := range rows {
			for len(some) > 0 {
				var row int
				row, cells, some = unpackRow(some, texts, cells[:0])
				if !yield(row, cells) {
					return nil
				}
			}
		}
		return nil
	}
	g.showMerged(t)
	return t
}

// unpackRow reads the first of the packed rows.
func unpackRow(packed string, texts, room []string) (row int, cells []string, rest string) {
	next := func() int {
		n, shift := 0, 0
		for i := 0; ; i++ {
			n |= int(packed[i]&0x7f) << shift
			if packed[i] < 0x80 {
				packed = packed[i+1:]
				return n
			}
			shift += 7
		}
	}
	row, cells = next(), room
	for range next() {
		n := next()
		if n&1 == 1 {
			cells = append(cells, strings.TrimSpace(texts[n>>1-1]))
			continue
		}
		cells = append(cells, packed[:n>>1])
		packed = packed[n>>1:]
	}
	return row, cells, packed
}

// showMerged gives cells that are merged with those below what the first of them shows.
func (g *grid) showMerged(t *tables.Table) {
	tops := map[int][]int{}
	for i, tall := range g.tall {
		tops[tall.First] = append(tops[tall.First], i)
	}
	_ = t.Rows(func(row int, cells []string) bool { // rows in memory have no error
		for _, i := range tops[row] {
			if tall := &g.tall[i]; tall.Column < len(cells) {
				tall.Text = cells[tall.Column]
			}
		}
		return true
	})
	for _, tall := range g.tall {
		if tall.Text != "" {
			t.Tall = append(t.Tall, tall)
		}
	}
}
