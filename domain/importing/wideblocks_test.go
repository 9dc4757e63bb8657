package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// Further blocks stand below or beside the first. A figure of theirs never goes to the yard of
// another block, nor kilograms in as boxes, whatever is left out on the way.
func TestAFigureOfAFurtherBlockIsNeverTakenForAnotherYardsOrForBoxes(t *testing.T) {
	t.Parallel()
	leftOut := func(rows ...int) *importing.Mapping {
		m := deeps()
		m.LeaveOutRows, m.LeaveOutTotals = rows, true
		return m
	}
	numbers := &importing.Mapping{Wide: supersOf("deep").Wide}
	const first = "Supers,Mill,Ridge\n2026-07-06,12,3\n"
	both := []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Ridge 2026-07-14: 5 deep", "Mill 2026-07-14: 8 deep"}
	for _, row := range []struct {
		what, text  string
		answers     *importing.Mapping
		want, asked []string
	}{
		{"its headings are left out", first + "Supers,Ridge,Mill\n2026-07-14,5,8\n", leftOut(3), both, nil},
		{"its headings have a total, and nothing above the days", "Supers,Mill,Ridge,Total\n2026-07-06,12,3,15\n,Ridge,Mill,Total\n2026-07-14,5,8,13\n", leftOut(), both, nil},
		{"one of its yards is misspelt, and nothing stands above the days", first + ",Rigde,Mill\n2026-07-14,5,8\n", leftOut(3), nil, []string{"3B unknown_name"}},
		{"none of its yards is known", first + ",Alder Bend,Elm\n2026-07-14,5,8\n", leftOut(), nil, []string{"3 wide_sheet"}},
		{"it is of one yard that nobody knows", "Supers,Mill\n2026-07-06,12\n,Elm\n2026-07-14,8\n", leftOut(), nil, []string{"3 wide_sheet"}},
		{"its corner says that these are kilograms", first + "kg,Mill,Ridge\n2026-07-14,212,130\n", leftOut(3), nil, []string{"3A wide_sheet"}},
		{"its corner says something else", first + "Day,Ridge,Mill\n2026-07-14,5,8\n", leftOut(3), both, nil},
		{"its corner says something else, above days", "Supers,6/7/2026,14/7/2026\nMill,12,8\nLater in the year,20/8/2026,3/8/2026\nRidge,3,5\n", leftOut(3),
			[]string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-14: 8 deep", "Ridge 2026-08-20: 3 deep", "Ridge 2026-08-03: 5 deep"}, nil},
		{"its corner is what says that these are frames", first + "Frames,Mill,Ridge\n2026-07-14,80,50\n", leftOut(3), nil, []string{"3A wide_sheet"}},
		{"its corner is what says that these are hives", first + "Hives,Mill,Ridge\n2026-07-14,40,22\n", leftOut(3), nil, []string{"3A wide_sheet"}},
		{"its corner is what says that these are hives, above days", "Supers,2026-07-06,2026-07-14\nMill,12,8\nHives,2026-07-06,2026-07-14\nMill,40,41\n", leftOut(), nil, []string{"3A wide_sheet"}},
		{"its corner is what says that this is honey", first + "Honey kg,Mill,Ridge\n2026-07-14,212,130\n", leftOut(3), nil, []string{"3A wide_sheet"}},
		{"its corner says something that nobody knows", first + "Plan,Mill,Ridge\n2026-07-14,40,22\n", leftOut(), nil, []string{"3 wide_sheet"}},
		{"its corner says something that a person says to be the same", first + "Plan,Mill,Ridge\n2026-07-14,5,8\n", leftOut(3), []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 5 deep", "Ridge 2026-07-14: 8 deep"}, nil},
		{"its corner says what its rows are of", first + "Day,Ridge,Mill\n2026-07-14,5,8\n", leftOut(), both, nil},
		{"its corner says the same as the first one's", first + "Boxes,Ridge,Mill\n2026-07-14,5,8\n", leftOut(), both, nil},
		{"it stands beside, and nothing says what it holds", "Supers,Mill,Ridge,,Mill,Ridge\n2026-07-06,12,3,,300,90\n2026-07-14,8,5,,200,120\n", leftOut(), nil, []string{"1E two_values", "1F two_values"}},
		{"it stands beside, and a title says that these are kilograms", "Boxes 2026,,,,Gross (kg) 2026,\nDate,Mill,Ridge,,Mill,Ridge\n2026-07-06,12,3,,300,90\n2026-07-14,8,5,,200.5,\n", leftOut(),
			[]string{"Mill 2026-07-06: 12 deep 300000 g", "Ridge 2026-07-06: 3 deep 90000 g", "Mill 2026-07-14: 8 deep 200500 g", "Ridge 2026-07-14: 5 deep"}, nil},
		{"its headings say another yard and what its columns hold", "Date,Mill boxes,Mill kg\n2026-07-06,12,301\nDate,Ridge boxes,Ridge kg\n2026-07-14,8,200\n", leftOut(),
			[]string{"Mill 2026-07-06: 12 deep 301000 g", "Ridge 2026-07-14: 8 deep 200000 g"}, nil},
		{"its headings say the other yard of each column", "Date,Mill boxes,Mill kg,Ridge boxes,Ridge kg\n2026-07-06,12,301,3,80\nDate,Ridge boxes,Ridge kg,Mill boxes,Mill kg\n2026-07-14,5,110,8,200\n", leftOut(),
			[]string{"Mill 2026-07-06: 12 deep 301000 g", "Ridge 2026-07-06: 3 deep 80000 g", "Ridge 2026-07-14: 5 deep 110000 g", "Mill 2026-07-14: 8 deep 200000 g"}, nil},
		{"its headings have kilograms where there were boxes", "Date,Mill boxes,Mill kg\n2026-07-06,12,301\nDate,Mill kg,Mill boxes\n2026-07-14,200,8\n", leftOut(), nil, []string{"3B wide_sheet", "3C wide_sheet"}},
		{"its headings have pounds where there were kilograms", "Date,Mill boxes,Mill kg\n2026-07-06,12,301\nDate,Mill boxes,Mill lb\n2026-07-14,8,400\n", leftOut(), nil, []string{"3C wide_sheet"}},
		{"its headings have the yard alone", "Date,Mill boxes,Mill kg\n2026-07-06,12,301\nDate,Ridge,\n2026-07-14,8,200\n", leftOut(), nil, []string{"3B wide_sheet", "3C missing"}},
		{"its headings are those of the first", "Date,Mill boxes,Mill kg\n2026-07-06,12,301\nDate,Mill boxes,Mill kg\n2026-07-14,8,200\n", leftOut(), []string{"Mill 2026-07-06: 12 deep 301000 g", "Mill 2026-07-14: 8 deep 200000 g"}, nil},
		{"its days are numbers, and no title says of which month", "July 2026\nYard,5,6,7\nMill,1,2,3\nYard,2,3,4\nMill,4,5,6\n", numbers, nil, []string{"4B no_date"}},
		{"its days are numbers below a month that stands in two cells", "July 2026\nYard,5,6,7\nMill,1,2,3\nMonth,August 2026\nYard,12,13,14\nMill,4,5,6\n", numbers, nil, []string{"5B no_date"}},
		{"its days are numbers, and those of a page before", "July 2026\nYard,5,6,7\nMill,1,2,\nYard,5,6,7\nRidge,,5,6\n", numbers,
			[]string{"Mill 2026-07-05: 1 deep", "Mill 2026-07-06: 2 deep", "Ridge 2026-07-06: 5 deep", "Ridge 2026-07-07: 6 deep"}, nil},
		{"a title says another month, and no days stand below it", "July 2026\nYard,5,6,7\nMill,1,2,3\nAugust 2026\nRidge,1,2,3\n", numbers, nil, []string{"5 no_date"}},
		{"a row says that what stands below it is in pounds", "Date,Mill,\n,boxes,kg\n2026-07-06,12,301\nfrom here in lb,,\n2026-07-14,8,400\n", leftOut(), nil, []string{"4 wide_sheet"}},
		{"sums of a month without a word, below its day numbers", "July 2026\nYard,6,7,14\nMill,12,,8\nRidge,3,,\n,15,,8\n", &importing.Mapping{Wide: supersOf("deep").Wide, LeaveOutTotals: true},
			[]string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-14: 8 deep", "Ridge 2026-07-06: 3 deep"}, nil},
		{"remarks in a row of their own", first + ",rain,rain\n2026-07-14,8,5\n", leftOut(3), []string{"Mill 2026-07-06: 12 deep", "Ridge 2026-07-06: 3 deep", "Mill 2026-07-14: 8 deep", "Ridge 2026-07-14: 5 deep"}, nil},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), row.answers)
			if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not\n%v\n%v\n%s", got, asked, row.want, row.asked, strings.Join(said(r), "\n"))
			}
			for _, p := range r.Problems {
				if byWords := p.Column == ""; p.OfHeadings == byWords {
					t.Errorf("row %d: %t that it has headings", p.Row, p.OfHeadings)
				}
			}
		})
	}
}
