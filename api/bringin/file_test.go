package bringin_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"fmt"
	"hash/crc32"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pullbook/api/bringin"
	"pullbook/domain/fault"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/openapi"
)

// workbook writes a workbook of one sheet.
func workbook(t testing.TB, name string, fill func(*excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	if err := f.SetSheetName("Sheet1", name); err != nil {
		t.Fatal(err)
	}
	fill(f)
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// take brings a file's first sheet into the book of a small outfit, as guessed.
func take(t testing.TB, data []byte, kind importing.Kind, put ...func(*importing.Mapping)) (*bringin.File, *importing.Result) {
	t.Helper()
	file, err := bringin.Read(context.Background(), data, "old.xlsx")
	must(t, err)
	table, err := file.Table("")
	must(t, err)
	book, err := ledger.Open(time.UTC, ledgertest.NewOutfit().Entries)
	must(t, err)
	m, err := importing.Guess(book, table, kind)
	must(t, err)
	for _, f := range put {
		f(&m)
	}
	r, err := importing.Take(book, table, m, importing.Options{Outfit: ledgertest.ID(77), By: "Ada", Now: time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)}, nil)
	must(t, err)
	return file, r
}

// A workbook keeps dates as numbers of days, under headings that may be merged; an
// empty row in the middle is none, and the sums at the foot are offered to be left
// out.
func TestAWorkbookIsReadAsItsSpreadsheetProgramShowsIt(t *testing.T) {
	t.Parallel()
	data := workbook(t, "Pulls 2026", func(f *excelize.File) {
		s := "Pulls 2026"
		must(t, f.SetSheetRow(s, "A1", &[]any{"Our pulls"}))
		must(t, f.MergeCell(s, "A1", "E1"))
		must(t, f.SetSheetRow(s, "A2", &[]any{nil, nil, "Supers", nil, "Weight lb"}))
		must(t, f.MergeCell(s, "C2", "D2"))
		must(t, f.SetSheetRow(s, "A3", &[]any{"Date", "Yard", "deep", "shallow", "gross"}))
		must(t, f.SetSheetRow(s, "A4", &[]any{time.Date(2026, 7, 6, 0, 0, 0, 0, time.UTC), "Mill", 12, 2, 1000.5}))
		must(t, f.SetSheetRow(s, "A6", &[]any{time.Date(2026, 7, 7, 14, 30, 0, 0, time.UTC), "Ridge", 3, nil, 250}))
		must(t, f.SetSheetRow(s, "A7", &[]any{"Total", nil, 15, 2, 1250.5}))
	})
	file, r := take(t, data, importing.Pulls)
	if r.AllProblems != 1 || r.Problems[0].Code != importing.LooksLikeSum || r.Problems[0].Row != 7 {
		for _, p := range r.Problems {
			t.Errorf("row %d column %s: %s", p.Row, p.Column, p.Message)
		}
	}
	_, r = take(t, data, importing.Pulls, func(m *importing.Mapping) { m.LeaveOutTotals = true })
	if r.AllProblems > 0 || r.Entries[ledger.KindPull] != 2 || r.Sums["supers"] != 17 || r.LeftOut != 1 {
		t.Fatalf("%v, %v, %d left out", r.Entries, r.Sums, r.LeftOut)
	}
	if at := r.First[0].Entry.OccurredAt; !at.Equal(time.Date(2026, 7, 6, 12, 0, 0, 0, time.UTC)) {
		t.Errorf("the first pull was at %s", at)
	}
	if at := r.First[1].Entry.OccurredAt; !at.Equal(time.Date(2026, 7, 7, 14, 30, 0, 0, time.UTC)) || r.First[1].Row != 6 {
		t.Errorf("the second pull was at %s, in row %d", at, r.First[1].Row)
	}
	if len(file.Notices) > 0 || file.Tables[0].Name != "Pulls 2026" {
		t.Errorf("%v", file.Notices)
	}
}

// A workbook's broken cells are named by row and column, whether typed or the
// outcome of a formula.
func TestABrokenCellOfAWorkbookIsNamed(t *testing.T) {
	t.Parallel()
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{"2026-07-06", "Mill", "#REF!", "deep"}))
	}), importing.Pulls)
	if len(r.Problems) != 1 || r.Problems[0].Code != importing.SheetError || r.Problems[0].Row != 2 || r.Problems[0].Column != "C" {
		t.Errorf("%+v", r.Problems)
	}
}

// Yes and no are no figures, and what a formula that was never worked out comes to is
// not known; one that was worked out to nothing is empty.
func TestACellWithoutAFigureIsNotTakenForOne(t *testing.T) {
	t.Parallel()
	data := workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg", "Hives"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{"2026-07-06", "Mill", true, "deep", nil, 0}))
		must(t, f.SetSheetRow("p", "A3", &[]any{"2026-07-06", "Mill", 3, "deep", nil, 1}))
		must(t, f.SetCellFormula("p", "E3", "SUM(100,\"2\")"))
		must(t, f.SetSheetRow("p", "A4", &[]any{"2026-07-06", "Mill", 3, "deep", nil, nil}))
		must(t, f.SetCellStr("p", "H2", "a note:row 5, the arrow r=\"9\" and <row 1"))
	})
	data = rewritten(t, data, "xl/worksheets/sheet1.xml", "</row></sheetData>", `<c r="E4" t="str"><f>IF(C4&gt;9,1,"")</f><v></v></c></row></sheetData>`)
	file, r := take(t, data, importing.Pulls)
	var got []string
	for _, p := range r.Problems {
		got = append(got, fmt.Sprintf("%d%s %s %s", p.Row, p.Column, p.Code, p.Sent))
	}
	if want := []string{"2C no_figure TRUE", `3E no_figure =SUM(100,"2")`}; !slices.Equal(got, want) || len(file.Notices) != 1 {
		t.Errorf("%q, %v", got, file.Notices)
	}
}

// A name or date that is merged with the cells below it is that of each row; a
// weight is not, since nothing says what of it is whose.
func TestACellThatIsMergedWithThoseBelowShowsInEachRow(t *testing.T) {
	t.Parallel()
	fill := func(weight string) func(*excelize.File) {
		return func(f *excelize.File) {
			must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg"}))
			must(t, f.SetSheetRow("p", "A2", &[]any{time.Date(2026, 7, 6, 0, 0, 0, 0, time.UTC), "Mill", 12, "deep", 360}))
			must(t, f.SetSheetRow("p", "A3", &[]any{nil, nil, 3, "shallow"}))
			must(t, f.SetSheetRow("p", "A4", &[]any{time.Date(2026, 7, 7, 0, 0, 0, 0, time.UTC), "Ridge", 1, "deep", 30}))
			must(t, f.MergeCell("p", "A2", "A3"))
			must(t, f.MergeCell("p", "B2", "B3"))
			if weight != "" {
				must(t, f.MergeCell("p", "E2", weight))
			}
		}
	}
	_, r := take(t, workbook(t, "p", fill("")), importing.Pulls)
	if r.AllProblems > 0 || r.Entries[ledger.KindPull] != 3 || !r.First[1].Entry.OccurredAt.Equal(r.First[0].Entry.OccurredAt) {
		t.Errorf("%v %v", r.Entries, r.Problems)
	}
	_, r = take(t, workbook(t, "p", fill("E3")), importing.Pulls)
	if len(r.Problems) != 1 || r.Problems[0].Code != importing.TwoValues || r.Problems[0].Row != 3 || r.Problems[0].Column != "E" || r.Problems[0].Sent != "360" {
		t.Errorf("%+v", r.Problems)
	}
}

// Midnight is a whole number of days, like a day without a time: what the rest of
// the column is says which.
// A number of a workbook is what it is, and says nothing of how people write; a text that
// looks like one is asked about.
func TestANumberThatWasTypedAsTextIsAskedAbout(t *testing.T) {
	t.Parallel()
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{time.Date(2026, 7, 6, 0, 0, 0, 0, time.UTC), "Mill", 40, "deep", 1134.5}))
		must(t, f.SetSheetRow("p", "A3", &[]any{time.Date(2026, 7, 7, 0, 0, 0, 0, time.UTC), "Mill", 40, "deep", 612.435}))
		must(t, f.SetSheetRow("p", "A4", &[]any{time.Date(2026, 7, 8, 0, 0, 0, 0, time.UTC), "Mill", 40, "deep", "1.134"}))
		must(t, f.SetSheetRow("p", "A5", &[]any{time.Date(2026, 7, 9, 0, 0, 0, 0, time.UTC), "Mill", 40, "deep", "1,134 kg"}))
	}), importing.Pulls)
	var got []string
	for _, p := range r.Problems {
		got = append(got, fmt.Sprintf("%d%s %s %s", p.Row, p.Column, p.Code, p.Sent))
	}
	if want := []string{"4E two_figures 1.134"}; !slices.Equal(got, want) || r.Problems[0].More != 1 {
		t.Errorf("%q", got)
	}
	if len(r.First) != 2 || r.First[1].Entry.Body.(*ledger.Pull).GrossG != 612_435 {
		t.Errorf("%+v", r.First)
	}
	_, r = take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{time.Date(2026, 7, 6, 0, 0, 0, 0, time.UTC), "Mill", 40, "deep", "1.134"}))
		must(t, f.SetSheetRow("p", "A3", &[]any{time.Date(2026, 7, 7, 0, 0, 0, 0, time.UTC), "Mill", 40, "deep", "1.134,5"}))
	}), importing.Pulls)
	if r.AllProblems > 0 || r.Sums["gross_g"] != 2_268_500 {
		t.Errorf("%v %v", r.Problems, r.Sums)
	}
}

func TestMidnightInALogIsMidnight(t *testing.T) {
	t.Parallel()
	midnight := time.Date(2026, 7, 7, 0, 0, 0, 0, time.UTC)
	_, r := take(t, workbook(t, "log", func(f *excelize.File) {
		must(t, f.SetSheetRow("log", "A1", &[]any{"Timestamp", "Tank", "Temp C"}))
		for i := range 25 {
			must(t, f.SetSheetRow("log", fmt.Sprint("A", 2+i), &[]any{midnight.Add(time.Duration(i-12) * time.Hour), "sump", 30 + float64(i)/10}))
		}
	}), importing.TemperatureLogs)
	if r.AllProblems > 0 || len(r.First) != 2 {
		t.Fatalf("%v", r.Problems)
	}
	if p := r.First[1].Entry.Body.(*ledger.TemperatureLog).Points[0]; !p.At.Equal(midnight) || p.TemperatureC != 31.2 {
		t.Errorf("%v at %s", p.TemperatureC, p.At)
	}
}

// Macros and other files are left alone, hidden sheets too, and that is said.
func TestWhatIsNotReadOfAWorkbookIsSaid(t *testing.T) {
	t.Parallel()
	data := workbook(t, "yards", func(f *excelize.File) {
		must(t, f.SetSheetRow("yards", "A1", &[]any{"Yard"}))
		must(t, f.SetSheetRow("yards", "A2", &[]any{"Birchwood"}))
		must(t, f.SetCellFormula("yards", "B2", "[1]Other!A1"))
		_, err := f.NewSheet("secret")
		must(t, err)
		must(t, f.SetSheetVisible("secret", false))
	})
	data = with(t, data, "xl/vbaProject.bin", "not run")
	data = with(t, data, "xl/externalLinks/externalLink1.xml", "<externalLink/>")
	file, r := take(t, data, importing.Yards)
	var said []string
	for _, n := range file.Notices {
		said = append(said, n.String())
	}
	all := strings.Join(said, "\n")
	for _, part := range []string{"macros", "other files", "never worked out", `"secret" is hidden`} {
		if !strings.Contains(all, part) {
			t.Errorf("nothing is said of %s:\n%s", part, all)
		}
	}
	if r.AllProblems > 0 || r.New() != 1 {
		t.Errorf("%d new, %d problems", r.New(), r.AllProblems)
	}
}

// with adds a part to a packed file.
func with(t testing.TB, data []byte, name, text string) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	must(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range in.File {
		must(t, w.Copy(part))
	}
	p, err := w.Create(name)
	must(t, err)
	_, err = io.WriteString(p, text)
	must(t, err)
	must(t, w.Close())
	return out.Bytes()
}

// rewritten changes the text of a part of a packed file.
func rewritten(t testing.TB, data []byte, name, from, to string) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	must(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range in.File {
		r, err := part.Open()
		must(t, err)
		text, err := io.ReadAll(r)
		must(t, err)
		if part.Name == name {
			changed := strings.Replace(string(text), from, to, 1)
			if changed == string(text) {
				t.Fatalf("%s has no %s: %s", name, from, text)
			}
			text = []byte(changed)
		}
		p, err := w.Create(part.Name)
		must(t, err)
		_, err = p.Write(text)
		must(t, err)
	}
	must(t, w.Close())
	return out.Bytes()
}

// A few kilobytes that unpack to hundreds of megabytes are refused, also where the
// file lies about how much it is.
func TestAZipBombIsRefused(t *testing.T) {
	t.Parallel()
	const claimed, real = 100, 300 << 20
	var packed bytes.Buffer
	c, err := flate.NewWriter(&packed, flate.BestSpeed)
	must(t, err)
	sum, block := crc32.NewIEEE(), make([]byte, 1<<20)
	for range real >> 20 {
		_, err := c.Write(block)
		must(t, err)
		sum.Write(block)
	}
	must(t, c.Close())
	for _, says := range []uint64{claimed, real} {
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		part, err := w.CreateRaw(&zip.FileHeader{Name: "xl/worksheets/sheet1.xml", Method: zip.Deflate, CRC32: sum.Sum32(), CompressedSize64: uint64(packed.Len()), UncompressedSize64: says})
		must(t, err)
		_, err = part.Write(packed.Bytes())
		must(t, err)
		must(t, w.Close())
		_, err = bringin.Read(context.Background(), out.Bytes(), "bomb.xlsx")
		if code := fault.CodeOf(err); err == nil || code != fault.TooLarge && code != fault.Malformed {
			t.Errorf("a bomb of %d kB that says it has %d bytes: %v", out.Len()>>10, says, err)
		}
	}
}

func TestWhatIsNoTableIsRefusedWithWhatWouldDo(t *testing.T) {
	t.Parallel()
	jumbled := rewritten(t, workbook(t, "x", func(f *excelize.File) {
		for row := range 3 {
			must(t, f.SetSheetRow("x", fmt.Sprint("A", row+1), &[]any{"Yard"}))
		}
	}), "xl/worksheets/sheet1.xml", `<row r="2"`, `<row r="7"`)
	other := with(t, workbook(t, "x", func(*excelize.File) {}), "more", "text")
	var plain bytes.Buffer
	w := zip.NewWriter(&plain)
	_, err := w.Create("readme.txt")
	must(t, err)
	must(t, w.Close())
	for what, data := range map[string]string{
		"an old workbook": "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on", "a picture": "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "nothing": " \r\n",
		"a packed file": plain.String(), "a workbook cut short": string(other[:len(other)/2]), "an empty workbook": string(other),
		"a page": "<!DOCTYPE html>\n<table><tr><td>Yard</td></tr></table>", "a PDF": "%PDF-1.4\n%", "zero bytes": "Yard\nMi\x00ll\n",
		"rows out of order": string(jumbled),
	} {
		_, err := bringin.Read(context.Background(), []byte(data), "x")
		if fault.CodeOf(err) != fault.Malformed {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("Date,Yard\n2026-07-06,Mill\n"))
	f.Add(workbook(f, "x", func(b *excelize.File) { must(f, b.SetSheetRow("x", "A1", &[]any{"Yard", 1.5, true})) }))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := bringin.Read(context.Background(), data, "x")
		if err != nil {
			return
		}
		for _, table := range file.Tables {
			_ = table.Rows(func(row int, cells []string) bool {
				if row < 1 {
					t.Error(fmt.Sprint("row ", row))
				}
				return true
			})
		}
	})
}

// What a program may send is what is opened.
func TestTheContractSaysHowLargeAFileMayBe(t *testing.T) {
	t.Parallel()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	if kib := doc.Paths.Find("/v1/imports").Post.Extensions["x-body-kib"]; fmt.Sprint(kib) != fmt.Sprint(bringin.MostBytes>>10) {
		t.Errorf("a file may have %d KiB, the body of an import %v", bringin.MostBytes>>10, kib)
	}
}

// A workbook of a year has a sheet for each month. Nobody is left to think that all of them came in.
func TestTheSheetsThatAreNotReadAreNamed(t *testing.T) {
	t.Parallel()
	f := excelize.NewFile()
	for _, name := range []string{"June", "July", "Notes", "August"} {
		_, err := f.NewSheet(name)
		must(t, err)
		if name != "Notes" { // which is empty
			must(t, f.SetCellStr(name, "A1", "date"))
		}
	}
	must(t, f.DeleteSheet("Sheet1"))
	var data bytes.Buffer
	must(t, f.Write(&data))
	file, err := bringin.Read(context.Background(), data.Bytes(), "2026.xlsx")
	must(t, err)
	for sheet, want := range map[string]string{
		"":     `Only the sheet "June" is read. The workbook also has July and August: bring in by itself what of it belongs in the book.`,
		"July": `Only the sheet "July" is read. The workbook also has June and August: bring in by itself what of it belongs in the book.`,
	} {
		if said := file.Said(sheet); len(said) != 1 || said[0].String() != want {
			t.Errorf("%v, not %s", said, want)
		}
	}
	text, err := bringin.Read(context.Background(), []byte("date,yard\n2026-07-06,Mill\n"), "pulls.csv")
	must(t, err)
	if said := text.Said(""); len(said) > 0 {
		t.Errorf("a text file: %v", said)
	}
}
