package feeds

import (
	"archive/zip"
	"crypto/rand"
	"io"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// A feed of more rows than a sheet holds goes on in a further sheet, and the last row
// of the full one says so.
func TestAFullSheetGoesOnInTheNext(t *testing.T) {
	t.Parallel()
	f := excelize.NewFile()
	defer f.Close()
	run := &run{table: readingsFeed, loc: time.UTC}
	out := &sheetCells{loc: time.UTC}
	out.most = 4
	err := run.fillSheets(f, out, func(to cells) error {
		for i := range int64(5) {
			to.begin()
			to.whole(i)
			if err := to.end(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	buffer, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	read, err := excelize.OpenReader(buffer)
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	want := [][]string{
		{"head", "0", "1", "This sheet is full: the rest is on the sheet readings 2."},
		{"head", "2", "3", "This sheet is full: the rest is on the sheet readings 3."},
		{"head", "4"},
	}
	if got := read.GetSheetList(); len(got) != len(want) {
		t.Fatalf("sheets %v", got)
	}
	for i, sheet := range read.GetSheetList() {
		rows, err := read.GetRows(sheet)
		if err != nil || len(rows) != len(want[i]) {
			t.Fatalf("%s: %v, %v", sheet, rows, err)
		}
		for k, row := range rows[1:] {
			if row[0] != want[i][k+1] {
				t.Errorf("%s, row %d: %q, want %q", sheet, k+2, row[0], want[i][k+1])
			}
		}
	}
}

// A workbook is packed in memory that does not grow with it. The test runs alone: it
// reads what the whole process allocates.
func TestAWorkbookOfAnyLengthIsPackedInTheSameMemory(t *testing.T) {
	packed := func(rows int) (size int64, allocated uint64) {
		f := excelize.NewFile()
		defer f.Close()
		stream, err := f.NewStreamWriter("Sheet1")
		if err != nil {
			t.Fatal(err)
		}
		for i := range rows {
			at, _ := excelize.CoordinatesToCellName(1, i+1)
			if err := stream.SetRow(at, []any{rand.Text(), rand.Text(), rand.Text(), rand.Text()}); err != nil {
				t.Fatal(err)
			}
		}
		if err := stream.Flush(); err != nil {
			t.Fatal(err)
		}
		file, err := os.CreateTemp(t.TempDir(), "")
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if err := pack(f, file); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		if size, err = file.Seek(0, io.SeekCurrent); err != nil {
			t.Fatal(err)
		}
		if _, err := zip.NewReader(file, size); err != nil {
			t.Fatalf("what was packed is no zip: %v", err)
		}
		return size, after.TotalAlloc - before.TotalAlloc
	}
	// Both are beyond what a sheet keeps in memory while it is written.
	_, _ = packed(1)
	small, took := packed(120_000)
	large, tookMore := packed(240_000)
	if grown := int64(tookMore) - int64(took); grown > (large-small)/2 {
		t.Errorf("packing %d bytes allocated %d, and %d bytes %d", small, took, large, tookMore)
	}
}
