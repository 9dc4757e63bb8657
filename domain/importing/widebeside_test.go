package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A row has one day and one name. Where a sheet has several, the one that its heading says is
// taken, and else it is asked: no figure goes in with the day or name of another one.
func TestAFigureTakesTheDayOfItsOwnBlockOrIsAsked(t *testing.T) {
	t.Parallel()
	both := []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep", "Ridge 2026-07-14: 5 deep"}
	for _, row := range []struct {
		what, text  string
		want, asked []string
	}{
		{"a block of another yard stands beside, with days of its own", "Date,Mill,,Date,Ridge\n2026-07-06,12,,2026-08-06,7\n", nil, []string{"2D wide_sheet"}},
		{"its days have no heading", "Date,Mill,,,Ridge\n2026-07-06,12,,2026-08-06,7\n", nil, []string{"2D wide_sheet"}},
		{"its days are not known as some", "Date,Mill,,Date,Ridge\n2026-07-06,12,,early August,7\n", nil, []string{"2D wide_sheet"}},
		{"a block of other yards stands beside, below days", "Yard,2026-07-06,2026-07-14,,Yard,2026-08-06\nMill,12,8,,Ridge,5\nRidge,3,5,,Mill,4\n", nil, []string{"2E wide_sheet"}},
		{"its yards have no heading", "Yard,2026-07-06,2026-07-14,,2026-08-06\nMill,12,8,Ridge,5\nRidge,3,5,Mill,4\n", nil, []string{"2D wide_sheet"}},
		{"its days are numbers", "Date,Mill,Day,Ridge\n2026-07-06,12,16,3\n2026-07-14,8,18,5\n", nil, []string{"2C wide_sheet"}},
		{"its weeks are numbers", "Date,Mill,Week,Ridge\n2026-07-06,12,30,3\n2026-07-14,8,31,5\n", nil, []string{"2C wide_sheet"}},
		{"its months are words", "Date,Mill,Month,Ridge\n2026-07-06,12,August,3\n2026-07-14,8,August,5\n", nil, []string{"2C wide_sheet"}},
		{"a note says that the cells are something else", "Date,Mill,Ridge,Note\n2026-07-06,12,3,\n2026-07-14,200,110,kg\n", nil, []string{"3D wide_sheet"}},
		{"notes among the figures", "Date,Mill,Weather,Ridge\n2026-07-06,12,rain,3\n2026-07-14,8,,5\n", both, nil},
		{"a second column of days, behind the first", "Pulled,Extracted,Mill,Ridge\n2026-07-06,2026-07-08,12,3\n2026-07-14,2026-07-16,8,5\n", both, nil},
		{"a second column of days, before the one that is headed", "Entered,Date,Mill,Ridge\n2026-07-08,2026-07-06,12,3\n2026-07-16,2026-07-14,8,5\n", both, nil},
		{"a column of days without a heading before it", ",Date,Mill,Ridge\n2026-07-08,2026-07-06,12,3\n2026-07-16,2026-07-14,8,5\n", both, nil},
		{"two columns of days, and neither heading says it", "From,To,Mill,Ridge\n2026-07-06,2026-07-08,12,3\n2026-07-14,2026-07-16,8,5\n", nil, []string{"0 missing"}},
		{"a column of yards without a heading before the one that has one", ",Yard,2026-07-06,2026-07-14\nRidge,Mill,12,8\nMill,Ridge,3,5\n", []string{both[0], both[2], both[1], both[3]}, nil},
		{"two columns of yards without headings", ",,2026-07-06,2026-07-14\nRidge,Mill,12,8\nMill,Ridge,3,5\n", nil, []string{"0 missing"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), &importing.Mapping{Wide: supersOf("deep").Wide})
			if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not\n%v\n%v\n%s", got, asked, row.want, row.asked, strings.Join(said(r), "\n"))
			}
		})
	}
}

// Two rows of one day are two pulls or a row of boxes and one of weights: a person says which.
func TestTwoFiguresOfOneYardAndDayAreAskedAbout(t *testing.T) {
	t.Parallel()
	const sheet = "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-06,301,\n"
	another := deeps()
	another.Twice = importing.Another
	aside := deeps()
	aside.Cells = map[string]importing.Alike{"B3": importing.LeftAside}
	asideAll := deeps()
	asideAll.Twice = importing.LeftAside
	for _, row := range []struct {
		what, text  string
		answers     *importing.Mapping
		want, asked []string
	}{
		{"nobody says what they are", sheet, deeps(), nil, []string{"3B stands_twice"}},
		{"it happened too", sheet, another, []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-06: 301 deep"}, nil},
		{"it is left out", sheet, aside, []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep"}, nil},
		{"what stands twice is left out, and this says something else", sheet, asideAll, nil, []string{"3B stands_twice"}},
		{"the rows are of yards", "Supers,2026-07-06,2026-07-14\nMill,12,8\nMill,301,\n", deeps(), nil, []string{"3B stands_twice"}},
		{"the same day stands above two columns, written otherwise", "Supers,2026-07-06,2026-07-14,6 Jul 2026\nMill,12,8,301\n", deeps(), nil, []string{"2D stands_twice"}},
		{"each row has its kind of box", "Supers,Kind,Mill,Ridge\n2026-07-06,deep,12,3\n2026-07-06,shallow,2,1\n", &importing.Mapping{},
			[]string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-06: 2 shallow", "Ridge 2026-07-06: 1 shallow"}, nil},
		{"each row has its kind of box, and all are said to be of one", "Supers,Kind,Mill\n2026-07-06,deep,12\n2026-07-06,shallow,2\n", supersOf("deep"), nil, []string{"3B wide_sheet"}},
		{"each row has its time", "Date,Time,Mill\n2026-07-06,09:00,12\n2026-07-06,15:00,3\n", supersOf("deep"), []string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-06: 3 deep"}, nil},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), row.answers)
			if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not\n%v\n%v\n%s", got, asked, row.want, row.asked, strings.Join(said(r), "\n"))
			}
		})
	}
}
