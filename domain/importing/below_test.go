package importing_test

import (
	"reflect"
	"testing"

	"pullbook/domain/importing"
)

// A page that goes on with its columns in another order, or with others, is never read by the
// headings of the first one, whatever is left out on the way.
func TestFiguresBelowOtherHeadingsAreNotReadByTheFirstOnes(t *testing.T) {
	t.Parallel()
	const first = "Date,Yard,Supers,Kind,Gross kg,Room\n2026-07-06,Mill,12,deep,300,\n"
	for _, row := range []struct {
		what, text string
		want       []string
	}{
		{"the same headings once more", first + "Date,Yard,Supers,Kind,Gross kg,Room\n2026-07-07,Ridge,3,deep,90,\n", nil},
		{"in another order", first + "Yard,Date,Supers,Kind,Gross kg,Room\nRidge,2026-07-07,3,deep,90,\n", []string{"3 two_values", "4A no_date"}},
		{"two of them are changed over", "Date,Run,Tank,Honey kg,Wax kg\n2026-07-06,1,sump,300,5\nDate,Run,Tank,Wax kg,Honey kg\n2026-07-07,2,sump,6,310\n", []string{"3 two_values"}},
		{"one of them says something else", first + "Date,Yard,Supers,Kind,Honey kg,Room\n2026-07-07,Ridge,3,deep,61,\n", []string{"3 two_values"}},
		{"a note that is called as its column, and a yard too", "Date,Yard,Supers,Kind,Notes\n2026-07-06,Mill,12,deep,notes\n", nil},
	} {
		h := newHouse()
		of := importing.Pulls
		if row.what == "two of them are changed over" {
			of = importing.Runs
		}
		m := h.guess(t, of, row.text)
		m.LeaveOutRows = []int{3}
		if r := h.check(t, row.text, m); !reflect.DeepEqual(problems(r), row.want) {
			t.Errorf("%s: %v, not %v; %v", row.what, problems(r), row.want, said(r))
		}
	}
}

// What stands for the name above it is that of another row, and rows may have been sorted.
func TestAMarkThatStandsForTheNameAboveIsNoName(t *testing.T) {
	t.Parallel()
	for _, mark := range []string{"do.", "Ditto", "''", "\"\"", "\"\"\"\"", "〃", "ídem", "id.", "↓"} {
		h := newHouse()
		text := "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\n2026-07-07,\"" + mark + "\",3,deep\n2026-07-08,Ridge,3,\"" + mark + "\"\n"
		m := h.guess(t, importing.Pulls, text)
		m.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"*": {Create: &importing.Thing{}}}}
		if got := problems(h.check(t, text, m)); !reflect.DeepEqual(got, []string{"3B missing", "4D missing"}) {
			t.Errorf("%s: %v", mark, got)
		}
	}
}
