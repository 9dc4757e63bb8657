package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A person says one year for the dates that have none. Where the sheet says otherwise of some of
// them, it is asked.
func TestNoDateOfAWideSheetGoesIntoAYearThatTheSheetSpeaksAgainst(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, text  string
		year        int
		leftOut     []int
		want, asked []string
	}{
		{"two years stand above days", ",2025,,2026,\nYard,6 Jul,14 Jul,5 Jul,13 Jul\nMill,1,2,3,4\n", 2026, nil, nil, []string{"1 no_year"}},
		{"a title is of another year", "Boxes 2025\nDate,Mill,Ridge\n6 Jul,12,3\n", 2026, nil, nil, []string{"1 no_year"}},
		{"a title is of another year, and left out", "Since 2019\nDate,Mill,Ridge\n6 Jul,12,3\n", 2026, []int{1}, []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep"}, nil},
		{"the corner is of another year", "Supers 2025,6 Jul,14 Jul\nMill,12,8\n", 2026, nil, nil, []string{"1 no_year"}},
		{"two months stand above the same days", "July 2026\nAugust 2026\nYard,5,6,7\nMill,1,2,3\n", 2026, nil, nil, []string{"2 no_date"}},
		{"two months stand above the same days, and one does not hold", "July 2026\nAugust 2026\nYard,5,6,7\nMill,1,2,\n", 2026, []int{2}, []string{"Mill 2026-07-05: 1 deep", "Mill 2026-07-06: 2 deep"}, nil},
		{"each row has its year", "Year,Date,Mill,Ridge\n2025,6 Jul,12,3\n2026,14 Jul,8,5\n", 2026, nil, nil, []string{"2 no_year"}},
		{"days go over the new year, down", "Supers,Mill,Ridge\n20 Dec,12,3\n28 Dec,8,5\n4 Jan,1,2\n", 2025, nil, nil, []string{"4A no_year"}},
		{"days go over the new year, across", "Supers,20 Dec,28 Dec,4 Jan\nMill,12,8,3\nRidge,3,5,1\n", 2025, nil, nil, []string{"1D no_year"}},
		{"days go back over the new year", "Supers,Mill,Ridge\n14 Jan,12,3\n4 Jan,8,5\n28 Dec,1,2\n", 2025, nil, nil, []string{"4A no_year"}},
		{"months go over the new year", "Supers,Nov,Dec,Jan\nMill,12,8,3\n", 2025, nil, nil, []string{"1D no_year"}},
		{"days go over the new year, and nobody said which it is", "Supers,20 Dec,28 Dec,4 Jan\nMill,12,8,3\n", 0, nil, nil, []string{"1D no_date"}},
		{"days go over the new year, down, and nobody said which it is", "Supers,Mill,Ridge\n20 Dec,12,3\n28 Dec,8,5\n4 Jan,1,2\n", 0, nil, nil, []string{"4A no_date"}},
		{"a season over the new year, below its title", "Season 2025/26\nSupers,5 Jul,3 Dec,6 Jan\nMill,12,8,3\n", 2026, nil, nil, []string{"2D no_year"}},
		{"a title of a season, and the year in which it ends", "Season 2025/26\nSupers,6 Jan,8 Feb\nMill,12,8\n", 2026, nil, []string{"Mill 2026-01-06: 12 deep", "Mill 2026-02-08: 8 deep"}, nil},
		{"days of early and late in one year", "Supers,Mill,Ridge\n6 Jan,12,3\n14 Oct,8,5\n", 2026, nil,
			[]string{"Mill 2026-01-06: 12 deep", "Ridge 2026-01-06: 3 deep", "Mill 2026-10-14: 8 deep", "Ridge 2026-10-14: 5 deep"}, nil},
		{"days go down", "Supers,Mill,Ridge\n14 Jul,12,3\n6 Jul,8,5\n", 2026, nil, []string{"Mill 2026-07-14: 12 deep", "Ridge 2026-07-14: 3 deep", "Mill 2026-07-06: 8 deep", "Ridge 2026-07-06: 5 deep"}, nil},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			answers := &importing.Mapping{Wide: &importing.Wide{Cells: importing.FieldSupers, Of: "deep", MonthDay: 15}, Year: row.year, LeaveOutRows: row.leftOut, MakeSeasons: true}
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), answers)
			if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not\n%v\n%v\n%s", got, asked, row.want, row.asked, strings.Join(said(r), "\n"))
			}
		})
	}
}
