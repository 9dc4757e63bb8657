package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// Days may be numbers of a month that a title says, above the cells or beside them.
func TestNumbersOfDaysAreOfTheMonthThatATitleSays(t *testing.T) {
	t.Parallel()
	july := []string{"Mill 2026-07-05: 12 deep", "Ridge 2026-07-05: 3 deep", "Mill 2026-07-14: 8 deep"}
	for _, row := range []struct {
		what, text  string
		year        int
		want, asked []string
	}{
		{"down, below a title", "July 2026\nDay,Mill,Ridge\n5,12,3\n14,8,\n", 0, july, nil},
		{"down, below a title without a year", "July\nDay,Mill,Ridge\n5,12,3\n14,8,\n", 2026, july, nil},
		{"down, below a title without a year that nobody says", "July\nDay,Mill,Ridge\n5,12,3\n14,8,\n", 0, nil, []string{"3A no_year"}},
		{"down, with the month above them", "July 2026,Mill,Ridge\n5,12,3\n14,8,\n", 0, july, nil},
		{"down, two months", "July 2026\nDay,Mill,Ridge\n5,12,3\n14,8,\nAugust 2026\nDay,Mill,Ridge\n2,1,\n", 0, append(slices.Clone(july), "Mill 2026-08-02: 1 deep"), nil},
		{"down, two months with the headings once", "July 2026\nDay,Mill,Ridge\n5,12,3\n14,8,\nAugust 2026\n2,1,\n", 0, append(slices.Clone(july), "Mill 2026-08-02: 1 deep"), nil},
		{"down, two months in the corner", "July 2026,Mill,Ridge\n5,12,3\n14,8,\nAugust 2026,Mill,Ridge\n2,1,\n", 0, append(slices.Clone(july), "Mill 2026-08-02: 1 deep"), nil},
		{"down, in Spanish", "julio de 2026\nDía,Mill,Ridge\n5,12,3\n14,8,\n", 0, july, nil},
		{"down, and the month goes on", "July 2026\nDay,Mill\n30,12\n31,3\n1,8\n2,4\n", 0, []string{"Mill 2026-07-30: 12 deep", "Mill 2026-07-31: 3 deep", "Mill 2026-08-01: 8 deep", "Mill 2026-08-02: 4 deep"}, nil},
		{"down, and the month may go on", "July 2026\nDay,Mill\n24,12\n30,3\n4,8\n", 0, nil, []string{"5A no_date"}},
		{"down, one of them a whole day", "July 2026\nDay,Mill\n5,12\n2026-07-06,3\n2026-07-07,3\n2026-07-08,3\n", 0, nil, []string{"3A no_date"}},
		{"down, and they are weeks", "July 2026\nWeek,Mill,Ridge\n27,12,3\n28,8,\n", 0, nil, []string{"0 missing", "0 missing", "0 missing"}},
		{"across, and the month goes on", "June 2026\nYard,29,30,1,2\nMill,1,2,3,4\n", 0, []string{"Mill 2026-06-29: 1 deep", "Mill 2026-06-30: 2 deep", "Mill 2026-07-01: 3 deep", "Mill 2026-07-02: 4 deep"}, nil},
		{"across, and the year goes on", "December 2025\nYard,30,31,1\nMill,1,2,3\n", 0, []string{"Mill 2025-12-30: 1 deep", "Mill 2025-12-31: 2 deep", "Mill 2026-01-01: 3 deep"}, nil},
		{"across, and the next page too", "June 2026\nYard,29,30,1\nMill,1,2,3\nJuly 2026\nYard,30,31,1\nMill,4,5,6\n", 0,
			[]string{"Mill 2026-06-29: 1 deep", "Mill 2026-06-30: 2 deep", "Mill 2026-07-01: 3 deep", "Mill 2026-07-30: 4 deep", "Mill 2026-07-31: 5 deep", "Mill 2026-08-01: 6 deep"}, nil},
		{"across, and the month may go on", "June 2026\nYard,24,28,3\nMill,1,2,3\n", 0, nil, []string{"2D no_date"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			m := supersOf("deep")
			m.Year, m.MakeSeasons = row.year, true
			if strings.Contains(row.text, "Week") {
				m.Wide = nil
			}
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), m)
			if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not\n%v\n%v\n%s\n%+v", got, asked, row.want, row.asked, strings.Join(said(r), "\n"), r.Mapping.Columns)
			}
		})
	}
}
