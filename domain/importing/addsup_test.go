package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// A last row with a date whose figures are the sums of the others may be their total; where two
// small counts happen to make a third, nobody is asked.
func TestALastRowThatIsTheSumOfTheOthersIsAskedAbout(t *testing.T) {
	t.Parallel()
	const head = "Date,Yard,Supers,Kind,Gross kg\n"
	const two = "2026-07-06,Mill,12,deep,432\n2026-07-07,Ridge,10,deep,400.5\n"
	for _, row := range []struct {
		what, text string
		want       []string
	}{
		{"sums of two columns", head + two + "2026-07-08,Mill,22,deep,832.5\n", []string{"4 looks_like_a_total"}},
		{"sums of one column of several rows", head + two + "2026-07-08,Mill,8,deep,\n2026-07-09,Mill,30,deep,832.5\n", []string{"5 looks_like_a_total"}},
		{"one column does not add up", head + two + "2026-07-08,Mill,22,deep,832\n", nil},
		{"two counts make a third", "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\n2026-07-07,Ridge,10,deep\n2026-07-08,Mill,22,deep\n", nil},
		{"the same day a second time", head + "2026-07-06,Mill,12,deep,432\n2026-07-07,Mill,12,deep,432\n", nil},
	} {
		h := newHouse()
		m := h.guess(t, importing.Pulls, row.text)
		r := h.check(t, row.text, m)
		if got := problems(r); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v", row.what, said(r))
		}
		if row.want == nil {
			continue
		}
		last := r.Problems[0].Row
		for answer, rows := range map[importing.Alike]int{importing.Another: last - 1, importing.LeftAside: last - 2} {
			m.Rows = map[int]importing.Alike{last: answer}
			if r = h.check(t, row.text, m); r.AllProblems > 0 || int(r.New()) != rows {
				t.Errorf("%s, %s: %v, %d new", row.what, answer, said(r), r.New())
			}
		}
	}
}
