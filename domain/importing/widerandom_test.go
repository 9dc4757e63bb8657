package importing_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

// TestNothingOfAWideSheetIsHalfRead: of a sheet that people could have left in any state, either
// something is asked, or each figure below what runs across is in an entry.
func TestNothingOfAWideSheetIsHalfRead(t *testing.T) {
	t.Parallel()
	any := []string{"", "12", "Mill", "Ridge", "2026-07-06", "14/7/2026", "July 2026", "Aug", "15", "Total", "boxes", "kg", "deep", "Supers", "Date", "x", "12 med", "-", "void", "0"}
	names, days := []string{"Mill", "Ridge", "Elm", "Mill", "Quarry", "Total"}, []string{"2026-07-06", "2026-07-07", "2026-08-03", "6 jul", "14/7/2026", "2026-07-09", "Aug", "Suma"}
	figures := []string{"", "", "12", "3", "7", "40", "0"}
	read := 0
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(1, 5).Draw(t, "width")
		var text strings.Builder
		above, beside := names, days
		if rapid.Bool().Draw(t, "days above") {
			above, beside = days, names
		}
		// Half of the sheets are tidy, so that some are read whatever is drawn: of the others four in a
		// hundred are.
		tidy := rapid.Bool().Draw(t, "tidy")
		if tidy {
			above, beside = []string{"Mill", "Ridge", "Elm", "Quarry", "Ford"}, []string{"2026-07-06", "2026-07-07", "2026-07-09", "2026-08-03"}
			if rapid.Bool().Draw(t, "turned") {
				above, beside = append(beside, "2026-08-04"), above
			}
		}
		inOrder := func(likely []string, at int) []string {
			if tidy {
				return likely[at : at+1]
			}
			return likely
		}
		from := func(likely []string) string {
			if !tidy && rapid.IntRange(0, 19).Draw(t, "odd") == 0 {
				likely = any
			}
			return rapid.SampledFrom(likely).Draw(t, "cell")
		}
		for range rapid.IntRange(1, 2).Draw(t, "blocks") {
			text.WriteString(from([]string{"Supers", "Supers", "Date", "", "Yard"}))
			for i := range width {
				text.WriteString("," + from(inOrder(above, i)))
			}
			for i := range rapid.IntRange(1, 4).Draw(t, "rows") {
				text.WriteString("\n" + from(inOrder(beside, i)))
				for range width {
					text.WriteString("," + from(figures))
				}
			}
			text.WriteString("\n")
		}
		h := newHouse()
		book, err := ledger.Open(time.UTC, h.Entries)
		if err != nil {
			t.Fatal(err)
		}
		sheet, _, err := tables.CSV([]byte(text.String()))
		if err != nil {
			t.Fatal(err)
		}
		answers := deeps()
		answers.Year, answers.Dates, answers.Twice = 2026, tables.DayFirst, importing.Another
		answers.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"*": {Create: &importing.Thing{}}}}
		said := []importing.Field{"", importing.FieldYard, importing.FieldDate}
		if tidy {
			said = said[:1]
		}
		answers.Wide = &importing.Wide{Across: rapid.SampledFrom(said).Draw(t, "across"),
			Cells: importing.FieldSupers, MonthDay: rapid.IntRange(0, 31).Draw(t, "month day")}
		m, _, err := importing.Settle(book, sheet, importing.Pulls, importing.Sent{Mapping: answers})
		if err != nil {
			t.Fatal(err)
		}
		supers := 0
		r, err := importing.Take(book.Ahead(), sheet, m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, func(e *ledger.Entry) error {
			if p, is := e.Body.(*ledger.Pull); is {
				for _, s := range p.Supers {
					supers += s.Supers
				}
			}
			return nil
		})
		if err != nil || r.AllProblems > 0 || r.LeftOut > r.Zeros {
			return // it is asked, refused, or told that rows are left out
		}
		read++
		want := 0
		_ = sheet.Rows(func(row int, cells []string) bool {
			for i, c := range m.Columns {
				if n, err := strconv.Atoi(cellOf(cells, i)); err == nil && row > m.HeadingRow && (c.Field == importing.FieldCell || c.Field == importing.FieldSupers) {
					want += n
				}
			}
			return true
		})
		if supers != want {
			t.Fatalf("%d supers came, and the sheet has %d:\n%s\n%+v\n%+v", supers, want, text.String(), m.Columns, m.Wide)
		}
	})
	if read == 0 {
		t.Error("no sheet of these could be read without a question")
	}
}

func cellOf(cells []string, i int) string {
	if i < len(cells) {
		return cells[i]
	}
	return ""
}
