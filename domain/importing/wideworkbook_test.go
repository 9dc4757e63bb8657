package importing_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

// A workbook keeps days as numbers, 46209 for 6 July 2026, merges what belongs together and has
// comments on its cells.
func TestAWideSheetOfAWorkbookKeepsWhatACellShows(t *testing.T) {
	t.Parallel()
	const days = "Supers,46209,46217\nMill,12,8\nRidge,3,\n"
	const pairs = ",46209,,46217,\nYard,boxes,kg,boxes,kg\nMill,12,301.5,8,\nRidge,3,,,\n"
	const down = "Supers,Mill,Ridge\n46209,12,3\n46217,8,\n"
	for _, row := range []struct {
		what, text string
		put        func(*tables.Table)
		want       []string
	}{
		{"days above", days, nil, []string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-14: 8 deep", "Ridge 2026-07-06: 3 deep"}},
		{"days beside", down, nil, []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep"}},
		{"days merged above two columns each", pairs, func(t *tables.Table) {
			t.Merged = []tables.Span{{Row: 1, First: 1, Last: 2}, {Row: 1, First: 3, Last: 4}}
		},
			[]string{"Mill 2026-07-06: 12 deep 301500 g", "Mill 2026-07-14: 8 deep", "Ridge 2026-07-06: 3 deep"}},
		{"a comment is of its cell, or of the row", days, func(t *tables.Table) {
			t.Remarks, t.RemarkedAt = map[int][]string{2: {"after rain", "by Odell"}}, map[int][]int{2: {2, 0}}
		}, []string{"Mill 2026-07-06: 12 deep (by Odell)", "Mill 2026-07-14: 8 deep (after rain by Odell)", "Ridge 2026-07-06: 3 deep"}},
		{"a yard merged over two rows", "Supers,46209,46217\nMill,12,\n,,8\nRidge,3,\n", func(t *tables.Table) { t.Tall = []tables.Tall{{Column: 0, First: 2, Last: 3, Text: "Mill"}} },
			[]string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-14: 8 deep", "Ridge 2026-07-06: 3 deep"}},
		{"a figure merged over two days", days, func(t *tables.Table) { t.Merged = []tables.Span{{Row: 3, First: 1, Last: 2}} }, []string{"3B two_values"}},
		{"a figure merged over two yards", days, func(t *tables.Table) { t.Tall = []tables.Tall{{Column: 2, First: 2, Last: 3, Text: "8"}} }, []string{"3C two_values"}},
		{"a hidden row", days, func(t *tables.Table) { t.Aside = map[int]tables.Aside{2: tables.Hidden} }, []string{"2 row_taken_out"}},
		{"a comment that speaks of another unit", pairs, func(t *tables.Table) {
			t.Remarks, t.RemarkedAt = map[int][]string{3: {"in pounds"}}, map[int][]int{3: {2}}
		}, []string{"3C wide_sheet"}},
		{"a heading that does not reach", pairs, func(t *tables.Table) { t.Merged = []tables.Span{{Row: 1, First: 3, Last: 4}} }, []string{"1C missing"}},
	} {
		h := newHouse()
		sheet := serials(table(t, row.text))
		if row.put != nil {
			row.put(sheet)
		}
		got, asked, r := h.parted(t, importing.Pulls, sheet, deeps())
		if !slices.Equal(append(got, asked...), row.want) {
			t.Errorf("%s: %v %v\n%s\n%+v", row.what, got, asked, strings.Join(said(r), "\n"), r.Mapping)
		}
	}
}

// What a person says of one cell holds for that cell alone.
func TestACellOfAWideSheetThatWasMendedIsAnsweredByItsName(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\n2026-07-06,Ridge,3,deep\n")
	const sheet = "Deep supers\nDate,Mill,Ridge\n2026-07-06,13,4\n"
	_, asked, r := h.parted(t, importing.Pulls, table(t, sheet), nil)
	if want := []string{"3B like_recorded", "3C like_recorded"}; !slices.Equal(asked, want) {
		t.Fatalf("%v\n%v", asked, said(r))
	}
	answers := &importing.Mapping{Cells: map[string]importing.Alike{"B3": importing.Corrects, "C3": importing.LeftAside}}
	got, asked, r := h.parted(t, importing.Pulls, table(t, sheet), answers)
	if want := []string{"Mill 2026-07-06: 13 deep"}; !slices.Equal(got, want) || r.LeftOut != 1 {
		t.Errorf("%v %v %d", got, asked, r.LeftOut)
	}
	if at := r.First[0]; at.Cell != "B3" || at.Row != 3 || at.Entry.Replaces == (ledger.ID{}) {
		t.Errorf("%+v", at)
	}
}

// What stood in the sheet stays with the entry, where reading it took more than its digits.
func TestWhatAWideSheetSaidStaysWithTheEntry(t *testing.T) {
	t.Parallel()
	h := newHouse()
	_, asked, r := h.parted(t, importing.Pulls, table(t, "July 2026;;;;;;\nYard;6;;7;;8;\n;boxes;lb;boxes;lb;boxes;lb\nMill;12 boxes;665,5;;;;\n"), deeps())
	if asked != nil {
		t.Fatalf("%v %v %+v", asked, said(r), r.Mapping)
	}
	want := map[string]string{"date": "6", "supers": "12 boxes", "gross_kg": "665,5 lb"}
	if got := r.First[0].Entry.AsEntered; !reflect.DeepEqual(got, want) || r.Cells != 2 {
		t.Errorf("%v, %d cells", got, r.Cells)
	}
}

// TestANarrowSheetTurnedWideComesToTheSame: whichever way a clean table is turned, the same
// pulls come of it, by the same ids.
func TestANarrowSheetTurnedWideComesToTheSame(t *testing.T) {
	t.Parallel()
	yards := []string{"Mill", "Ridge", "Alder Bend", "Elm", "Quarry"}
	rapid.Check(t, func(t *rapid.T) {
		type pull struct{ supers, decigrams int }
		days := rapid.SliceOfNDistinct(rapid.IntRange(1, 80), 2, 12, rapid.ID).Draw(t, "days")
		slices.Sort(days)
		across := yards[:rapid.IntRange(2, len(yards)).Draw(t, "yards")]
		weighed, comma, serial, total := rapid.Bool().Draw(t, "weighed"), rapid.Bool().Draw(t, "comma"), rapid.Bool().Draw(t, "serial"), rapid.Bool().Draw(t, "totals")
		pulls := map[string]map[int]pull{}
		for _, yard := range across {
			pulls[yard] = map[int]pull{}
			for _, d := range days {
				if rapid.Bool().Draw(t, "pulled") {
					pulls[yard][d] = pull{rapid.IntRange(1, 60).Draw(t, "supers"), rapid.IntRange(1, 9_999).Draw(t, "weight")}
				}
			}
		}
		for _, yard := range across { // each has one at least, as those have whose name stands there
			if len(pulls[yard]) == 0 {
				pulls[yard][days[0]] = pull{1, 100}
			}
		}
		separator := ","
		if comma {
			separator = ";"
		}
		row := func(cells ...string) string { return strings.Join(cells, separator) + "\n" }
		day := func(d int) string {
			at := time.Date(2026, time.May, 20, 0, 0, 0, 0, time.UTC).AddDate(0, 0, d)
			if serial {
				return fmt.Sprint(46162 + d) // 46162 is 20 May 2026
			}
			return at.Format(time.DateOnly)
		}
		cells := func(p pull, is bool) []string {
			out := []string{""}
			if is {
				out[0] = fmt.Sprint(p.supers)
			}
			if !weighed {
				return out
			}
			if !is {
				return append(out, "")
			}
			weight := fmt.Sprintf("%.1f", float64(p.decigrams)/10)
			if comma {
				weight = strings.ReplaceAll(weight, ".", ",")
			}
			return append(out, weight)
		}
		narrow := row("Date", "Yard", "Supers", "Gross kg")
		for _, d := range days {
			for _, yard := range across {
				if p, is := pulls[yard][d]; is {
					narrow += row(append([]string{day(d), yard}, cells(p, true)...)...)
				}
			}
		}
		if !weighed {
			narrow = strings.Replace(narrow, separator+"Gross kg", "", 1)
		}
		turn := func(corner string, above, beside []string, at func(a, b int) (pull, bool)) string {
			first, second := []string{corner}, []string{""}
			for _, a := range above {
				first, second = append(first, a), append(second, "boxes")
				if weighed {
					first, second = append(first, ""), append(second, "kg")
				}
			}
			if total {
				first, second = append(first, "Total"), append(second, "boxes")
			}
			out := row(first...)
			if weighed {
				out += row(second...)
			}
			for b := range beside {
				line, sum := []string{beside[b]}, 0
				for a := range above {
					p, is := at(a, b)
					line, sum = append(line, cells(p, is)...), sum+p.supers
				}
				if total {
					line = append(line, fmt.Sprint(sum))
				}
				out += row(line...)
			}
			return out
		}
		var written []string
		for _, d := range days {
			written = append(written, day(d))
		}
		byYard := turn("Supers", across, written, func(a, b int) (pull, bool) { p, is := pulls[across[a]][days[b]]; return p, is })
		byDay := turn("Supers", written, across, func(a, b int) (pull, bool) { p, is := pulls[across[b]][days[a]]; return p, is })

		ids := func(text string) (out []string) {
			h := newHouse()
			sheet, _, err := tables.CSV([]byte(text))
			if err != nil {
				t.Fatal(err)
			}
			sheet.Serials = serial
			book, err := ledger.Open(time.UTC, h.Entries)
			if err != nil {
				t.Fatal(err)
			}
			answers := deeps()
			answers.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: {}}
			for _, yard := range across { // one by one: by chance one's figures may be the means of others
				answers.Names[importing.NounYard][yard] = importing.Choice{Create: &importing.Thing{}}
			}
			m, _, err := importing.Settle(book, sheet, importing.Pulls, importing.Sent{Mapping: answers})
			if err != nil {
				t.Fatal(err)
			}
			r, err := importing.Take(book.Ahead(), sheet, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, func(e *ledger.Entry) error {
				if e.Kind == ledger.KindPull {
					out = append(out, e.ID.String())
				}
				return nil
			})
			if err != nil || r.AllProblems > 0 {
				t.Fatalf("%v %v\n%s\n%+v %+v", err, said(r), text, m.Columns, m.Wide)
			}
			slices.Sort(out)
			return out
		}
		want := ids(narrow)
		for _, text := range []string{byYard, byDay} {
			if got := ids(text); !slices.Equal(got, want) {
				t.Fatalf("%d pulls, not %d:\n%s\nof\n%s", len(got), len(want), text, narrow)
			}
		}
	})
}
