package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// A workbook has a sheet of pulls, and one of what they come to. The second is no further honey.
func TestASummaryOfPullsThatTheBookHasIsAskedAbout(t *testing.T) {
	t.Parallel()
	const pulls = "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\n2026-07-14,Mill,8,deep\n2026-07-14,Ridge,5,deep\n"
	months := supersOf("deep")
	months.Wide.MonthDay = 15
	for _, row := range []struct {
		what, text string
		answers    *importing.Mapping
		asked      []string
		cell       string
		row        int
	}{
		{"by month", "Yard,June 2026,July 2026\nMill,3,20\nRidge,,5\n", months, []string{"2C looks_like_a_total", "3C looks_like_a_total"}, "C2", 0},
		{"other months", "Yard,May 2026,June 2026\nMill,3,20\nRidge,,5\n", months, nil, "", 0},
		{"by yard", "Date,Yard,Supers\n2026-08-31,Mill,20\n2026-08-31,Ridge,5\n", deeps(), []string{"2 looks_like_a_total"}, "", 2},
		{"by yard, wide", "Supers,Mill,Ridge\n2026-08-31,20,5\n", deeps(), []string{"2 looks_like_a_total"}, "", 2},
		{"a pull of each yard", "Date,Yard,Supers\n2026-08-31,Mill,20\n2026-08-31,Ridge,6\n", deeps(), nil, "", 0},
		{"a pull of one yard", "Date,Yard,Supers\n2026-08-31,Mill,20\n", deeps(), nil, "", 0},
	} {
		h := newHouse()
		h.bring(t, importing.Pulls, pulls)
		_, asked, r := h.parted(t, importing.Pulls, table(t, row.text), row.answers)
		if !slices.Equal(asked, row.asked) {
			t.Errorf("%s: %v, not %v\n%v", row.what, asked, row.asked, said(r))
		}
		said := *row.answers
		said.Cells, said.Rows = map[string]importing.Alike{row.cell: importing.Another, "C3": importing.LeftAside}, map[int]importing.Alike{row.row: importing.Another}
		if got, asked, _ := h.parted(t, importing.Pulls, table(t, row.text), &said); len(got) == 0 || len(asked) > 0 {
			t.Errorf("%s, and they are pulls: %v %v", row.what, got, asked)
		}
	}
}
