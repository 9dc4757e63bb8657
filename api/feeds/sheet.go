package feeds

import (
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// sheetCells writes rows of a workbook's sheet through excelize's stream, which
// keeps what is large in a temporary file. Text is text there, never a formula.
type sheetCells struct {
	stream *excelize.StreamWriter
	styles styles
	loc    *time.Location
	row    int
	values []any
	// height is that of the row at hand, in points; 0 for the usual.
	height float64
	// most is how many rows the sheet holds, and full goes on in another; where it is
	// nil, there is none.
	most int
	full func() error
}

// styles are the number formats of cells.
type styles struct {
	head, day, instant int
	decimal            [4]int
}

func newStyles(f *excelize.File) (s styles, err error) {
	format := func(code string) int {
		if err != nil {
			return 0
		}
		var id int
		id, err = f.NewStyle(&excelize.Style{CustomNumFmt: &code, Alignment: &excelize.Alignment{Vertical: "top"}})
		return id
	}
	s.day, s.instant = format("yyyy-mm-dd"), format("yyyy-mm-dd hh:mm:ss")
	s.decimal = [4]int{format("0"), format("0.0"), format("0.00"), format("0.000")}
	if err == nil {
		s.head, err = f.NewStyle(&excelize.Style{Font: bold(11)})
	}
	return s, err
}

// bold is the workbook's own font, bold: without a name each program takes another.
func bold(size float64) *excelize.Font {
	return &excelize.Font{Family: "Calibri", Bold: true, Size: size}
}

// mostSheetRows is what a sheet holds (ECMA-376, and Excel's own limit).
const mostSheetRows = 1 << 20

func (c *sheetCells) begin() { c.values = c.values[:0] }

func (c *sheetCells) end() error {
	if c.full != nil && c.row == c.most-1 {
		// The last row of a full sheet says where the rest is.
		row := slices.Clone(c.values)
		if err := c.full(); err != nil {
			return err
		}
		c.values = row
	}
	return c.put()
}

// goesOn ends a sheet with the name of the next.
func (c *sheetCells) goesOn(next string) error {
	c.values = []any{"This sheet is full: the rest is on the sheet " + next + "."}
	if err := c.put(); err != nil {
		return err
	}
	return c.stream.Flush()
}

// filtered makes the rows of a sheet a table of so many columns, by whose heads a program chooses
// rows; without a row there is nothing to choose.
func (c *sheetCells) filtered(sheet string, columns int) error {
	if c.row < 2 {
		return nil
	}
	last, err := excelize.CoordinatesToCellName(columns, c.row)
	if err != nil {
		return err
	}
	return c.stream.AddTable(&excelize.Table{Range: "A1:" + last, Name: strings.ReplaceAll(sheet, " ", "_"), StyleName: tableStyle})
}

// tableStyle has lines between rows, and no colours that would be printed.
const tableStyle = "TableStyleLight1"

// heads is the row of the columns' names.
func (c *sheetCells) heads(names []string) error {
	c.begin()
	for _, name := range names {
		c.add(excelize.Cell{StyleID: c.styles.head, Value: name})
	}
	return c.put()
}

func (c *sheetCells) put() error {
	c.row++
	if c.row > mostSheetRows {
		return fault.New(fault.TooLarge, "A sheet holds %s rows at most, and this feed has more: narrow it by season, from or to, or take it as CSV.", mostSheetRows)
	}
	at, err := excelize.CoordinatesToCellName(1, c.row)
	if err != nil {
		return err
	}
	return c.stream.SetRow(at, c.values, excelize.RowOpts{Height: c.height})
}

// size is nothing: excelize keeps the rows.
func (c *sheetCells) size() int { return 0 }

func (c *sheetCells) add(v any) { c.values = append(c.values, v) }

func (c *sheetCells) text(s string) { c.add(inACell(s)) }

// inACell is a text as far as a cell holds it, which says so where that is not all.
func inACell(s string) string {
	const rest = " ... (more than a cell holds: the whole is in the CSV)"
	if len(s) <= excelize.TotalCellChars {
		return s // for no letter takes more room in a cell than here
	}
	letters := utf16.Encode([]rune(s))
	if len(letters) <= excelize.TotalCellChars {
		return s
	}
	return string(utf16.Decode(letters[:excelize.TotalCellChars-len(rest)])) + rest
}

func (c *sheetCells) id(id ledger.ID) {
	if id == (ledger.ID{}) {
		c.add("")
		return
	}
	c.add(id.String())
}

func (c *sheetCells) whole(n int64) { c.add(n) }

func (c *sheetCells) decimal(value float64, places int) {
	c.add(excelize.Cell{StyleID: c.styles.decimal[min(places, 3)], Value: toPlaces(value, places)})
}

func (c *sheetCells) day(d ledger.Date) {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		c.none()
		return
	}
	c.add(excelize.Cell{StyleID: c.styles.day, Value: t})
}

// instant is what the outfit's clocks showed: a sheet knows no time zones.
func (c *sheetCells) instant(t time.Time) {
	if t.IsZero() {
		c.none()
		return
	}
	c.add(excelize.Cell{StyleID: c.styles.instant, Value: onClock(t, c.loc)})
}

// onClock is the instant as the zone's clocks show it, to the second, as a time
// of UTC.
func onClock(t time.Time, loc *time.Location) time.Time {
	_, offset := t.In(loc).Zone()
	return time.Unix(t.Unix()+int64(offset), 0).UTC()
}

func (c *sheetCells) yes(b bool) { c.add(b) }

func (c *sheetCells) none() { c.add(nil) }

// toPlaces is the figure as it is shown with so many places.
func toPlaces(value float64, places int) float64 {
	scale := math.Pow10(places)
	return math.Round(value*scale) / scale
}
