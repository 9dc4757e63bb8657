package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// A workbook has a sheet for each year, yard, day or kind of box, and a plan beside them. What was said of
// one sheet goes into the book with the rows of another only where somebody says that its name is none of theirs.
func TestWhatASheetsNameSaysAgainstItsRowsIsAskedAbout(t *testing.T) {
	t.Parallel()
	const plain, wide, noYear = "Date,Yard,Supers\n2026-07-06,Mill,12\n", "Supers,Mill,Ridge\n2026-07-06,12,3\n", "Date,Yard,Supers\n6 Jul,Mill,12\n"
	with := func(field importing.Field, value string) *importing.Mapping {
		return &importing.Mapping{Fixed: map[importing.Field]string{importing.FieldSuperKind: "deep", field: value}}
	}
	of2026 := deeps()
	of2026.Year = 2026
	for _, row := range []struct {
		what, name, text string
		answers          *importing.Mapping
		asks             bool
	}{
		{"another year", "2025", noYear, of2026, true},
		{"the same year", "Pulls 2026", noYear, of2026, false},
		{"a year, of a sheet whose dates have theirs", "2025", plain, deeps(), false},
		{"another year of a wide sheet", "2025", "Supers,Mill,Ridge\n6 Jul,12,3\n", of2026, true},
		{"another yard", "Mill", "Date,Supers\n2026-07-06,12\n", with(importing.FieldYard, "Ridge"), true},
		{"the same yard", "Ridge 2026", "Date,Supers\n2026-07-06,12\n", with(importing.FieldYard, "Ridge"), false},
		{"another day", "14 Jul 2026", "Yard,Supers\nMill,12\n", with(importing.FieldDate, "2026-07-06"), true},
		{"another day among words", "Pulled on 14 July by Ana", "Yard,Supers\nMill,12\n", with(importing.FieldDate, "2026-07-06"), true},
		{"the same day among words", "Pulled on 6 July 2026 by Ana", "Yard,Supers\nMill,12\n", with(importing.FieldDate, "2026-07-06"), false},
		{"another month", "August", "Yard,Supers\nMill,12\n", with(importing.FieldDate, "2026-07-06"), true},
		{"the same day", "6 July", "Yard,Supers\nMill,12\n", with(importing.FieldDate, "2026-07-06"), false},
		{"another kind of box", "Shallow", plain, deeps(), true},
		{"a kind of box that the outfit does not have", "Medium", plain, deeps(), true},
		{"the same kind of box", "Deep supers", plain, deeps(), false},
		{"another kind of box of a wide sheet", "Shallow", "Date,Mill,Ridge\n2026-07-06,12,3\n", supersOf("deep"), true},
		{"a plan", "Plan 2026", wide, deeps(), true},
		{"a plan of plain rows", "Presupuesto", plain, deeps(), true},
		{"what was put back", "Returned", wide, deeps(), true},
		{"an old sheet", "Old", plain, deeps(), false},
		{"a unit", "Pounds", "Date,Mill,\n,boxes,kg\n2026-07-06,12,301\n", deeps(), true},
		{"nothing", "Sheet1", wide, deeps(), false},
	} {
		h := newHouse()
		sheet := table(t, row.text)
		sheet.Name = row.name
		got, asked, r := h.parted(t, importing.Pulls, sheet, row.answers)
		if row.asks != slices.Equal(asked, []string{"0 two_values"}) || row.asks == (len(got) > 0) {
			t.Errorf("%s: %v %v %v", row.what, got, asked, said(r))
		}
		aside := *row.answers
		aside.Rows = map[int]importing.Alike{0: importing.LeftAside}
		if got, asked, _ := h.parted(t, importing.Pulls, sheet, &aside); len(got) == 0 {
			t.Errorf("%s, and the name says nothing of the rows: %v", row.what, asked)
		}
	}
}

// A title above the table can say so too.
func TestWhatATitleSaysAgainstWhatIsSaidOfAllRowsIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		text    string
		answers importing.Mapping
		asks    bool
	}{
		{"Pulls 2025\nDate,Yard,Supers,Kind\n6 Jul,Mill,12,deep\n", importing.Mapping{Year: 2026}, true},
		{"Pulls 2026\nDate,Yard,Supers,Kind\n6 Jul,Mill,12,deep\n", importing.Mapping{Year: 2026}, false},
		{"Mill\nDate,Supers,Kind\n2026-07-06,12,deep\n", importing.Mapping{Fixed: map[importing.Field]string{importing.FieldYard: "Ridge"}}, true},
		{"Yard: Ridge\nDate,Supers,Kind\n2026-07-06,12,deep\n", importing.Mapping{Fixed: map[importing.Field]string{importing.FieldYard: "Ridge"}}, false},
		{"Medium supers\nDate,Yard,Supers\n2026-07-06,Mill,12\n", *deeps(), true},
	} {
		h := newHouse()
		m := h.guess(t, importing.Pulls, row.text)
		m.Answer(row.answers)
		if r := h.check(t, row.text, m); row.asks != slices.Equal(problems(r), []string{"1 two_values"}) || row.asks == (r.AllProblems == 0) {
			t.Errorf("%q: %v", row.text, said(r))
		}
		m.LeaveOutRows = []int{1}
		if r := h.check(t, row.text, m); r.AllProblems > 0 {
			t.Errorf("%q, once it is left out: %v", row.text, said(r))
		}
	}
}

// So can the note of a row.
func TestANoteOfAnotherKindOfBoxThanAllRowsHaveIsAskedAbout(t *testing.T) {
	t.Parallel()
	for note, asks := range map[string]bool{"shallow": true, "half supers": true, "Medium": true, "deep": false, "rain": false, "half of them stood in the rain all day": false} {
		h := newHouse()
		got, asked, r := h.parted(t, importing.Pulls, table(t, "Date,Yard,Supers,Note\n2026-07-06,Mill,12,"+note+"\n"), deeps())
		if asks != slices.Equal(asked, []string{"2D two_values"}) || asks == (len(got) > 0) {
			t.Errorf("%s: %v %v %v", note, got, asked, said(r))
		}
	}
}
