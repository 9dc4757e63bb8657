package importing_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

// parted is what a table comes to: its entries as "yard day: supers, grams", or its problems as
// row, column and sort.
func (h *house) parted(t testing.TB, kind importing.Kind, table *tables.Table, answers *importing.Mapping) (entries, asked []string, r *importing.Result) {
	t.Helper()
	book := h.book(t).Ahead()
	m, _, err := importing.Settle(book, table, kind, importing.Sent{Mapping: answers})
	if err != nil {
		t.Fatal(err)
	}
	var came []*ledger.Entry
	r, err = importing.Take(book, table, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, func(e *ledger.Entry) error { came = append(came, e); return nil })
	if err != nil {
		t.Fatal(err)
	}
	if r.AllProblems > 0 {
		if r, err = importing.Take(h.book(t), table, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil); err != nil {
			t.Fatal(err)
		}
		return nil, problems(r), r
	}
	for _, e := range came {
		if said := h.said(book, e); said != "" {
			entries = append(entries, said)
		}
	}
	return entries, nil, r
}

// said is an entry in a few words; empty for what it rests on.
func (h *house) said(book *ledger.Book, e *ledger.Entry) string {
	day := e.OccurredAt.Format(time.DateOnly)
	switch b := e.Body.(type) {
	case *ledger.Pull:
		out := book.Name(book.Root(b.YardID)) + " " + day + ":"
		for _, s := range b.Supers {
			out += fmt.Sprintf(" %d %s", s.Supers, book.Name(s.SuperKindID))
		}
		if b.GrossG > 0 {
			out += fmt.Sprintf(" %d g", b.GrossG)
		}
		if b.Note != "" {
			out += " (" + b.Note + ")"
		}
		return out
	case *ledger.Reading:
		return fmt.Sprintf("%s %s: %g", book.Name(b.On.ID), day, b.Moisture.AsRead)
	case *ledger.HiveCount:
		return fmt.Sprintf("%s %s: %d hives, %s", book.Name(book.Root(b.YardID)), day, b.Hives, b.Name)
	case *ledger.TemperatureLog:
		out := book.Name(b.On.ID) + " " + day + ":"
		for _, p := range b.Points {
			out += fmt.Sprintf(" %s %g", p.At.Format("15:04"), p.TemperatureC)
		}
		return out
	}
	return ""
}

// deeps says of a sheet that its supers are deeps.
func deeps() *importing.Mapping {
	return &importing.Mapping{Fixed: map[importing.Field]string{importing.FieldSuperKind: "deep"}}
}

func supersOf(kind string) *importing.Mapping {
	return &importing.Mapping{Wide: &importing.Wide{Cells: importing.FieldSupers, Of: kind}}
}

// Old sheets have yards across and days down, or the other way round, as each keeper of them
// thought best. Each filled cell is a pull.
func TestEachFilledCellOfAWideSheetIsAPull(t *testing.T) {
	t.Parallel()
	usual := []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep"}
	for _, row := range []struct {
		what, text string
		answers    *importing.Mapping
		want       []string
	}{
		{"yards across, what the cells are in the corner", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,\n", deeps(), usual},
		{"a title says it", "Supers pulled in 2026\n\nDate,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,\n", deeps(), usual},
		{"a title says of each of what they are", "Supers per yard and day\nDate,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,\n", deeps(), usual},
		{"a title says of each of what they are, in French", "Hausses par rucher\nDate,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,\n", deeps(), usual},
		{"rows below a title that says who pulled", "Supers,Mill,Ridge\n2026-07-06,12,3\nCrew of Ana,,\n2026-07-14,8,\n", deeps(), usual},
		{"a title names the kind", "Deep supers\nDate,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,\n", nil, usual},
		{"nothing says it, and a person does", "Date,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,\n", supersOf("deep"), usual},
		{"the figures say it", "Date,Mill,Ridge\n2026-07-06,12 boxes,3 boxes\n2026-07-14,8 boxes,\n", deeps(), usual},
		{"in Spanish", "Alzas;;\nFecha;Mill;Ridge\n6/7/2026;12;3\n14/7/2026;8;\n", deeps(), usual},
		{"totals in the last column and row", "Supers,Mill,Ridge,Total\n2026-07-06,12,3,15\n2026-07-14,8,,8\nTotal,20,3,23\n", &importing.Mapping{Fixed: deeps().Fixed, LeaveOutTotals: true}, usual},
		{"sums that nothing says are some", "Supers,Mill,Ridge,\n2026-07-06,12,3,15\n2026-07-14,8,,8\n,20,3,23\n", &importing.Mapping{Fixed: deeps().Fixed, LeaveOutTotals: true}, usual},
		{"totals and a note in Spanish", "Alzas,Mill,Ridge,Suma,Observaciones\n2026-07-06,12,3,15,lluvia\n2026-07-14,8,,8,\nSuma,20,3,23,\n", &importing.Mapping{Fixed: deeps().Fixed, LeaveOutTotals: true},
			[]string{"Mill 2026-07-06: 12 deep (lluvia)", "Ridge 2026-07-06: 3 deep (lluvia)", "Mill 2026-07-14: 8 deep"}},
		{"days across", "Supers,6/7/2026,14/7/2026\nMill,12,8\nRidge,3,\n", deeps(), []string{usual[0], usual[2], usual[1]}},
		{"days across with dots, without a year, below a title", "Supers 2026;;;\nYard;6.7.;14.7.;Total\nMill;12;8;20\nRidge;3;;3\n", &importing.Mapping{Fixed: deeps().Fixed, Year: 2026}, []string{usual[0], usual[2], usual[1]}},
		{"days down with dots", "Supers,Mill,Ridge\n6.7.,12,3\n14.7.,8,\n", &importing.Mapping{Fixed: deeps().Fixed, Year: 2026}, usual},
		{"days across in words, without a year", "Colmenar;6 jul;14 jul;Total\nMill;12;8;20\nRidge;3;;3\n", &importing.Mapping{Wide: supersOf("deep").Wide, Year: 2026}, []string{usual[0], usual[2], usual[1]}},
		{"the days of a month in its title", "July 2026\nYard,5,6,7,14\nMill,,12,,8\nRidge,,3,,\n", supersOf("deep"), []string{usual[0], usual[2], usual[1]}},
		{"months, with the day that stands for them", "Yard,Jun,Jul 2026\nMill,7,12\nRidge,,3\n", &importing.Mapping{Wide: &importing.Wide{Cells: importing.FieldSupers, Of: "deep", MonthDay: 31}, Year: 2026},
			[]string{"Mill 2026-06-30: 7 deep", "Mill 2026-07-31: 12 deep", "Ridge 2026-07-31: 3 deep"}},
		{"a dash and n/a are no pull, nor is a 0", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-07,0,-\n2026-07-14,8,n/a\n", deeps(), usual},
		{"boxes and kilograms below each yard", "Date,Mill,,Ridge,\n,boxes,kg,boxes,kg\n2026-07-06,12,\"301,5\",3,\n2026-07-14,8,200,,\n", deeps(),
			[]string{"Mill 2026-07-06: 12 deep 301500 g", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep 200000 g"}},
		{"alzas y kilos below each yard", "Fecha;Mill;;Ridge;;Total;\n;alzas;kilos;alzas;kilos;alzas;kilos\n6/7/2026;12;301,5;3;;15;301,5\n14/7/2026;8;200;;;8;200\n", deeps(),
			[]string{"Mill 2026-07-06: 12 deep 301500 g", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep 200000 g"}},
		{"kinds of box below each yard", "Date,Mill,,Ridge,\n,deep,shallow,deep,shallow\n2026-07-06,12,2,3,\n2026-07-14,8,,,\n", nil,
			[]string{"Mill 2026-07-06: 12 deep 2 shallow", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep"}},
		{"boxes and pounds in one heading with the yard", "Date,Mill boxes,Mill lb,Ridge boxes,Ridge lb\n2026-07-06,12,665,3,\n2026-07-14,8,,,\n", deeps(),
			[]string{"Mill 2026-07-06: 12 deep 301639 g", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep"}},
		{"alzas y kilos before the yard", "Fecha;Alzas Mill;Kg de Mill;Alzas Ridge;Kg de Ridge\n6/7/2026;12;301,5;3;\n14/7/2026;8;200;;\n", deeps(),
			[]string{"Mill 2026-07-06: 12 deep 301500 g", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep 200000 g"}},
		{"figures that are of no yard", "Week,Date,Mill,Ridge,Hours\n27,2026-07-06,12,3,9\n29,2026-07-14,8,,7\n", &importing.Mapping{Wide: supersOf("deep").Wide, Names: map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"*": {Create: &importing.Thing{}}}}}, usual},
		{"yards below boxes and kilograms", ",Boxes,,kg,\nDate,Mill,Ridge,Mill,Ridge\n2026-07-06,12,3,301.5,\n2026-07-14,8,,200,\n", deeps(),
			[]string{"Mill 2026-07-06: 12 deep 301500 g", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep 200000 g"}},
		{"boxes and kilograms below each day", "Yard,6/7/2026,,14/7/2026,\n,boxes,kg,boxes,kg\nMill,12,301.5,8,200\nRidge,3,,,\n", deeps(),
			[]string{"Mill 2026-07-06: 12 deep 301500 g", "Mill 2026-07-14: 8 deep 200000 g", "Ridge 2026-07-06: 3 deep"}},
		{"a block for each month", "July\nSupers,6/7/2026,14/7/2026\nMill,12,8\nRidge,3,\n\nAugust\nSupers,3/8/2026,\nMill,5,\nRidge,4,\n", deeps(),
			[]string{usual[0], usual[2], usual[1], "Mill 2026-08-03: 5 deep", "Ridge 2026-08-03: 4 deep"}},
		{"a block for each month, with its days in numbers", "July 2026\nYard,6,7,14\nMill,12,,8\nRidge,3,,\nAugust 2026\nYard,2,3,4\nMill,,5,\nRidge,,4,\n", supersOf("deep"),
			[]string{usual[0], usual[2], usual[1], "Mill 2026-08-03: 5 deep", "Ridge 2026-08-03: 4 deep"}},
		{"a page of its own, with the title once more", "Fern Gully supers\nDate,Mill,Ridge\n2026-07-06,12,3\nFern Gully supers\nDate,Mill,Ridge\n2026-07-14,8,\n", deeps(), usual},
		{"a further block has other yards", "Supers,Mill,Ridge\n2026-07-06,12,3\nSeason 2026\nSupers,Ridge,Mill\n2026-07-14,,8\n", deeps(), usual},
		{"yards that are to be set up", "Supers,Alder Bend,Mill\n2026-07-06,12,3\n", &importing.Mapping{Fixed: deeps().Fixed, Names: map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"Alder Bend": {Create: &importing.Thing{}}}}},
			[]string{"Alder Bend 2026-07-06: 12 deep", "Mill 2026-07-06: 3 deep"}},
		{"yards that nobody knows, said to be some", "Supers,Alder Bend,Elm\n2026-07-06,12,3\n", &importing.Mapping{Fixed: deeps().Fixed, Wide: &importing.Wide{Across: importing.FieldYard}, Names: map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"*": {Create: &importing.Thing{}}}}},
			[]string{"Alder Bend 2026-07-06: 12 deep", "Elm 2026-07-06: 3 deep"}},
		{"one yard alone", "Supers,Mill\n2026-07-06,12\n2026-07-14,8\n", deeps(), []string{usual[0], usual[2]}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), row.answers)
			if !slices.Equal(got, row.want) {
				t.Errorf("%s\n  not\n%s\n%v\n%s\n%+v\n%+v", strings.Join(got, "\n"), strings.Join(row.want, "\n"), asked, strings.Join(said(r), "\n"), r.Mapping.Columns, r.Mapping.Wide)
			}
		})
	}
}

// Hives are counted in all yards on a day; a 0 is a count too.
func TestHiveCountsMayHaveYardsOrDaysAcross(t *testing.T) {
	t.Parallel()
	counts := []string{"Mill 2026-04-06: 24 hives, spring", "Ridge 2026-04-06: 16 hives, spring", "Mill 2026-05-14: 0 hives, spring"}
	for _, row := range []struct {
		what, text  string
		want, asked []string
	}{
		{"a title says it", "Hive counts 2026\nDate,Mill,Ridge\n2026-04-06,24,16\n2026-05-14,0,\n", counts, nil},
		{"the corner says it", "Colmenas,Mill,Ridge\n2026-04-06,24,16\n2026-05-14,0,\n", counts, nil},
		{"days across", "Hives,2026-04-06,2026-05-14\nMill,24,0\nRidge,16,\n", []string{counts[0], counts[2], counts[1]}, nil},
		{"nothing says it", "Date,Mill,Ridge\n2026-04-06,24,16\n", nil, []string{"0 wide_sheet"}},
		{"those that were moved", "Hives moved in,Mill,Ridge\n2026-04-06,2,1\n", nil, []string{"0 wide_sheet"}},
		{"those that were split, in Spanish", "Colmenas divididas,Mill,Ridge\n2026-04-06,2,1\n", nil, []string{"0 wide_sheet"}},
		{"dead ones", "Dead hives,Mill,Ridge\n2026-04-06,2,1\n", nil, []string{"0 wide_sheet"}},
		{"a row of totals that is wrong", "Hives,Mill,Ridge,Total\n2026-04-06,24,16,41\n", nil, []string{"2D other_total"}},
	} {
		h := newHouse()
		got, asked, r := h.parted(t, importing.HiveCounts, table(t, row.text), &importing.Mapping{Fixed: map[importing.Field]string{importing.FieldCountName: "spring"}})
		if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
			t.Errorf("%s: %v %v\n%s", row.what, got, asked, strings.Join(said(r), "\n"))
		}
	}
}

// What can mean two things is asked about at its cell, and so is what is no figure.
func TestWhatAWideSheetLeavesOpenIsAskedAtItsCell(t *testing.T) {
	t.Parallel()
	answered := func(more func(m *importing.Mapping)) *importing.Mapping {
		m := deeps()
		more(m)
		return m
	}
	for _, row := range []struct {
		what, text string
		answers    *importing.Mapping
		want       []string
	}{
		{"what the cells are", "Date,Mill,Ridge\n2026-07-06,12,3\n", nil, []string{"0 wide_sheet"}},
		{"what runs across, where nobody knows the headings", "Supers,Alder Bend,Elm\n2026-07-06,12,3\n", nil, []string{"0 wide_sheet"}},
		{"nothing of it may run across", "Date,Alder Bend,Elm\n2026-07-06,12,3\n", &importing.Mapping{Wide: &importing.Wide{Across: importing.Nothing}}, []string{"0 missing", "0 missing"}},
		{"a yard that is spelt otherwise, once for its column", "Supers,Mill,Rigde\n2026-07-06,12,3\n2026-07-07,5,3\n", deeps(), []string{"1C unknown_name"}},
		{"of which kind the boxes are", "Supers,Mill\n2026-07-06,12\n", nil, []string{"2B missing"}},
		{"weights alone", "Gross kg,Mill,Ridge\n2026-07-06,12,3\n", nil, []string{"0 missing"}},
		{"text behind a figure", "Supers,Mill,Ridge\n2026-07-06,12 med,3\n2026-07-07,8+4,5\n2026-07-08,x,6\n", deeps(), []string{"2B text_behind_figure", "3B no_figure", "4B no_figure"}},
		{"a title of what was put on", "Supers put on 2026\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a corner of empty boxes", "Empty boxes,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of means", "Average boxes per hive\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of a plan", "Planned pulls (boxes)\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of sums so far", "Supers so far\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of what stands on the hives", "Supers on hives\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of what was sold", "Boxes sold\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of another year's", "Last year's supers\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of what was put on, in Spanish", "Alzas colocadas\nFecha,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of what was put on, in French", "Hausses posées\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a corner of rates", "Supers/hive,Mill,Ridge\n2026-07-06,2,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a corner of rates in German", "Zargen pro Volk,Mill,Ridge\n2026-07-06,2,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a corner of shares", "% of supers,Mill,Ridge\n2026-07-06,80,20\n", deeps(), []string{"0 wide_sheet"}},
		{"rows of a plan below a title", "Supers,Mill,Ridge\n2026-07-06,12,3\nPlanned,,\n2026-07-14,8,5\n", deeps(), []string{"3 wide_sheet"}},
		{"rows of what was put back below a title", "Supers,Mill,Ridge\n2026-07-06,12,3\nPut back,,\n2026-07-14,8,5\n", deeps(), []string{"3 wide_sheet"}},
		{"rows of what was put on below a title in Spanish", "Alzas,Mill,Ridge\n2026-07-06,12,3\nColocadas,,\n2026-07-14,8,5\n", deeps(), []string{"3 wide_sheet"}},
		{"rows of boxes that the outfit does not have", "Supers,Mill,Ridge\n2026-07-06,12,3\nMedium,,\n2026-07-14,8,5\n", deeps(), []string{"3 wide_sheet"}},
		{"boxes and kilograms in one cell", "Supers,Mill,Ridge\n2026-07-06,12/380,3\n2026-07-07,12 boxes 380 kg,5\n2026-07-08,1 120,6\n2026-07-09,12?,6\n", deeps(), []string{"2B no_figure", "3B no_figure", "4B no_figure", "5B text_behind_figure"}},
		{"a day that is two, once for its row", "Supers,Mill,Ridge\n6/7/2026,12,3\n", deeps(), []string{"2A two_dates"}},
		{"a day above that is two", "Supers,6/7/2026,8/7/2026\nMill,12,3\nRidge,12,3\n", deeps(), []string{"1B two_dates"}},
		{"days with dots that can be two", "Supers,6.7.,8.7.\nMill,12,3\n", answered(func(m *importing.Mapping) { m.Year = 2026 }), []string{"1B two_dates"}},
		{"a day without a year", "Supers,6 jul,8 jul\nMill,12,3\n", deeps(), []string{"1B no_year"}},
		{"months", "Supers,Jun,July 2026\nMill,12,3\nRidge,,5\n", deeps(), []string{"1B no_date", "1C no_date"}},
		{"months that can be days", "Supers,Jun-26,Jul-26\nMill,12,3\n", answered(func(m *importing.Mapping) { m.Year = 2026 }), []string{"1B two_dates", "1C two_dates"}},
		{"31 June", "June 2026\nYard,29,30,31\nMill,12,3,4\n", supersOf("deep"), []string{"2D no_date"}},
		{"a row of totals", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-07,5,4\nTotal,17,7\n", deeps(), []string{"4 looks_like_a_total"}},
		{"sums without a day", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-07,5,4\n,17,7\n", deeps(), []string{"4 looks_like_a_total"}},
		{"figures without a day", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-07,5,4\n,9,7\n", deeps(), []string{"4A no_date"}},
		{"figures with nothing above them", "Supers,Mill,,Ridge\n2026-07-06,12,5,3\n2026-07-07,1,5,3\n", deeps(), []string{"1C missing"}},
		{"boxes without kilograms below, and kilograms without boxes", "Date,Mill,,Ridge,\n,boxes,kg,boxes,kg\n2026-07-06,12,300,,90\n", deeps(), []string{"3D missing"}},
		{"0 boxes that weigh something", "Date,Mill,\n,boxes,kg\n2026-07-06,0,300\n", deeps(), []string{"3B missing"}},
		{"half a box", "Supers,Mill\n2026-07-06,12.5\n", deeps(), []string{"2B out_of_range"}},
		{"kilograms above one yard and pounds above another", "Date,Mill boxes,Mill kg,Ridge boxes,Ridge lb\n2026-07-06,12,300,3,99\n", deeps(), []string{"0E no_unit"}},
		{"a decimal mark that can be two", "Date;Mill;\n;boxes;kg\n2026-07-06;12;1,234\n", deeps(), []string{"3C two_figures"}},
		{"a title of another year", "Supers,Mill\n6 jul,12\nSeason 2025,\n14 jul,8\n", answered(func(m *importing.Mapping) { m.Year = 2026 }), []string{"3 no_year"}},
		{"a block that is wider than the first", "Supers,6/7/2026,14/7/2026,Total\nMill,12,8,20\nSupers,3/8/2026,4/8/2026,20/8/2026\nMill,5,6,7\n", deeps(), []string{"3D missing", "4D other_total"}},
		{"figures above the headings", "Supers,4,5,\nsome,1,2,\nDate,Mill,Ridge,\n2026-07-06,12,3,\n", deeps(), []string{"1B wide_sheet", "2B wide_sheet"}},
		{"a block of weights below one of boxes", "Supers by day\nDate,Mill,Ridge\n2026-07-06,12,3\nGross kg\nDate,Mill,Ridge\n2026-07-06,300,90\n", deeps(), []string{"4 wide_sheet"}},
		{"a block with its columns the other way round", "Date,Mill,\n,boxes,kg\n2026-07-06,12,300\nDate,Mill,\n,kg,boxes\n2026-07-07,250,10\n", deeps(), []string{"5B wide_sheet", "5C wide_sheet"}},
		{"a title that says two things", "Supers (kg)\nDate,Mill,Ridge\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a title of two kinds of box, once for all of them", "Deep supers and shallow supers\nDate,Mill,Ridge\n2026-07-06,12,3\n", nil, []string{"3B missing"}},
		{"a place whose name begins like a kind of box", "Deep Creek\nDate,Mill,Ridge\n2026-07-06,12,3\n", nil, []string{"0 wide_sheet"}},
		{"a column below a yard that nothing says the sort of", "Date,Mill,Ridge\n,boxes,\n2026-07-06,12,3\n", deeps(), []string{"0 wide_sheet"}},
		{"a total that the row does not come to", "Supers,Mill,Ridge,Total\n2026-07-06,12,3,15\n2026-07-07,5,3,9\n", deeps(), []string{"3D other_total"}},
		{"a total of kilograms", "Date,Mill,,Ridge,,Total,\n,boxes,kg,boxes,kg,boxes,kg\n2026-07-06,12,300.5,3,90,15,390\n2026-07-07,5,100,1,20,6,210\n", deeps(), []string{"4G other_total"}},
		{"boxes and below them kilograms", "Supers,,6/7/2026,14/7/2026\nMill,boxes,12,8\nMill,kg,300,200\n", deeps(), []string{"3B wide_sheet"}},
		{"a block of something else", "Supers\nDate,Mill,Ridge\n2026-07-06,12,3\nHives by yard\nDate,Mill,Ridge\n2026-07-07,20,30\n", deeps(), []string{"4 wide_sheet"}},
		{"a block below a title that may be of something else", "Supers\nDate,Mill,Ridge\n2026-07-06,12,3\nBrought back\nDate,Mill,Ridge\n2026-07-07,20,30\n", deeps(), []string{"4 wide_sheet"}},
		{"a yard called by a letter", "Gross weight,Block G,Block T\n2026-07-06,12,3\n", &importing.Mapping{Wide: &importing.Wide{Across: importing.FieldYard, Cells: importing.FieldSupers, Of: "deep"}}, []string{"1B unknown_name", "1C unknown_name"}},
		{"two rows that say the same of one day", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-06,12,4\n", deeps(), []string{"3B stands_twice", "3C stands_twice"}},
		{"a row with a field too many", "Supers,Mill,Ridge\n2026-07-06,12,3,5\n", deeps(), []string{"2D too_many_fields"}},
		{"a row that has yet to happen", "Date,Status,Mill,Ridge\n2026-07-06,planned,12,3\n", supersOf("deep"), []string{"2 row_taken_out"}},
		{"a row that has yet to happen, in German", "Datum,Status,Mill,Ridge\n2026-07-06,geplant,12,3\n", supersOf("deep"), []string{"2 row_taken_out"}},
		{"a row that is void, in French", "Hausses,Mill,Ridge,Note\n2026-07-06,12,3,annulé\n", deeps(), []string{"2 row_taken_out"}},
		{"a row that is void", "Supers,Mill,Ridge,Note\n2026-07-06,12,3,void\n", deeps(), []string{"2 row_taken_out"}},
		{"a name that is a sum", "Supers,6/7/2026,14/7/2026\nMill,12,8\nRidge,1,1\nSuma,13,9\n", deeps(), []string{"4 looks_like_a_total"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), row.answers)
			if !slices.Equal(asked, row.want) {
				t.Errorf("%v, not %v\n%s\n%s\n%+v\n%+v", asked, row.want, strings.Join(got, "\n"), strings.Join(said(r), "\n"), r.Mapping.Columns, r.Mapping.Wide)
			}
		})
	}
}

func TestTanksAndRoomsRunAcrossToo(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		answers    *importing.Mapping
		want       []string
	}{
		{"moistures by tank", "Date,sump,large tank\n2026-07-06,17.4,18.1\n2026-07-07,,17.9\n", importing.Readings, nil, []string{"sump 2026-07-06: 17.4", "large tank 2026-07-06: 18.1", "large tank 2026-07-07: 17.9"}},
		{"humedad by day", "Humedad %;6/7/2026;13/7/2026\nsump;17,4;\nlarge tank;18,1;17,9\n", importing.Readings, nil, []string{"sump 2026-07-06: 17.4", "large tank 2026-07-06: 18.1", "large tank 2026-07-13: 17.9"}},
		{"a column for each tank and room", "Time,large tank,hot room\n2026-07-06 06:00,31,20.5\n2026-07-06 18:00,33.5,\n", importing.TemperatureLogs, &importing.Mapping{Wide: &importing.Wide{Unit: importing.Celsius}}, []string{"large tank 2026-07-06: 06:00 31 18:00 33.5", "hot room 2026-07-06: 06:00 20.5"}},
		{"a tank that says what it is, among rooms", "Date,Time,Tank 1,hot room\n2026-07-06,06:00,31,20.5\n", importing.TemperatureLogs, &importing.Mapping{Wide: &importing.Wide{Unit: importing.Celsius}, Names: map[importing.Noun]map[string]importing.Choice{importing.NounTank: {"Tank 1": {Is: "sump"}}}}, []string{"sump 2026-07-06: 06:00 31", "hot room 2026-07-06: 06:00 20.5"}},
		{"day and time apart, the unit in a title", "Temperatures in °C,,,\nDate,Time,large tank,sump\n2026-07-06,06:00,31,20.5\n2026-07-06,18:00,0,\n", importing.TemperatureLogs, nil, []string{"large tank 2026-07-06: 06:00 31 18:00 0", "sump 2026-07-06: 06:00 20.5"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, row.of, table(t, row.text), row.answers)
			if !slices.Equal(got, row.want) {
				t.Errorf("%q, not %q\n%v\n%s\n%+v\n%+v", got, row.want, asked, strings.Join(said(r), "\n"), r.Mapping.Columns, r.Mapping.Wide)
			}
		})
	}
}

// The temperature of a sample is read with its moisture, which is corrected by it.
func TestTheTemperatureOfASampleStandsBesideItsMoisture(t *testing.T) {
	t.Parallel()
	h := newHouse()
	r := h.bring(t, importing.Readings, "Date,sump,,large tank,\n,moisture,temp °C,moisture,temp °C\n2026-07-06,17.5,25,18.1,26\n2026-07-07,17.6,,,\n")
	var got []string
	for _, b := range bodies[ledger.Reading](h) {
		told := "no temperature"
		if b.Moisture.SampleC != nil {
			told = fmt.Sprint(*b.Moisture.SampleC)
		}
		got = append(got, fmt.Sprintf("%g at %s", b.Moisture.AsRead, told))
	}
	if want := []string{"17.5 at 25", "18.1 at 26", "17.6 at no temperature"}; !slices.Equal(got, want) || len(r.NotRead) > 0 {
		t.Errorf("%v %v", got, r.NotRead)
	}
}

// A sheet of which each row is one thing stays one, whatever its names and headings look like.
func TestASheetWithOneThingToARowIsNotTakenForAWideOne(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		fixed      map[importing.Field]string
	}{
		{"lots and drums that are called by numbers", "Date,Lot,Tank,Moisture %\n2026-07-06,12,,17.4\n2026-07-07,13,,17.9\n2026-07-08,12,,17.8\n", importing.Readings, nil},
		{"figures that nobody knows beside those that are read", "Date,Moisture,Probe A,Probe B\n2026-07-06,17.4,3,4\n2026-07-07,17.9,5,6\n", importing.Readings, map[importing.Field]string{importing.FieldTank: "sump"}},
		{"two days in each row", "Yard,Pulled,Supers,Kind,Extracted\nMill,2026-07-06,12,deep,2026-07-08\nRidge,2026-07-07,3,deep,2026-07-08\n", importing.Pulls, nil},
		{"a column for each kind of box", "Date,Yard,Deep,Shallow\n2026-07-06,Mill,12,3\n2026-07-07,Ridge,3,2\n", importing.Pulls, nil},
		{"headings in a language that nobody taught the program", "Datum;Stand;Zargen;Art;Gewicht kg;Leute\n6.7.2026;Mill;12;deep;1.134,5;6\n13.7.2026;Ridge;3;shallow;50,25;\n", importing.Pulls, nil},
		{"no headings", "2026-07-06,Mill,12,deep\n2026-07-07,Ridge,3,deep\n", importing.Pulls, nil},
	} {
		h := newHouse()
		h.SetUp(&ledger.Lot{Code: "12"})
		h.SetUp(&ledger.Lot{Code: "13"})
		m, _, err := importing.Settle(h.book(t), table(t, row.text), row.of, importing.Sent{Mapping: &importing.Mapping{Fixed: row.fixed}})
		if err != nil || m.IsWide() {
			t.Errorf("%s: %v %+v %+v", row.what, err, m.Wide, m.Columns)
		}
	}
}
