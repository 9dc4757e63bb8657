package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// Months side by side have the numbers of their days below them or behind them. They are read
// where they can be nothing else, of the year that a person says.
func TestTheDaysOfMonthsThatStandSideBySideAreRead(t *testing.T) {
	t.Parallel()
	of2026 := &importing.Mapping{Wide: supersOf("deep").Wide, Year: 2026}
	usual := []string{"Mill 2026-06-03: 12 deep", "Mill 2026-07-01: 4 deep", "Ridge 2026-06-17: 8 deep", "Ridge 2026-07-08: 3 deep"}
	for _, row := range []struct {
		what, text  string
		answers     *importing.Mapping
		want, asked []string
	}{
		{"days below the months", ",June,,July,\nYard,3,17,1,8\nMill,12,,4,\nRidge,,8,,3\n", of2026, usual, nil},
		{"a title above, and nothing in the corner", "Boxes 2026,,,,\n,June,,July,\n,3,17,1,8\nMill,12,,4,\nRidge,,8,,3\n", of2026, usual, nil},
		{"days behind their month", "Yard,June,3,17,July,1,8\nMill,,12,,,4,\nRidge,,,8,,,3\n", of2026, usual, nil},
		{"in Spanish, with the year", "Colmenar;junio de 2026;;julio de 2026;\n;3;17;1;8\nMill;12;;4;\nRidge;;8;;3\n", supersOf("deep"), usual, nil},
		{"a figure for each month, in a row without a name", "Yard,May,June,July\n,3,5,8\nMill,2,3,4\n", of2026, nil, []string{"1B no_date", "1C no_date", "1D no_date"}},
		{"months with their year", ",June 2026,,July 2026,\nYard,3,17,1,8\nMill,12,,4,\nRidge,,8,,3\n", supersOf("deep"), usual, nil},
		{"a total behind", ",June,,July,,\nYard,3,17,1,8,Total\nMill,12,,4,,16\nRidge,,8,,3,11\n", of2026, usual, nil},
		{"no year", ",June,,July,\nYard,3,17,1,8\nMill,12,,4,\nRidge,,8,,3\n", supersOf("deep"), nil, []string{"2B no_year"}},
		{"over the new year", ",December,,January,\nYard,3,17,1,8\nMill,12,,4,\nRidge,,8,,3\n", of2026, nil, []string{"1B no_date", "1C missing", "1D no_date", "1E missing"}},
		{"days that go down", ",June,,July,\nYard,17,3,1,8\nMill,12,,4,\nRidge,,8,,3\n", of2026, nil, []string{"1B no_date", "1C missing", "1D no_date", "1E missing"}},
		{"31 June", ",June,,July,\nYard,3,31,1,8\nMill,12,,4,\nRidge,,8,,3\n", of2026, nil, []string{"1B no_date", "1C missing", "1D no_date", "1E missing"}},
		{"figures below the month itself", "Yard,June,3,17,July,1,8\nMill,2,12,,,4,\nRidge,,,8,,,3\n", deeps(), nil, []string{"0 missing", "0 missing", "0 missing"}},
		{"a further block", ",June,,July,\nYard,3,17,1,8\nMill,12,,4,\n,August,,September,\nYard,2,16,1,8\nMill,5,,,\n", &importing.Mapping{Wide: of2026.Wide, Year: 2026, LeaveOutRows: []int{4, 5}}, nil, []string{"5 wide_sheet"}},
		{"a further block with whole days", ",June,,July,\nYard,3,17,1,8\nMill,12,,4,\nYard,2/8/2026,16/8/2026,,\nMill,5,3,,\n", of2026, nil, []string{"1B no_date", "1C missing", "1D no_date", "1E missing"}},
		{"a further block with whole days below days and boxes", "Yard,6 Jul boxes,6 Jul kg\nMill,12,301\nYard,2/8/2026,16/8/2026\nMill,5,80\n", &importing.Mapping{Fixed: deeps().Fixed, Year: 2026}, nil, []string{"3B wide_sheet", "3C wide_sheet", "4C missing"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), row.answers)
			if !slices.Equal(got, row.want) || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not\n%v\n%v\n%s\n%+v", got, asked, row.want, row.asked, strings.Join(said(r), "\n"), r.Mapping.Columns)
			}
		})
	}
}
