package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

func TestATotalOfAllBlocksIsHeldAgainstAllOfThem(t *testing.T) {
	t.Parallel()
	h := newHouse()
	m := supersOf("deep")
	m.LeaveOutTotals = true
	_, asked, r := h.parted(t, importing.Pulls, table(t, "Supers,Mill,Ridge\n2026-07-06,12,3\nTotal,12,3\nSupers,Mill,Ridge\n2026-08-06,2,3\nTotal,2,3\nTotal season,15,6\n"), m)
	if !slices.Equal(asked, []string{"7B other_total"}) || !strings.Contains(said(r)[0], "says 15, and the cells of its column come to 14") {
		t.Errorf("%v %v", asked, said(r))
	}
}

// A total is held against the cells that were read: where it says something else, one of the two is wrong.
func TestATotalThatTheCellsDoNotComeToIsAskedAbout(t *testing.T) {
	t.Parallel()
	const two = "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,5\n"
	aside := map[string]importing.Alike{"B4": importing.LeftAside}
	for _, row := range []struct {
		what, text string
		cells      map[string]importing.Alike
		asked      []string
	}{
		{"a row of totals", two + "Total,30,8\n", nil, []string{"4B other_total"}},
		{"a row of totals that is said not to count", two + "Total,30,8\n", aside, nil},
		{"a row of totals that fits", two + "Total,20,8\n", nil, nil},
		{"a row of totals above", "Supers,Mill,Ridge\nTotal,20,9\n2026-07-06,12,3\n2026-07-14,8,5\n", nil, []string{"2C other_total"}},
		{"a row of totals and its own total", "Supers,Mill,Ridge,Total\n2026-07-06,12,3,15\n2026-07-14,8,5,13\nTotal,20,8,29\n", nil, []string{"4D other_total"}},
		{"a row of means", two + "Average,10,4\n", nil, nil},
		{"a row of totals of hives", two + "Total hives,40,30\n", nil, nil},
		{"totals of each month and of all", two + "Total,20,8\nSupers,Mill,Ridge\n2026-08-06,1,3\nTotal,1,3\nGrand total,21,11\n", nil, nil},
		{"a total of a month that is wrong", two + "Total,20,8\nSupers,Mill,Ridge\n2026-08-06,1,3\nTotal,1,4\n", nil, []string{"7C other_total"}},
		{"subtotals of rows", "Yard,2026-07-06\nMill,12\nRidge,3\nSubtotal,15\nMill,1\nRidge,4\nSubtotal,6\nTotal,20\n", nil, []string{"7B other_total"}},
		{"a grand total", "Supers,Mill,Ridge,Grand total\n2026-07-06,12,3,15\n2026-07-14,8,5,14\n", nil, []string{"3D other_total"}},
		{"a total of a yard", "Date,Mill deep,Mill shallow,Mill total,Ridge deep,Ridge shallow,Total Ridge\n2026-07-06,12,3,15,1,1,2\n2026-07-14,8,5,14,2,2,4\n", nil, []string{"3D other_total"}},
		{"a sum and how many", "Supers,Mill,Ridge,Sum 2\n2026-07-06,12,3,16\n", nil, []string{"2D other_total"}},
		{"a sum in German", "Supers,Mill,Ridge,Gesamt\n2026-07-06,12,3,16\n", nil, []string{"2D other_total"}},
		{"a total of something else", "Supers,Mill,Ridge,Total hives\n2026-07-06,12,3,40\n", nil, nil},
		{"subtotals of columns", "Supers,Mill,Subtotal,Ridge,Subtotal,Total\n2026-07-06,12,12,3,3,15\n2026-07-14,8,8,5,6,13\n", nil, []string{"3E other_total"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			m := supersOf("deep")
			m.LeaveOutTotals, m.Cells, m.Twice = true, row.cells, importing.Another
			_, asked, r := h.parted(t, importing.Pulls, table(t, row.text), m)
			if !slices.Equal(asked, row.asked) {
				t.Errorf("%v, not %v\n%s", asked, row.asked, strings.Join(said(r), "\n"))
			}
		})
	}
}
