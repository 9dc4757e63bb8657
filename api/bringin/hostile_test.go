package bringin_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"pullbook/api/bringin"
	"pullbook/domain/fault"
)

const (
	head = `<?xml version="1.0" encoding="UTF-8"?>`
	open = head + `<worksheet><sheetData>`
	end  = `</sheetData></worksheet>`
)

// packed is a workbook written by hand: its sheet, the texts that cells share, and how
// many sheets are said to be in that one part.
func packed(t testing.TB, sheets int, parts map[string]func(io.Writer)) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	w.RegisterCompressor(zip.Deflate, func(to io.Writer) (io.WriteCloser, error) { return flate.NewWriter(to, flate.BestSpeed) })
	all := map[string]func(io.Writer){
		"xl/workbook.xml": func(w io.Writer) {
			fmt.Fprint(w, head, `<workbook xmlns:r="r"><sheets>`)
			for i := range sheets {
				fmt.Fprintf(w, `<sheet name="s%d" r:id="rId1"/>`, i)
			}
			fmt.Fprint(w, `</sheets></workbook>`)
		},
		"xl/_rels/workbook.xml.rels": text(head + `<Relationships><Relationship Id="rId1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`),
	}
	for name, write := range parts {
		all[name] = write
	}
	for name, write := range all {
		part, err := w.Create(name)
		must(t, err)
		write(part)
	}
	must(t, w.Close())
	return out.Bytes()
}

func text(s string) func(io.Writer) { return func(w io.Writer) { _, _ = io.WriteString(w, s) } }

// often writes a text many times between two others.
func often(before, s string, n int, after string) func(io.Writer) {
	return func(w io.Writer) {
		block := []byte(strings.Repeat(s, 1000))
		_, _ = io.WriteString(w, before)
		for range n / 1000 {
			_, _ = w.Write(block)
		}
		_, _ = io.WriteString(w, after)
	}
}

// A file that was made to fill the memory is refused with what is too much, and takes
// little memory until then, whatever it would come to.
func TestAFileMadeToFillTheMemoryIsRefused(t *testing.T) {
	one := func(sheet func(io.Writer)) []byte {
		return packed(t, 1, map[string]func(io.Writer){"xl/worksheets/sheet1.xml": sheet})
	}
	rows := func(row string, n int) func(io.Writer) { return often(open, row, n, end) }
	for what, data := range map[string][]byte{
		"gigabytes of zero bytes":     one(often(open, strings.Repeat("\x00", 1000), 1_000_000, "")),
		"gigabytes of blanks":         one(often(open, strings.Repeat(" ", 1000), 1_000_000, end)),
		"too many rows":               one(rows(`<row/>`, 1_060_000)),
		"too many cells in a row":     one(often(open+"<row>", `<c><v>1</v></c>`, 2_000_000, "</row>"+end)),
		"a cell far to the right":     one(text(open + `<row r="1"><c r="XFD1"><v>1</v></c></row>` + end)),
		"a cell far below the last":   one(text(open + `<row r="1048577"><c r="A1048577"><v>1</v></c></row>` + end)),
		"deep elements":               one(rows(`<row>`, 1_000_000)),
		"a long text":                 one(often(open+`<row><c t="inlineStr"><is><t>`, "long text ", 1_000_000, `</t></is></c></row>`+end)),
		"a text of many pieces":       one(often(open+`<row><c t="inlineStr"><is><t>`, "text<!-- -->", 1_000_000, `</t></is></c></row>`+end)),
		"a long comment":              one(often(open+"<!--", "long text ", 1_000_000, "-->"+end)),
		"a long attribute":            one(often(open+`<row r="`, "9999999999", 1_000_000, `"/>`+end)),
		"many merged cells":           one(often(open+end[:len("</sheetData>")]+"<mergeCells>", `<mergeCell ref="A1:A1048576"/>`, 300_000, "</mergeCells></worksheet>")),
		"rows that never end":         one(often(open, "row ", 10_000_000, "")),
		"one part for all sheets":     packed(t, 20_000, map[string]func(io.Writer){"xl/worksheets/sheet1.xml": rows(`<row><c t="inlineStr"><is><t>`+strings.Repeat("long text ", 1000)+`</t></is></c></row>`, 1_000)}),
		"entities":                    one(text(`<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;">]>` + open + `<row><c><v>&b;</v></c></row>` + end)),
		"many texts that cells share": packed(t, 1, map[string]func(io.Writer){"xl/worksheets/sheet1.xml": rows(`<row><c t="s"><v>0</v></c></row>`, 1000), "xl/sharedStrings.xml": often(head+"<sst>", "<si/>", 2_010_000, "</sst>")}),
		"a long text that cells share": packed(t, 1, map[string]func(io.Writer){"xl/worksheets/sheet1.xml": rows(`<row>`+strings.Repeat(`<c t="s"><v>0</v></c>`, 100)+`</row>`, 10_000),
			"xl/sharedStrings.xml": text(head + "<sst><si><t>" + strings.Repeat("long text ", 3000) + "</t></si></sst>")}),
		"one line":                   bytes.Repeat([]byte("no end of line "), 3_000_000),
		"a quotation mark left open": append([]byte("Date,Yard\n\""), bytes.Repeat([]byte("2026-07-06,Mill\n"), 3_000_000)...),
		"a million columns":          append(bytes.Repeat([]byte("a,"), 1_000_000), '\n'),
		"commas":                     bytes.Repeat([]byte(","), 30_000_000),
		"much in another encoding":   append([]byte("\xff\xfe"), bytes.Repeat([]byte("\x01\x4e,\x00"), 20_000_000)...),
	} {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		file, err := bringin.Read(context.Background(), data, "hostile")
		if err == nil {
			err = file.Tables[0].Rows(func(int, []string) bool { return true })
		}
		runtime.ReadMemStats(&after)
		if code := fault.CodeOf(err); err == nil || code != fault.TooLarge && code != fault.Malformed {
			t.Errorf("%s: %v", what, err)
		}
		held := int64(after.HeapSys) - int64(before.HeapSys)
		t.Logf("%s (%d kB): %v; %d MB more of heap, %d MB allocated in all", what, len(data)>>10, err, held>>20, (after.TotalAlloc-before.TotalAlloc)>>20)
		const most = 200 << 20
		if held > most {
			t.Errorf("%s takes %d MB of memory", what, held>>20)
		}
	}
}

// leaving is a client that leaves after its so-manieth look.
type leaving struct {
	context.Context
	looks int
}

func (l *leaving) Err() error {
	if l.looks--; l.looks < 0 {
		return context.Canceled
	}
	return nil
}

// Reading a workbook ends wherever its client leaves.
func TestReadingAWorkbookEndsWhenNobodyWaits(t *testing.T) {
	t.Parallel()
	data := packed(t, 2, map[string]func(io.Writer){"xl/worksheets/sheet1.xml": often(open, `<row><c><v>1</v></c></row>`, 10_000, end)})
	whole := &leaving{t.Context(), 1_000}
	if _, err := bringin.Read(whole, data, "x"); err != nil {
		t.Fatal(err)
	}
	looks := 1_000 - whole.looks
	if looks < 30 {
		t.Fatalf("a workbook of 20,000 rows is read with %d looks at whether somebody waits", looks)
	}
	for n := range looks {
		if _, err := bringin.Read(&leaving{t.Context(), n}, data, "x"); !errors.Is(err, context.Canceled) {
			t.Fatalf("after %d looks: %v", n, err)
		}
	}
}
