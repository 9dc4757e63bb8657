package bringin

import (
	"cmp"
	"encoding/xml"
	"errors"
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// The bounds of a sheet.
const (
	// mostColumns and mostRow bound a row, the latter in bytes, as in a text file. lastRow is
	// the last that a spreadsheet program has.
	mostColumns = 1000
	mostRow     = 1 << 20
	lastRow     = 1 << 20
)

// The bounds of all sheets of a workbook together.
const (
	mostCells = 20_000_000
	// mostShown bounds what all cells show: many may share one long text.
	mostShown  = 512 << 20
	mostMerged = 100_000
	// mostMergedText bounds what merged cells show in the rows below their first, in bytes.
	mostMergedText = 8 << 20
	// mostAside bounds the rows that somebody took out.
	mostAside = 1 << 20
)

// counted is what the sheets of a workbook have together so far.
type counted struct{ cells, shown, merged, mergedText, aside, remarks, remarked int }

// grid is a sheet as it is read.
type grid struct {
	name    string
	texts   *sharedTexts
	styles  []style
	counted *counted
	aside   map[int]tables.Aside

	// The rows stand on the shelf from one place to another.
	shelf    *shelf
	from, to int64
	packing  []byte

	dated map[int]*tables.Dated
	// hides are the columns that are hidden, and holds those that hold something, from 0.
	hides, holds [mostColumns]bool

	merged   []tables.Span
	tall     []tables.Tall
	unworked bool

	row, column int
	within      []string
	held        []cell // those of the row at hand
	heldBytes   int
	how         tables.Aside // the row at hand was taken out so
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
	g.from = g.shelf.end()
	err := p.read(part, mostUnpacked, element{start: g.start, text: g.text, end: g.end})
	if errors.Is(err, errNotThere) {
		return fault.New(fault.Malformed, "The workbook has no part for its sheet %s: open it in a spreadsheet program and save it as .xlsx or CSV.", message.Quoted(g.name))
	}
	if err == nil {
		err = g.shelf.add(g.packing)
	}
	g.packing, g.to = nil, g.shelf.end()
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
	case g.at("cols", "col"):
		g.hide(attributes)
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
	g.held, g.heldBytes, g.how = g.held[:0], 0, 0
	height, err := strconv.ParseFloat(attribute(attributes, "ht"), 64)
	if hidden := attribute(attributes, "hidden"); hidden == "1" || hidden == "true" || err == nil && height == 0 {
		g.how = tables.Hidden
	}
	return nil
}

// setAside notes that the row at hand was taken out.
func (g *grid) setAside() error {
	if g.counted.aside++; g.counted.aside > mostAside {
		return fault.New(fault.TooLarge, "The workbook has more than %s rows that are hidden or struck through: delete them, or save the sheet as CSV.", mostAside)
	}
	if g.aside == nil {
		g.aside = map[int]tables.Aside{}
	}
	g.aside[g.row] = g.how
	return nil
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
	if g.heldBytes += len(c.text); g.heldBytes > mostRow {
		return fault.New(fault.TooLarge, "Row %s of the sheet %s is longer than %s kB, and no row of a table is: delete what does not belong to the table.", g.row, message.Quoted(g.name), mostRow>>10)
	}
	switch {
	case g.how != 0:
	case g.style.struck:
		g.how = tables.Struck
	case g.style.unseen:
		g.how = tables.Hidden
	}
	for len(g.held) < g.column {
		g.held = append(g.held, cell{})
	}
	if g.holds[g.column-1] = true; g.style.dated && (g.typ == "" || g.typ == "n") {
		g.noteDated(g.column - 1)
	}
	g.held[g.column-1] = c
	return nil
}

func (g *grid) noteDated(column int) {
	if g.dated == nil {
		g.dated = map[int]*tables.Dated{}
	}
	if g.dated[column] == nil {
		g.dated[column] = &tables.Dated{}
	}
	g.dated[column].NoteDated(g.row)
}

// hide notes columns that are hidden.
func (g *grid) hide(attributes []xml.Attr) {
	first, err1 := strconv.Atoi(attribute(attributes, "min"))
	last, err2 := strconv.Atoi(attribute(attributes, "max"))
	hidden := attribute(attributes, "hidden")
	if err1 != nil || err2 != nil || hidden != "1" && hidden != "true" {
		return
	}
	for i := max(first, 1); i <= min(last, mostColumns); i++ {
		g.hides[i-1] = true
	}
}

// hidden names the hidden columns that hold something.
func (g *grid) hidden() (names message.List) {
	for i, hidden := range g.hides {
		if hidden && g.holds[i] {
			names = append(names, message.Verbatim(tables.Column(i)))
		}
	}
	return names
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
		if n, err := strconv.Atoi(value); err == nil && 0 <= n && n < g.texts.n {
			return cell{g.texts.get(n), n + 1}
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
	if g.counted.cells += len(g.held); g.counted.cells > mostCells {
		return fault.New(fault.TooLarge, "The workbook has more than %s cells: save the sheet as CSV.", mostCells)
	}
	if g.counted.shown += g.heldBytes; g.counted.shown > mostShown {
		return fault.New(fault.TooLarge, "The cells of the workbook show more than %s MB of text: no workbook of a honey house does. It was not read.", mostShown>>20)
	}
	if g.how != 0 {
		if err := g.setAside(); err != nil {
			return err
		}
	}
	const full = 1 << 18
	if g.packing = appendRow(g.packing, g.row, g.held); len(g.packing) < full {
		return nil
	}
	err := g.shelf.add(g.packing)
	g.packing = g.packing[:0]
	return err
}

func (g *grid) merge(ref string) error {
	from, to, _ := strings.Cut(ref, ":")
	first, top, ok1 := coordinates(from)
	last, bottom, ok2 := coordinates(to)
	if !ok1 || !ok2 || first > mostColumns {
		return nil
	}
	if g.counted.merged++; g.counted.merged > mostMerged {
		return fault.New(fault.TooLarge, "The workbook has more than %s merged cells: part them, or save the sheet as CSV.", mostMerged)
	}
	g.merged = append(g.merged, tables.Span{Row: top, First: first - 1, Last: last - 1})
	if bottom > top {
		g.tall = append(g.tall, tables.Tall{Column: first - 1, First: top, Last: bottom})
	}
	return nil
}

// table is what was read; nil where the sheet holds nothing.
func (g *grid) table() (*tables.Table, error) {
	if g.from == g.to {
		return nil, nil
	}
	t := &tables.Table{Name: g.name, Serials: true, Merged: g.merged, Aside: g.aside, Dated: g.dated}
	shelf, from, to, texts := g.shelf, g.from, g.to, g.texts
	t.Rows = func(yield func(int, []string) bool) error { return rowsIn(shelf.between(from, to), texts, yield) }
	return t, g.showMerged(t)
}

// showMerged gives cells that are merged with those below what the first of them shows.
func (g *grid) showMerged(t *tables.Table) error {
	if len(g.tall) == 0 {
		return nil
	}
	slices.SortStableFunc(g.tall, func(a, b tables.Tall) int { return cmp.Or(a.First-b.First, a.Column-b.Column) })
	rest := g.tall
	var tooMuch error
	err := t.Rows(func(row int, cells []string) bool {
		for len(rest) > 0 && rest[0].First < row {
			rest = rest[1:]
		}
		for ; len(rest) > 0 && rest[0].First == row && tooMuch == nil; rest = rest[1:] {
			tooMuch = g.showTall(t, rest[0], cells)
		}
		return len(rest) > 0 && tooMuch == nil
	})
	return errors.Join(err, tooMuch)
}

// showTall adds a tall cell that shows something. Cells after another may be the same one.
func (g *grid) showTall(t *tables.Table, tall tables.Tall, cells []string) error {
	if tall.Column >= len(cells) || cells[tall.Column] == "" {
		return nil
	}
	if n := len(t.Tall); n > 0 && t.Tall[n-1].First == tall.First && t.Tall[n-1].Column == tall.Column {
		tall.Text = t.Tall[n-1].Text
	} else {
		tall.Text = strings.Clone(cells[tall.Column])
		if g.counted.mergedText += len(tall.Text); g.counted.mergedText > mostMergedText {
			return fault.New(fault.TooLarge, "The merged cells of the workbook show more than %s MB of text: part them, or save the sheet as CSV.", mostMergedText>>20)
		}
	}
	t.Tall = append(t.Tall, tall)
	return nil
}
