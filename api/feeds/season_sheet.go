package feeds

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// The rows of a season's sheet above its table: the totals, then the heads.
const (
	sumsRow = 1
	headRow = 2
	// headHeight is room for three lines, in points.
	headHeight = 48
)

// notPrinted are the columns of a feed that a printed sheet has not: ids, what
// is said on the cover, and what makes a page too wide to read.
func notPrinted(name string, form form) bool {
	return form == formID || slices.Contains([]string{"status", "season", "first", "last", "entry", "recorded_at", "recorded_by",
		"moisture_std_uncertainty_pct", "scale", "as_read", "sample_temperature_c", "less_than", "containers_sampled", "granulated",
		"accreditation", "std_uncertainties", "limits_of_quantification", "seen_fermenting"}, name)
}

// without is a feed of fewer columns.
func (t *tableOf[R]) without(leave func(name string, form form) bool) table {
	return &tableOf[R]{t.name, slices.DeleteFunc(slices.Clone(t.columns), func(c column[R]) bool { return leave(c.name, c.form) }), t.source, t.whole}
}

// summed are the columns with a total. The tare of supers is none: also those that
// nobody weighed have one, and gross less tare would not be the net.
var summed = []string{"honey_kg", "supers", "supers_pulled", "supers_extracted", "supers_left", "gross_kg", "net_kg", "wax_kg", "loads", "frames",
	"held_kg", "dispatched_kg", "containers", "hives"}

// reckoned are the columns that are worked out from others of their row, as somebody
// who edits one expects. {name} is the cell of that column in the row, and
// {sum name} that of its total.
var reckoned = map[string]map[string]string{
	"yards": {
		"kg_per_super": `IF({supers_extracted}=0,"",{honey_kg}/{supers_extracted})`,
		"kg_per_hive":  `IF(N({hives})=0,"",{honey_kg}/{hives})`,
	},
	"pulls": {"net_kg": `IF(N({gross_kg})=0,"",{gross_kg}-{tare_kg})`},
	"runs":  {"kg_per_super": `IF({supers}=0,"",{honey_kg}/{supers})`},
	"tanks": {"full_pct": `IF({capacity_kg}=0,"",100*{net_kg}/{capacity_kg})`},
}

// sheet writes a feed's rows of the season as a table with totals above it.
func (w *seasonBook) sheet(run *run, name string, of table) error {
	if err := w.page(name); err != nil {
		return err
	}
	name = w.sheetName(name)
	one := *run
	one.table = of.without(notPrinted)
	defer one.close()
	if err := one.steps.Step(func(b *ledger.Book) error { return one.begin(&w.query, b) }); err != nil {
		return err
	}
	stream, err := w.NewStreamWriter(name)
	if err != nil {
		return err
	}
	s := &seasonSheet{StreamWriter: stream, name: name, total: w.Say("Total"), noTotal: w.Say("No totals: more than %s rows", mostSummed), reckoned: reckoned[of.title()], styles: w.styles, dress: w.dress,
		metric: one.table.columnNames(false), forms: one.table.columnForms()}
	for i, column := range one.names() {
		s.heads = append(s.heads, heading(column, s.forms[i]).In(w.Voice))
	}
	return s.pass(&one, w.client)
}

// sums reports whether a sheet has totals or formulas.
func (s *seasonSheet) sums() bool {
	return s.reckoned != nil || slices.ContainsFunc(s.metric, func(name string) bool { return slices.Contains(summed, name) })
}

// pass writes rows as they come, for there may be very many, once the first have
// said how wide the columns are. Where there are totals, which stand above the rows,
// all rows are kept until they are known, up to mostSummed.
func (s *seasonSheet) pass(run *run, client context.Context) error {
	out := &passedCells{sheetCells: sheetCells{stream: s.StreamWriter, styles: s.styles, loc: run.loc, row: headRow}, sheet: s, kept: lookedAt}
	if s.sums() {
		out.kept = mostSummed
	}
	if err := run.each(out, client.Err); err != nil {
		return err
	}
	switch {
	case out.began:
		return s.close(out.row - headRow)
	case s.sums():
		return s.write()
	}
	if err := out.start(); err != nil {
		return err
	}
	return s.close(out.row - headRow)
}

// mostSummed is up to how many rows a sheet has totals and formulas. More would have
// to be held in memory until the last is known.
const mostSummed = 50_000

// passedCells keeps the first rows until the sheet has begun.
type passedCells struct {
	sheetCells
	sheet *seasonSheet
	// kept is how many are kept at the most.
	kept  int
	began bool
}

func (c *passedCells) end() error {
	if c.began {
		c.height = c.sheet.dressed(c.values)
		return c.sheetCells.end()
	}
	row := slices.Clone(c.values)
	if len(c.sheet.rows) < c.kept {
		c.sheet.rows = append(c.sheet.rows, row)
		return nil
	}
	if err := c.start(); err != nil {
		return err
	}
	c.values = row
	return c.end()
}

func (c *passedCells) start() error {
	c.began = true
	c.sheet.unsummed = c.sheet.sums()
	if err := c.sheet.above(); err != nil {
		return err
	}
	for _, row := range c.sheet.rows {
		c.values = row
		c.height = c.sheet.dressed(c.values)
		if err := c.sheetCells.end(); err != nil {
			return err
		}
	}
	c.sheet.rows = nil // written
	return nil
}

// seasonSheet is a sheet being written.
type seasonSheet struct {
	*excelize.StreamWriter
	// name is that of the sheet, total the word before its sums, and noTotal what
	// stands there where there are too many rows for any.
	name, total, noTotal string
	unsummed             bool
	// reckoned are the columns that are worked out from others.
	reckoned map[string]string
	styles   styles
	dress    sheetDress
	metric   []string
	heads    []string
	forms    []form
	rows     [][]any
	// long are the columns of texts that go on in further lines.
	long []bool
}

func (s *seasonSheet) write() error {
	if err := s.above(); err != nil {
		return err
	}
	for i, row := range s.rows {
		at := headRow + 1 + i
		for k := range row {
			if formula := s.reckoned[s.metric[k]]; formula != "" {
				row[k] = s.withFormula(row[k], formula, at)
			}
		}
		height := s.dressed(row)
		if err := s.SetRow(fmt.Sprintf("A%d", at), row, excelize.RowOpts{Height: height}); err != nil {
			return err
		}
		s.rows[i] = nil // written
	}
	return s.close(len(s.rows))
}

// above writes what stands above the rows.
func (s *seasonSheet) above() error {
	s.long = make([]bool, len(s.heads))
	for i := range s.heads {
		need := s.width(i)
		s.long[i] = s.forms[i] == formText && need > widest
		if err := s.SetColWidth(i+1, i+1, min(max(need, narrowest), widest)); err != nil {
			return err
		}
	}
	if err := s.SetPanes(&excelize.Panes{Freeze: true, YSplit: headRow, TopLeftCell: fmt.Sprintf("A%d", headRow+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := s.SetRow(fmt.Sprintf("A%d", sumsRow), s.totals()); err != nil {
		return err
	}
	heads := make([]any, len(s.heads))
	for i, h := range s.heads {
		style := s.dress.rightHead
		if s.forms[i] == formText {
			style = s.dress.textHead
		}
		heads[i] = excelize.Cell{StyleID: style, Value: h}
	}
	return s.SetRow(fmt.Sprintf("A%d", headRow), heads, excelize.RowOpts{Height: headHeight})
}

// close makes so many rows a table.
func (s *seasonSheet) close(rows int) error {
	if rows > 0 {
		if err := s.AddTable(&excelize.Table{Range: fmt.Sprintf("A%d:%s", headRow, s.cell(len(s.heads)-1, headRow+rows)), Name: s.name, StyleName: "TableStyleLight9"}); err != nil {
			return err
		}
	}
	return s.Flush()
}

// lookedAt is how many rows say how wide a column is.
const lookedAt = 200

// The bounds of a column's width, in characters.
const (
	narrowest = 8
	widest    = 46
)

// width is what the heads and the first rows need.
func (s *seasonSheet) width(column int) float64 {
	need := 0.0
	for word := range strings.SplitSeq(s.heads[column], " ") { // heads are broken between words
		need = max(need, float64(len([]rune(word)))+3) // room for the table's arrow
	}
	if s.forms[column] == formText {
		for _, row := range s.rows[:min(lookedAt, len(s.rows))] {
			if text, ok := row[column].(string); ok {
				need = max(need, float64(len([]rune(text)))+3) // room for the indent
			}
		}
	} else {
		need = max(need, widthOf[s.forms[column]])
	}
	return need
}

// dressed puts a row's texts and counts in the styles of the sheet, and says how
// high the row is, in points: not every program makes room for texts that go on in
// further lines. 0 is the usual height.
func (s *seasonSheet) dressed(row []any) (height float64) {
	const line, filled = 15, 0.95 * widest // lines are broken between words
	for i, value := range row {
		switch x := value.(type) {
		case string:
			style := s.dress.text
			if s.long[i] {
				style = s.dress.longText
				if lines := math.Ceil(float64(len([]rune(x))) / filled); lines > 1 {
					height = max(height, line*lines)
				}
			}
			row[i] = excelize.Cell{StyleID: style, Value: value}
		case int64:
			row[i] = excelize.Cell{StyleID: s.styles.decimal[0], Value: value}
		}
	}
	return min(height, excelize.MaxRowHeight)
}

// totals is the row of sums over what the table's filter leaves in view.
func (s *seasonSheet) totals() []any {
	out := make([]any, len(s.heads))
	if s.unsummed {
		out[0] = s.noTotal
		return out
	}
	for i, name := range s.metric {
		if i == 0 || len(s.rows) == 0 || !slices.Contains(summed, name) {
			continue
		}
		sum := 0.0
		for _, row := range s.rows {
			sum += number(row[i])
		}
		places := 0
		if s.forms[i] == formMass {
			places = massPlaces
		}
		out[i] = excelize.Cell{StyleID: s.styles.decimal[places], Value: toPlaces(sum, places),
			Formula: fmt.Sprintf("SUBTOTAL(109,%s:%s)", s.cell(i, headRow+1), s.cell(i, headRow+len(s.rows)))}
		out[0] = excelize.Cell{StyleID: s.dress.textHead, Value: s.total}
	}
	return out
}

// number is the figure in a cell; 0 where it holds none.
func number(cell any) float64 {
	switch x := cell.(type) {
	case excelize.Cell:
		return number(x.Value)
	case int64:
		return float64(x)
	case float64:
		return x
	}
	return 0
}

// withFormula makes a cell reckon what it holds from others of its row.
func (s *seasonSheet) withFormula(cell any, formula string, row int) any {
	for i, name := range s.metric {
		formula = strings.ReplaceAll(formula, "{"+name+"}", s.cell(i, row))
	}
	had, ok := cell.(excelize.Cell)
	if !ok {
		had = excelize.Cell{StyleID: s.styles.decimal[massPlaces]}
	}
	had.Formula = formula
	return had
}

func (s *seasonSheet) cell(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column+1, row)
	if err != nil {
		panic(err) // columns and rows are counted from what was written
	}
	return name
}

// Sentences returns what the sheets of the season's workbook are called, and all their
// headings in words: a language has to have each of them.
func Sentences() (names, headings []string) {
	names = []string{coverSheet, balanceSheet}
	for _, one := range seasonSheets {
		names = append(names, one.sheet)
		table := one.table.without(notPrinted)
		for _, us := range []bool{false, true} {
			for i, name := range table.columnNames(us) {
				headings = append(headings, heading(name, table.columnForms()[i]).Args[0].(message.Text).Format)
			}
		}
	}
	return names, headings
}

// heading is the name of a column as people read it.
func heading(column string, form form) message.Text {
	words, unit := strings.ReplaceAll(column, "_", " "), ""
	if form == formMass {
		for _, mass := range []string{" kg", " lb"} {
			if short, ok := strings.CutSuffix(words, mass); ok {
				words, unit = short, mass
			}
		}
	}
	return message.F("%s%s", message.F("heading|"+words), unit)
}

// page makes a sheet and sets it up for print: lying, as wide as the paper, the heads on
// each page; the cover and the balance upright on one page. Each page says at its
// foot what it is of.
func (w *seasonBook) page(sheet string) error {
	const a4 = 9
	name := w.sheetName(sheet)
	if _, err := w.NewSheet(name); err != nil {
		return err
	}
	layout := excelize.PageLayoutOptions{Orientation: new("landscape"), Size: new(a4), FitToWidth: new(1), FitToHeight: new(0)}
	if sheet == coverSheet || sheet == balanceSheet {
		layout.Orientation, layout.FitToHeight = new("portrait"), new(1)
	}
	if err := errors.Join(
		w.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: new(true)}),
		w.SetPageLayout(name, &layout),
		w.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddFooter: "&L&A&R&P / &N"}),
	); err != nil {
		return err
	}
	if sheet == coverSheet || sheet == balanceSheet {
		return nil
	}
	return w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: fmt.Sprintf("'%s'!$%d:$%d", name, sumsRow, headRow), Scope: name})
}
