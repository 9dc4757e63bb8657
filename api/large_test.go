package api

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/xuri/excelize/v2"

	"pullbook/domain/fault"
)

// No outfit has all places of large documents, and nobody has more than there are.
func TestLargeDocumentsAreMadeAFewAtATime(t *testing.T) {
	t.Parallel()
	l := newLargeAnswers()
	one := uuid.New()
	var leave []func()
	enter := func(ctx context.Context, outfit uuid.UUID) error {
		out, err := l.enter(ctx, outfit)
		if err == nil {
			leave = append(leave, out)
		}
		return err
	}
	for range mostLargeOfOutfit {
		if err := enter(t.Context(), one); err != nil {
			t.Fatal(err)
		}
	}
	if err := enter(t.Context(), one); fault.CodeOf(err) != fault.Busy {
		t.Fatalf("a further one of the same outfit: %v", err)
	}
	for range mostLarge - mostLargeOfOutfit {
		if err := enter(t.Context(), uuid.New()); err != nil {
			t.Fatalf("another outfit: %v", err)
		}
	}
	soon, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	if err := enter(soon, uuid.New()); fault.CodeOf(err) != fault.Busy {
		t.Fatalf("one more than there are places: %v", err)
	}
	for _, out := range leave {
		out()
	}
	if err := enter(t.Context(), one); err != nil || len(l.of) != 1 {
		t.Fatalf("after all have left: %v, %v", err, l.of)
	}
}

// A feed of more rows than a sheet holds goes on in a further sheet, and the last row
// of the full one says so.
func TestAFullSheetGoesOnInTheNext(t *testing.T) {
	t.Parallel()
	f := excelize.NewFile()
	defer f.Close()
	run := &feedRun{table: readingsFeed, loc: time.UTC}
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
