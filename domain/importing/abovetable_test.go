package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// What stands above a table and says of its figures what the headings do not is asked about, until
// the row is left out.
func TestWhatATitleSaysOfTheFiguresIsAskedAbout(t *testing.T) {
	t.Parallel()
	const plain, timed = "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,432\n", "Date,Time,Yard,Supers,Kind\n2026-07-06,10:00,Mill,12,deep\n"
	for _, row := range []struct {
		title, table string
		want         []string
	}{
		{"Plan 2026", plain, []string{"1 two_values"}},
		{"Estimated weights", plain, []string{"1 two_values"}},
		{"Pesos netos", plain, []string{"1 two_values"}},
		{"Times in UTC", timed, []string{"1 two_values"}},
		{"Times in UTC", plain, nil},
		{"Fern Gully Honey, pulls of 2026", plain, nil},
	} {
		h := newHouse()
		text := row.title + "\n" + row.table
		m := h.guess(t, importing.Pulls, text)
		if r := h.check(t, text, m); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s: %v", row.title, said(r))
		}
		m.LeaveOutRows = []int{1}
		if r := h.check(t, text, m); r.AllProblems > 0 || r.New() != 1 {
			t.Errorf("%s, once it is left out: %v", row.title, said(r))
		}
	}
	for _, heading := range []string{"Supers (dozens)", "Supers (approx.)"} {
		if c := newHouse().guess(t, importing.Pulls, "Date,Yard,"+heading+",Kind\n2026-07-06,Mill,12,deep\n").Columns[2]; c.Field != "" {
			t.Errorf("%s is taken for %s", heading, c.Field)
		}
	}
}
