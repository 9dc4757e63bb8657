package feeds

import (
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/message"
)

// The rows of a season's sheet above its table: the totals, then the heads.
const (
	sumsRow = 1
	headRow = 2
	// headHeight is room for three lines, in points.
	headHeight = 48
)

// summed are the columns with a total. The tare of supers is none: also those that
// nobody weighed have one, and gross less tare would not be the net.
var summed = []string{"honey_kg", "supers", "supers_pulled", "supers_extracted", "supers_left", "gross_kg", "net_kg", "wax_kg", "loads", "frames",
	"held_kg", "dispatched_kg", "containers", "hives", "last_season_kg", "change_kg", "settled_net_kg", "buyer_net_kg"}

// seasonSheet is a sheet of rows, which are noted while the book is held and written afterwards.
type seasonSheet struct {
	sheet  string
	table  table
	noted  *notedRows
	metric []string
	heads  []string
	forms  []form
	// widths are those of the columns, in characters; 0 where nothing is in one, which is not shown.
	widths []float64
	// across is how many pages beside each other the columns take.
	across int
}

// note takes the sheet's rows from the book, which is held meanwhile.
func (s *seasonSheet) note(q *query, v *view) error {
	if err := s.table.fill(q, v, s.noted); err != nil {
		return fmt.Errorf("%s: %w", s.sheet, err)
	}
	return s.noted.rewind()
}

// name puts the heads of all sheets into words, and says how wide their columns are.
func (w *seasonBook) name() {
	for _, s := range w.order {
		for i, column := range s.table.columnNames(w.view.us) {
			s.heads = append(s.heads, heading(column, s.forms[i]).In(w.Voice))
		}
		s.widths, s.across = s.fitting()
	}
}

// closeRows frees the room of all rows.
func (w *seasonBook) closeRows() {
	for _, s := range w.order {
		s.noted.close()
	}
}

// sheet writes a sheet as a table with totals above it.
func (w *seasonBook) sheet(s *seasonSheet) error {
	if err := w.page(s.sheet, s.across); err != nil {
		return err
	}
	if err := w.guard(s); err != nil {
		return err
	}
	name := w.sheetName(s.sheet)
	stream, err := w.NewStreamWriter(name)
	if err != nil {
		return err
	}
	if err := w.above(stream, s); err != nil {
		return err
	}
	out := &bookCells{sheetCells: sheetCells{stream: stream, styles: w.styles, loc: w.loc, row: headRow}, book: w, sheet: s, reckoned: reckonedIn(s.sheet, s.noted.rows)}
	for more := true; more; {
		if more, err = s.noted.some(&w.view, out, stepRows); err != nil {
			return err
		}
		if err := w.client.Err(); err != nil {
			return err
		}
	}
	if s.noted.rows > 0 {
		if err := stream.AddTable(&excelize.Table{Range: fmt.Sprintf("A%d:%s", headRow, cellOf(len(s.heads)-1, headRow+s.noted.rows)), Name: name, StyleName: "TableStyleLight9"}); err != nil {
			return err
		}
	}
	return stream.Flush()
}

// edited are the weights that other figures follow.
var edited = map[string][]string{pullsSheet: {"gross_kg", "tare_kg"}, runsSheet: {"honey_kg"}}

// guard lets no text into the cells of weights that are edited: a pull whose gross is a text would be one that
// nobody weighed. It says so where a program takes 1180,7 for a text.
func (w *seasonBook) guard(s *seasonSheet) error {
	for _, name := range edited[s.sheet] {
		column := s.columnOf(name)
		rule := excelize.NewDataValidation(true)
		rule.SetSqref(cellOf(column, headRow+1) + ":" + cellOf(column, s.lastRow()))
		if err := rule.SetRange(0, "", excelize.DataValidationTypeDecimal, excelize.DataValidationOperatorGreaterThanOrEqual); err != nil {
			return err
		}
		rule.SetError(excelize.DataValidationErrorStyleStop, s.heads[column], w.Say("This is a weight in %s. Type a figure, with the decimal mark of this program.", w.Mass))
		if err := w.AddDataValidation(w.sheetName(s.sheet), rule); err != nil {
			return err
		}
	}
	return nil
}

// above writes what stands above the rows.
func (w *seasonBook) above(stream *excelize.StreamWriter, s *seasonSheet) error {
	heads := make([]any, len(s.heads))
	for i, head := range s.heads {
		if err := stream.SetColWidth(i+1, i+1, max(s.widths[i], narrowest)); err != nil {
			return err
		}
		if s.widths[i] == 0 {
			if err := stream.SetColVisible(i+1, i+1, false); err != nil {
				return err
			}
		}
		style := w.dress.rightHead
		if s.forms[i] == formText {
			style = w.dress.textHead
		}
		heads[i] = excelize.Cell{StyleID: style, Value: head}
	}
	if err := stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: headRow, TopLeftCell: fmt.Sprintf("A%d", headRow+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := stream.SetRow(fmt.Sprintf("A%d", sumsRow), w.totals(s)); err != nil {
		return err
	}
	return stream.SetRow(fmt.Sprintf("A%d", headRow), heads, excelize.RowOpts{Height: headHeight})
}

// totals is the row of sums over what the table's filter leaves in view.
func (w *seasonBook) totals(s *seasonSheet) []any {
	out := make([]any, len(s.heads))
	for i, name := range s.metric {
		if i == 0 || s.noted.rows == 0 || !slices.Contains(summed, name) || !s.noted.columns[i].filled {
			continue
		}
		places := 0
		if s.forms[i] == formMass {
			places = massPlaces
		}
		out[i] = excelize.Cell{StyleID: w.styles.decimal[places], Value: toPlaces(s.noted.columns[i].sum, places),
			Formula: fmt.Sprintf("SUBTOTAL(109,%s:%s)", cellOf(i, headRow+1), cellOf(i, s.lastRow()))}
		out[0] = excelize.Cell{StyleID: w.dress.textHead, Value: w.Say("Total")}
	}
	return out
}

// bookCells writes rows in the styles of the workbook, with their formulas.
type bookCells struct {
	sheetCells
	book     *seasonBook
	sheet    *seasonSheet
	reckoned map[string]reckoned
}

func (c *bookCells) end() error {
	for i, name := range c.sheet.metric {
		if of, is := c.reckoned[name]; is && (of.where == "" || hasValue(c.values[c.sheet.columnOf(of.where)])) {
			c.values[i] = c.withFormula(c.values[i], c.sheet.forms[i], c.book.formula(of.formula, c.sheet.sheet, c.row+1))
		}
	}
	c.height = c.dressed()
	return c.sheetCells.end()
}

func hasValue(cell any) bool {
	if of, is := cell.(excelize.Cell); is {
		cell = of.Value
	}
	return cell != nil && cell != ""
}

// withFormula makes a cell reckon what it holds.
func (c *bookCells) withFormula(cell any, form form, formula string) any {
	had, ok := cell.(excelize.Cell)
	if !ok {
		places := massPlaces
		if form == formWhole {
			places = 0
		}
		had = excelize.Cell{StyleID: c.styles.decimal[places], Value: cell}
	}
	had.Formula = formula
	return had
}

// dressed puts a row's texts and counts in the styles of the sheet, and says how
// high the row is, in points: not every program makes room for texts that go on in
// further lines. 0 is the usual height.
func (c *bookCells) dressed() (height float64) {
	for i, value := range c.values {
		switch x := value.(type) {
		case string:
			style := c.book.dress.text
			if lines := linesOf(x, c.sheet.widths[i]); lines > 1 {
				style = c.book.dress.longText
				height = max(height, lineHeight*lines)
			}
			c.values[i] = excelize.Cell{StyleID: style, Value: value}
		case int64:
			c.values[i] = excelize.Cell{StyleID: c.styles.decimal[0], Value: value}
		}
	}
	return min(height, excelize.MaxRowHeight)
}

// heading is the name of a column as people read it.
func heading(column string, form form) message.Text {
	words, unit := columnWords(column, form)
	return message.F("%s%s", message.F("heading|"+words), unit)
}

// columnWords are the words of a column's name, and the unit of weights that stands behind them.
func columnWords(column string, form form) (words, unit string) {
	words = strings.ReplaceAll(column, "_", " ")
	if form == formMass {
		for _, mass := range []string{" kg", " lb"} {
			if short, ok := strings.CutSuffix(words, mass); ok {
				return short, mass
			}
		}
	}
	return words, ""
}

// columnWord is by what the legend knows a column.
func columnWord(column string, form form) string {
	words, _ := columnWords(column, form)
	return words
}

// Sentences returns what the sheets of the season's workbook are called, and all their
// headings in words: a language has to have each of them.
func Sentences() (names, headings []string) {
	names = []string{coverSheet, balanceSheet, legendSheet}
	for _, one := range seasonTables() {
		names = append(names, one.sheet)
		for _, us := range []bool{false, true} {
			for i, name := range one.table.columnNames(us) {
				headings = append(headings, heading(name, one.table.columnForms()[i]).Args[0].(message.Text).Format)
			}
		}
	}
	return names, headings
}
