package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A column of figures beside those that are read is one that was not understood, or one of something
// else that its heading names: no figure is passed over without a word.
func TestFiguresBesideThoseThatAreReadAreAskedAbout(t *testing.T) {
	t.Parallel()
	of2026 := supersOf("deep")
	of2026.Year, of2026.Wide.MonthDay = 2026, 15
	none := &importing.Mapping{}
	for _, row := range []struct {
		what, text  string
		answers     *importing.Mapping
		want, asked []string
	}{
		{"months in German", "Stand;Mai;Juli;Oktober\nMill;12;3;4\n", of2026, []string{"Mill 2026-05-15: 12 deep", "Mill 2026-07-15: 3 deep", "Mill 2026-10-15: 4 deep"}, nil},
		{"days in German", "Stand;6. Mai;14. Juli\nMill;12;3\n", of2026, []string{"Mill 2026-05-06: 12 deep", "Mill 2026-07-14: 3 deep"}, nil},
		{"months in French that no date has", "Rucher;juin;avril\nMill;12;3\n", of2026, nil, []string{"1B no_date"}},
		{"months in a language that nobody taught the program", "Yard,kesä,August,September\nMill,12,3,4\n", of2026, nil, []string{"1B wide_sheet"}},
		{"a kind of box that the outfit does not have", "Date,Mill,,Ridge,\n,deep,medium,deep,medium\n2026-07-06,12,2,3,1\n", none, nil, []string{"1C wide_sheet", "1E wide_sheet"}},
		{"such a kind that is left aside", "Date,Mill,\n,deep,medium\n2026-07-06,12,2\n", &importing.Mapping{Cells: map[string]importing.Alike{"C1": importing.LeftAside}}, []string{"Mill 2026-07-06: 12 deep"}, nil},
		{"such a kind in a heading with its yard", "Date,Mill deep,Mill medium,Ridge deep\n2026-07-06,12,2,3\n2026-07-07,12,2,3\n", setUpAll(), nil, []string{"1C unknown_name"}},
		{"what is no figure of the cells", "Yard,Truck,6/7/2026,14/7/2026,Hours,Average\nMill,3,12,8,9,10\n", supersOf("deep"), []string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-14: 8 deep"}, nil},
		{"words", "Yard,6/7/2026,Weather,14/7/2026\nMill,12,rain,8\n", supersOf("deep"), []string{"Mill 2026-07-06: 12 deep", "Mill 2026-07-14: 8 deep"}, nil},
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
