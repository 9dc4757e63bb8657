package bringin_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// styled gives cells a style of a workbook.
func styled(t testing.TB, f *excelize.File, sheet, from, to string, s *excelize.Style) {
	t.Helper()
	id, err := f.NewStyle(s)
	must(t, err)
	must(t, f.SetCellStyle(sheet, from, to, id))
}

func july(day int) time.Time { return time.Date(2026, 7, day, 0, 0, 0, 0, time.UTC) }

// saidOf are the problems of a result, each with where it is.
func saidOf(r *importing.Result) (out []string) {
	for _, p := range r.Problems {
		out = append(out, fmt.Sprintf("%d%s %s", p.Row, p.Column, p.Code))
	}
	return out
}

// A unit that the program shows behind a number, by the cell's format, is the cell's own,
// and stands above the heading's.
func TestAUnitInTheFormatOfACellIsRead(t *testing.T) {
	t.Parallel()
	format := func(code string) *excelize.Style { return &excelize.Style{CustomNumFmt: &code} }
	fill := func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg"}))
		for i, row := range []struct {
			gross  float64
			format string
		}{{1000, `#,##0.0" lb"`}, {1000, `0\ \k\g`}, {1000, `[Red]0.0_)"lb";-0.0"lb"`}, {1000, `0.00`}, {1000, `#,##0.00" moons"`}} {
			at := 2 + i
			must(t, f.SetSheetRow("p", fmt.Sprint("A", at), &[]any{july(6 + i), "Mill", 40, "deep", row.gross}))
			styled(t, f, "p", fmt.Sprint("E", at), fmt.Sprint("E", at), format(row.format))
		}
		styled(t, f, "p", "C2", "C2", format(`0" boxes"`))
		styled(t, f, "p", "A3", "A3", format(`d" de "mmmm" de "yyyy`))
	}
	_, r := take(t, workbook(t, "p", fill), importing.Pulls)
	if got, want := saidOf(r), []string{"6E no_unit"}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	var grams []int64
	for _, e := range r.First {
		grams = append(grams, e.Entry.Body.(*ledger.Pull).GrossG)
	}
	if want := []int64{453_592, 1_000_000, 453_592, 1_000_000}; !slices.Equal(grams, want) {
		t.Errorf("%v", grams)
	}
	if typed := r.First[0].Entry.AsEntered; typed["gross_kg"] != "1000 lb" || typed["supers"] != "40 boxes" {
		t.Errorf("%v", typed)
	}

	_, r = take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Tank", "Moisture"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{july(6), "sump", 0.174}))
		styled(t, f, "p", "C2", "C2", &excelize.Style{NumFmt: 10})
		must(t, f.SetSheetRow("p", "A3", &[]any{july(7), "sump", 0.181}))
		styled(t, f, "p", "C3", "C3", format("0.0%"))
	}), importing.Readings)
	if r.AllProblems > 0 || len(r.First) != 2 || r.First[0].Entry.Body.(*ledger.Reading).Moisture.AsRead != 17.4 || r.First[1].Entry.Body.(*ledger.Reading).Moisture.AsRead != 18.1 {
		t.Errorf("%v %+v", saidOf(r), r.First)
	}
}

// A run named 6/7, which a spreadsheet took for a day, is asked about. Run 12 is run 12.
func TestANameThatBecameADayIsAskedAbout(t *testing.T) {
	t.Parallel()
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Run", "Tank", "Honey kg"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{july(6), july(6), "sump", 210}))
		must(t, f.SetSheetRow("p", "A3", &[]any{july(7), 12, "sump", 200}))
	}), importing.Runs)
	if got := saidOf(r); !slices.Equal(got, []string{"2B two_values"}) || len(r.First) != 2 {
		t.Errorf("%v, and %d entries", got, len(r.First))
	}
	_, r = take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Lot"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{july(6), july(5)}))
	}), importing.Lots)
	if got := saidOf(r); !slices.Equal(got, []string{"2B two_values"}) {
		t.Errorf("%v", got)
	}
}

// Drum 7 that a sheet shows as D-007 is D-007.
func TestANumberIsWhatItsFormatShows(t *testing.T) {
	t.Parallel()
	code := `"D-"000`
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Yard", "Reg no"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{"Alder Bend", 7}))
		must(t, f.SetSheetRow("p", "A3", &[]any{"Birch Rise", 1234}))
		styled(t, f, "p", "B2", "B3", &excelize.Style{CustomNumFmt: &code})
	}), importing.Yards)
	var got []string
	for _, e := range r.First {
		got = append(got, e.Entry.Body.(*ledger.Yard).Registration)
	}
	if !slices.Equal(got, []string{"D-007", "D-1234"}) {
		t.Errorf("%q %v", got, saidOf(r))
	}
}

// Rows that somebody took out without deleting them are asked about, once for the sheet.
func TestRowsThatSomebodyTookOutAreAskedAbout(t *testing.T) {
	t.Parallel()
	data := workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg", "", "Note"}))
		for i := range 6 {
			must(t, f.SetSheetRow("p", fmt.Sprint("A", 2+i), &[]any{july(6 + i), "Mill", 10 + i, "deep", 300}))
		}
		must(t, f.SetRowVisible("p", 3, false))
		styled(t, f, "p", "C4", "C4", &excelize.Style{Font: &excelize.Font{Strike: true}})
		must(t, f.SetCellStr("p", "G5", "VOID"))
		must(t, f.SetCellStr("p", "F6", "anulado"))
		must(t, f.SetCellStr("p", "G7", "avoid the gate"))
	})
	_, r := take(t, data, importing.Pulls)
	if got := saidOf(r); !slices.Equal(got, []string{"3 row_taken_out", "4 row_taken_out", "5 row_taken_out", "6 row_taken_out"}) {
		t.Errorf("%q", got)
	}
	_, r = take(t, data, importing.Pulls, func(m *importing.Mapping) { m.TakenOut = importing.LeaveOut })
	if r.AllProblems > 0 || r.LeftOut != 4 || r.Sums["supers"] != 10+15 {
		t.Errorf("left out: %v, %d, %v", saidOf(r), r.LeftOut, r.Sums)
	}
	_, r = take(t, data, importing.Pulls, func(m *importing.Mapping) { m.TakenOut = importing.BringIn })
	if r.AllProblems > 0 || r.LeftOut != 0 || r.Sums["supers"] != 10+11+12+13+14+15 {
		t.Errorf("brought in: %v, %v", saidOf(r), r.Sums)
	}
}

// What somebody wrote in the margin of a cell stays with the entry.
func TestCommentsOfCellsAreKeptAsNotes(t *testing.T) {
	t.Parallel()
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Note"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{july(6), "Mill", 12, "deep", "rain at noon"}))
		must(t, f.SetSheetRow("p", "A3", &[]any{july(7), "Mill", 12, "deep"}))
		must(t, f.AddComment("p", excelize.Comment{Cell: "C2", Author: "Mirren", Text: "three were\nhalf full"}))
		must(t, f.AddComment("p", excelize.Comment{Cell: "D3", Author: "Mirren", Text: "[Threaded comment]\n\nA newer program shows this.\n\nComment:\n    or shallow?"}))
	}), importing.Pulls)
	if len(r.First) != 2 {
		t.Fatalf("%v", saidOf(r))
	}
	var got []string
	for _, e := range r.First {
		got = append(got, e.Entry.Body.(*ledger.Pull).Note)
	}
	if want := []string{"rain at noon three were half full", "or shallow?"}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}

// A weight or a number that a spreadsheet shows as a day is no longer what was typed.
func TestAFigureThatBecameADayIsAskedAbout(t *testing.T) {
	t.Parallel()
	fill := func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg", "Note"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{july(6), "Mill", 12, "deep", 432}))
		must(t, f.SetSheetRow("p", "A3", &[]any{july(7), "Mill", 13, "deep", 46208}))
		must(t, f.SetSheetRow("p", "A4", &[]any{july(8), "Mill", 14, "deep", 500.5, 46208}))
	}
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		fill(f)
		styled(t, f, "p", "E2", "E2", &excelize.Style{NumFmt: 14})
		custom := "dd/mm/yyyy"
		styled(t, f, "p", "E3", "E3", &excelize.Style{CustomNumFmt: &custom})
		styled(t, f, "p", "F4", "F4", &excelize.Style{NumFmt: 17})
	}), importing.Pulls)
	if got := saidOf(r); !slices.Equal(got, []string{"2E two_values", "3E two_values", "4F two_values"}) {
		t.Errorf("%q", got)
	}
	if _, r = take(t, workbook(t, "p", fill), importing.Pulls); r.AllProblems > 0 {
		t.Errorf("without formats of days: %q", saidOf(r))
	}
	containers := func(number any) func(*excelize.File) {
		return func(f *excelize.File) {
			must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Lot", "Tank", "Drum", "Type", "Net kg"}))
			must(t, f.SetSheetRow("p", "A2", &[]any{july(6), "L26", "sump", number, "drum", 290}))
		}
	}
	for _, number := range []any{july(3), "2-Jan", "ene-02", "2/1/2026"} {
		_, r = take(t, workbook(t, "p", containers(number)), importing.Containers, func(m *importing.Mapping) {
			m.Names = map[importing.Noun]map[string]importing.Choice{importing.NounLot: {"*": {Create: &importing.Thing{}}}}
		})
		if got := saidOf(r); !slices.Equal(got, []string{"2D two_values"}) {
			t.Errorf("the drum %v: %q", number, got)
		}
	}
}

// A hidden column that is read was seen by nobody, so its being read is said.
func TestHiddenColumnsAreSaid(t *testing.T) {
	t.Parallel()
	file, _ := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind", "Gross kg"}))
		must(t, f.SetSheetRow("p", "A2", &[]any{july(6), "Mill", 12, "deep", 432}))
		must(t, f.SetColVisible("p", "E", false))
		must(t, f.SetColVisible("p", "H:XFD", false))
	}), importing.Pulls)
	if len(file.Notices) != 1 || file.Notices[0].String() != "Hidden columns of the sheet \"p\" hold something: E. They are read like the others." {
		t.Errorf("%v", file.Notices)
	}
}

// A row without height, and one whose figures a format hides, are as hidden as one that a filter
// leaves out.
func TestRowsThatNobodySeesAreAskedAbout(t *testing.T) {
	t.Parallel()
	nothing := ";;;"
	_, r := take(t, workbook(t, "p", func(f *excelize.File) {
		must(t, f.SetSheetRow("p", "A1", &[]any{"Date", "Yard", "Supers", "Kind"}))
		for i := range 3 {
			must(t, f.SetSheetRow("p", fmt.Sprint("A", 2+i), &[]any{july(6 + i), "Mill", 12 + i, "deep"}))
		}
		styled(t, f, "p", "C3", "C3", &excelize.Style{CustomNumFmt: &nothing})
		must(t, f.SetRowHeight("p", 4, 0))
	}), importing.Pulls)
	if got, want := saidOf(r), []string{"3 row_taken_out"}; !slices.Equal(got, want) || r.AllProblems != 2 {
		t.Errorf("%q, %d in all", got, r.AllProblems)
	}
}
