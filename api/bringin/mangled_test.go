package bringin_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"pullbook/api/bringin"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// A sheet that was mangled in one or more of the ways of ten messy years gives the figures
// of the clean one, or asks about them.
func TestEveryFigureOfAMangledSheetIsTheCleanOneOrAskedAbout(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		clean := cleanSheet(t)
		s := clean.copied()
		mangled(t, s, mangles, 1)
		form := rapid.SampledFrom(formsFor(s)).Draw(t, "form")
		brought(t, clean, s, form)
	})
}

// What takes nothing away from a sheet raises no question.
func TestASheetThatIsOnlyUntidyComesInWithoutAQuestion(t *testing.T) {
	t.Parallel()
	var untidy []mangle
	for _, m := range mangles {
		if m.harmless {
			untidy = append(untidy, m)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		clean := cleanSheet(t)
		s := clean.copied()
		mangled(t, s, untidy, 0)
		form := rapid.SampledFrom(formsFor(s)).Draw(t, "form")
		r := brought(t, clean, s, form)
		for _, p := range r.Problems {
			t.Errorf("row %d, column %s: %s %q %s", p.Row, p.Column, p.Code, p.Sent, p.Message)
		}
	})
}

// mangled mangles a sheet in up to three ways.
func mangled(t *rapid.T, s *sheet, ways []mangle, least int) {
	drawn := rapid.SliceOfNDistinct(rapid.SampledFrom(ways), least, 3, func(m mangle) string { return m.name }).Draw(t, "ways")
	slices.SortFunc(drawn, func(a, b mangle) int { return placeOf(a) - placeOf(b) })
	for _, m := range drawn {
		m.do(t, s)
	}
}

// placeOf is where a way stands in the list: how all figures are written comes before what
// happens to one of them.
func placeOf(m mangle) int {
	return slices.IndexFunc(mangles, func(other mangle) bool { return other.name == m.name })
}

// role is what a column of a clean sheet is.
type role int

const (
	aDate role = iota
	aName
	aCount
	aMass
	aFigure
	someWords
)

// sheet is a table as a person sees it. A cell is nil, a text, a number or a real date.
type sheet struct {
	kind  importing.Kind
	heads []string
	roles []role
	rows  []*sheetRow
	above [][]any // rows above the headings
	units []any   // a row of units below them; nil for none
	// from1904 is true for a workbook that counts days from 1904.
	from1904 bool
	// workbookOnly and textOnly are true where only the one or the other can be such a sheet.
	workbookOnly, textOnly bool
	// wayOfFigures is true where the figures were written in some way.
	wayOfFigures bool
}

// only makes the sheet a workbook, or a text; ok is false where it cannot be one any more.
func (s *sheet) only(workbook bool) (ok bool) {
	if workbook && s.textOnly || !workbook && s.workbookOnly {
		return false
	}
	s.workbookOnly, s.textOnly = workbook, !workbook
	return true
}

type sheetRow struct {
	cells          []any
	fact           string // what it says; empty for a row that says nothing
	hidden, struck bool
	blankBefore    bool
}

func (s *sheet) copied() *sheet {
	out := *s
	out.heads, out.roles = slices.Clone(s.heads), slices.Clone(s.roles)
	out.rows = nil
	for _, r := range s.rows {
		row := *r
		row.cells = slices.Clone(r.cells)
		out.rows = append(out.rows, &row)
	}
	return &out
}

// columns are those of a role.
func (s *sheet) columns(of ...role) (out []int) {
	for i, r := range s.roles {
		if slices.Contains(of, r) {
			out = append(out, i)
		}
	}
	return out
}

func oneOf[T any](t *rapid.T, what string, of []T) T { return rapid.SampledFrom(of).Draw(t, what) }

// aCell draws a cell of a role that holds something; ok is false where there is none.
func (s *sheet) aCell(t *rapid.T, of ...role) (row *sheetRow, column int, ok bool) {
	columns := s.columns(of...)
	if len(columns) == 0 {
		return nil, 0, false
	}
	column = oneOf(t, "column", columns)
	row = oneOf(t, "row", s.rows)
	return row, column, column < len(row.cells) && row.cells[column] != nil
}

// cleanSheet draws a sheet whose every cell says plainly what it is.
func cleanSheet(t *rapid.T) *sheet {
	n := rapid.IntRange(2, 9).Draw(t, "rows")
	days := rapid.SliceOfNDistinct(rapid.IntRange(0, 80), n, n, rapid.ID).Draw(t, "days")
	slices.Sort(days)
	kg := func(least, most int) func(what string) float64 {
		return func(what string) float64 {
			return figureOf(t, what, least*10, most*10, 10)
		}
	}
	s := &sheet{}
	kind := rapid.SampledFrom([]importing.Kind{importing.Pulls, importing.Containers, importing.Readings, importing.Runs, importing.TemperatureLogs}).Draw(t, "table")
	s.kind = kind
	for i, d := range days {
		day := time.Date(2026, 6, 1+d, 0, 0, 0, 0, time.UTC)
		on := day.Format(time.DateOnly)
		switch kind {
		case importing.Pulls:
			s.heads, s.roles = []string{"Date", "Yard", "Supers", "Kind", "Gross kg", "Hives", "Notes"}, []role{aDate, aName, aCount, aName, aMass, aCount, someWords}
			yard, box := oneOf(t, "yard", []string{"Mill", "Ridge"}), oneOf(t, "box", []string{"deep", "shallow"})
			boxes, gross, hives := rapid.IntRange(1, 90).Draw(t, "boxes"), kg(20, 2500)("gross"), rapid.IntRange(1, 60).Draw(t, "hives")
			note := oneOf[any](t, "note", []any{nil, "rain at noon", "two, or three, light"})
			s.rows = append(s.rows, &sheetRow{cells: []any{day, yard, float64(boxes), box, gross, float64(hives), note},
				fact: fmt.Sprintf("%s %s %d %s %d g %d hives", on, yard, boxes, box, grams(gross), hives)})
		case importing.Containers:
			s.heads, s.roles = []string{"Date", "Lot", "Tank", "Drum no", "Type", "Gross kg", "Tare kg"}, []role{aDate, aName, aName, someWords, aName, aMass, aMass}
			gross, tare := kg(250, 310)("gross"), kg(15, 22)("tare")
			number := fmt.Sprintf("D-%03d", i+1)
			s.rows = append(s.rows, &sheetRow{cells: []any{day, "L26", "large tank", number, "drum", gross, tare},
				fact: fmt.Sprintf("%s %s %d g %d g", on, number, grams(gross), grams(tare))})
		case importing.Runs:
			s.heads, s.roles = []string{"Date", "Run", "Tank", "Honey kg", "Remarks"}, []role{aDate, someWords, aName, aMass, someWords}
			run, tank, honey := fmt.Sprintf("run %c", 'A'+i), oneOf(t, "tank", []string{"sump", "large tank"}), kg(20, 240)("honey")
			s.rows = append(s.rows, &sheetRow{cells: []any{day, run, tank, honey, nil}, fact: fmt.Sprintf("%s %s %s %d g", on, run, tank, grams(honey))})
		case importing.TemperatureLogs:
			s.heads, s.roles = []string{"Date", "Time", "Tank", "Temp C", "RH %"}, []role{aDate, someWords, aName, aFigure, aFigure}
			clock, tank := fmt.Sprintf("%02d:%02d", rapid.IntRange(0, 23).Draw(t, "hour"), rapid.IntRange(0, 59).Draw(t, "minute")), oneOf(t, "tank", []string{"sump", "large tank"})
			c, rh := figureOf(t, "c", 100, 600, 10), figureOf(t, "rh", 200, 900, 10)
			s.rows = append(s.rows, &sheetRow{cells: []any{day, clock, tank, c, rh}, fact: fmt.Sprintf("%s %s %s %g C %g %%", on, clock, tank, c, rh)})
		case importing.Readings:
			s.heads, s.roles = []string{"Date", "Tank", "Moisture %", "pH", "Conductivity mS/cm"}, []role{aDate, aName, aFigure, aFigure, aFigure}
			tank := oneOf(t, "tank", []string{"sump", "large tank"})
			pct, ph, ms := figureOf(t, "tenths", 150, 220, 10), figureOf(t, "ph", 320, 480, 100), figureOf(t, "conductivity", 100, 999, 1000)
			s.rows = append(s.rows, &sheetRow{cells: []any{day, tank, pct, ph, ms}, fact: fmt.Sprintf("%s %s %g %% %g mS/cm pH %g", on, tank, pct, ms, ph)})
		}
	}
	return s
}

// figureOf draws a figure of whole parts.
func figureOf(t *rapid.T, what string, least, most int, parts float64) float64 {
	return float64(rapid.IntRange(least, most).Draw(t, what)) / parts
}

func grams(kg float64) int64 { return int64(math.Round(kg * 1000)) }

// factsOf says of an entry what the facts of a sheet say: nothing of what sets things up, one for
// each point of a log.
func factsOf(e *ledger.Entry, name func(ledger.ID) string) (out []string) {
	if log, is := e.Body.(*ledger.TemperatureLog); is {
		for _, p := range log.Points {
			fact := fmt.Sprintf("%s %s %g C", p.At.Format("2006-01-02 15:04"), name(log.On.ID), p.TemperatureC)
			if p.HumidityPct != nil {
				fact += fmt.Sprintf(" %g %%", *p.HumidityPct)
			}
			out = append(out, fact)
		}
		return out
	}
	if fact := factOf(e, name); fact != "" {
		out = append(out, fact)
	}
	return out
}

func factOf(e *ledger.Entry, name func(ledger.ID) string) string {
	on := e.OccurredAt.Format(time.DateOnly)
	switch b := e.Body.(type) {
	case *ledger.Pull:
		boxes := ""
		for _, s := range b.Supers {
			boxes += fmt.Sprintf(" %d %s", s.Supers, name(s.SuperKindID))
		}
		return fmt.Sprintf("%s %s%s %d g %d hives", on, name(b.YardID), boxes, b.GrossG, b.HivesWorked)
	case *ledger.Movement:
		return fmt.Sprintf("%s %s %s %d g", on, name(b.From.ID), name(b.To.ID), b.MassG)
	case *ledger.Fill:
		return fmt.Sprintf("%s %s %d g %d g", on, b.Container, b.GrossG, b.TareG)
	case *ledger.Reading:
		fact := fmt.Sprintf("%s %s", on, name(b.On.ID))
		if b.Moisture != nil {
			fact += fmt.Sprintf(" %g %%", b.Moisture.AsRead)
		}
		for _, m := range b.Measured {
			switch m.Quantity {
			case "ph":
				fact += fmt.Sprintf(" pH %g", m.Value)
			case "conductivity_ms_per_cm":
				fact += fmt.Sprintf(" %g mS/cm", m.Value)
			default:
				fact += fmt.Sprintf(" %g %s", m.Value, m.Quantity)
			}
		}
		return fact
	}
	return ""
}

// house is the outfit that has what clean sheets name, with honey in its tank.
func mangledHouse() *ledgertest.Outfit {
	o := ledgertest.NewOutfit()
	run := o.Write(-24*200, &ledger.Run{Name: "spring", FramesPerSide: 30})
	_ = run
	o.Lot(-24*200, "L26")
	return o
}

// brought brings a mangled sheet in and holds what would be stored against the clean one.
func brought(t *rapid.T, clean, s *sheet, form sheetForm) *importing.Result {
	data := form.write(t, s)
	file, err := bringin.Read(context.Background(), data, "old")
	if err != nil {
		t.Fatalf("%s: %v\n%s", form.name, err, data)
	}
	table, err := file.Table("")
	if err != nil {
		t.Fatal(err)
	}
	book, err := ledger.Open(time.UTC, mangledHouse().Entries)
	if err != nil {
		t.Fatal(err)
	}
	m, err := importing.Guess(book, table, s.kind)
	if err != nil {
		t.Fatal(err)
	}
	r, err := importing.Take(book, table, m, importing.Options{Outfit: ledgertest.ID(77), By: "Ada", Now: time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	left := map[string]int{}
	for _, row := range clean.rows {
		left[row.fact]++
	}
	for _, e := range r.First {
		for _, fact := range factsOf(e.Entry, book.Name) {
			if left[fact]--; left[fact] < 0 {
				t.Errorf("%s: row %d would be stored as %q, which the clean sheet does not say", form.name, e.Row, fact)
			}
		}
	}
	missing := 0
	for fact, n := range left {
		if n > 0 {
			missing += n
			if r.AllProblems == 0 {
				t.Errorf("%s: nothing is stored of %q, and nothing was asked", form.name, fact)
			}
		}
	}
	if t.Failed() {
		t.Logf("%s", shown(s, m, r))
	}
	return r
}

func shown(s *sheet, m importing.Mapping, r *importing.Result) string {
	var out strings.Builder
	fmt.Fprintln(&out, s.heads)
	for _, row := range s.rows {
		fmt.Fprintf(&out, "%q hidden %v struck %v\n", row.cells, row.hidden, row.struck)
	}
	for _, c := range m.Columns {
		fmt.Fprintf(&out, "%s %q %s %s %s\n", c.Column, c.Heading, c.Field, c.Unit, c.DecimalMark)
	}
	for _, p := range r.Problems {
		fmt.Fprintf(&out, "%d%s %s %q\n", p.Row, p.Column, p.Code, p.Sent)
	}
	return out.String()
}

// sheetForm is a form in which a sheet may come.
type sheetForm struct {
	name  string
	write func(t *rapid.T, s *sheet) []byte
}

func formsFor(s *sheet) (out []sheetForm) {
	if !s.textOnly {
		out = append(out, sheetForm{"workbook", asWorkbook})
	}
	if !s.workbookOnly {
		out = append(out, sheetForm{"commas", separated(',')}, sheetForm{"semicolons", separated(';')}, sheetForm{"tabs", separated('\t')},
			sheetForm{"UTF-16", func(t *rapid.T, s *sheet) []byte { return utf16LE(separated('\t')(t, s)) }},
			sheetForm{"Windows-1252", func(t *rapid.T, s *sheet) []byte {
				data, err := charmap.Windows1252.NewEncoder().Bytes(separated(';')(t, s))
				if err != nil {
					return separated(';')(t, s) // what only Unicode has
				}
				return data
			}},
			sheetForm{"with a mark at the beginning", func(t *rapid.T, s *sheet) []byte { return append([]byte("\xef\xbb\xbf"), separated(',')(t, s)...) }})
	}
	return out
}

func utf16LE(text []byte) []byte {
	out := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(string(text))) {
		out = append(out, byte(u), byte(u>>8))
	}
	return out
}

func separated(by rune) func(t *rapid.T, s *sheet) []byte {
	return func(t *rapid.T, s *sheet) []byte {
		var out bytes.Buffer
		w := csv.NewWriter(&out)
		w.Comma = by
		w.UseCRLF = true
		var lines [][]any
		lines = append(lines, s.above...)
		heads := make([]any, len(s.heads))
		for i, h := range s.heads {
			heads[i] = h
		}
		lines = append(lines, heads)
		if s.units != nil {
			lines = append(lines, s.units)
		}
		for _, r := range s.rows {
			if r.blankBefore {
				lines = append(lines, make([]any, len(s.heads)))
			}
			lines = append(lines, r.cells)
		}
		for _, cells := range lines {
			line := make([]string, len(cells))
			for i, c := range cells {
				line[i] = inText(c)
			}
			if err := w.Write(line); err != nil {
				t.Fatal(err)
			}
		}
		w.Flush()
		return out.Bytes()
	}
}

func inText(c any) string {
	switch x := c.(type) {
	case nil:
		return ""
	case time.Time:
		return x.Format(time.DateOnly)
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return c.(string)
}

func asWorkbook(t *rapid.T, s *sheet) []byte {
	f := excelize.NewFile()
	defer f.Close()
	fail := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	const name = "Sheet1"
	if s.from1904 {
		on := true
		fail(f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &on}))
	}
	strike, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Strike: true}})
	fail(err)
	at := 0
	line := func(cells []any) int {
		at++
		for i, c := range cells {
			cell, err := excelize.CoordinatesToCellName(i+1, at)
			fail(err)
			if text, is := c.(string); is {
				fail(f.SetCellStr(name, cell, text))
			} else if c != nil {
				fail(f.SetCellValue(name, cell, c))
			}
		}
		return at
	}
	for _, cells := range s.above {
		line(cells)
	}
	for i, h := range s.heads {
		cell, err := excelize.CoordinatesToCellName(i+1, at+1)
		fail(err)
		fail(f.SetCellStr(name, cell, h))
	}
	at++
	if s.units != nil {
		line(s.units)
	}
	for _, r := range s.rows {
		if r.blankBefore {
			at++
		}
		row := line(r.cells)
		if r.hidden {
			fail(f.SetRowVisible(name, row, false))
		}
		if r.struck {
			for i, c := range r.cells {
				if c == nil {
					continue
				}
				cell, err := excelize.CoordinatesToCellName(i+1, row)
				fail(err)
				fail(f.SetCellStyle(name, cell, cell, strike))
				break
			}
		}
	}
	var out bytes.Buffer
	fail(f.Write(&out))
	return out.Bytes()
}
