package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A unit that a text of the sheet names beside that of the heading leaves open which one holds.
func TestAUnitThatIsSaidElsewhereIsAskedAbout(t *testing.T) {
	t.Parallel()
	const head = "Date,Yard,Supers,Kind,Gross kg"
	const one, two = "2026-07-06,Mill,12,deep,432", "2026-07-07,Ridge,10,deep,800"
	asked := []string{"2E no_unit"}
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		want       []string
	}{
		{"a title", "All in pounds\n" + head + "\n" + one + "\n", importing.Pulls, []string{"3E no_unit"}},
		{"a title further up", "Mill Honey\nweights in lb\n\n" + head + "\n" + one + "\n", importing.Pulls, []string{"5E no_unit"}},
		{"a title in brackets", "Harvest 2026 (lbs)\n" + head + "\n" + one + "\n", importing.Pulls, []string{"3E no_unit"}},
		{"a title of a unit that is not converted", "Pesos en arrobas\n" + head + "\n" + one + "\n", importing.Pulls, []string{"3E no_unit"}},
		{"a title of another count", "Weights x10\n" + head + "\n" + one + "\n", importing.Pulls, []string{"3E no_unit"}},
		{"a title of the same unit", "All weights in kg, drums of 55 gal\n" + head + "\n" + one + "\n", importing.Pulls, nil},
		{"a column that is not read", head + ",Hm\n" + one + ",\n" + two + ",from here in pounds\n", importing.Pulls, asked},
		{"a column without a heading", head + ",\n" + one + ",lb\n", importing.Pulls, nil}, // it is read with the figure
		{"a column before the figure", "Date,Yard,Supers,Kind,Unit,Gross kg\n2026-07-06,Mill,12,deep,lb,432\n", importing.Pulls, []string{"2F no_unit"}},
		{"a note", head + ",Notes\n" + one + ",\n" + two + ",weights lb from here\n", importing.Pulls, asked},
		{"a note of something else", head + ",Notes\n" + one + ",lost a few pounds on the road\n" + two + ",fed 20 lb of sugar in 5 gal pails\n", importing.Pulls, nil},
		{"a legend below", head + ",\n" + one + ",\n" + two + ",\n,,,,,* weights are in lb\n", importing.Pulls, asked},
		{"a legend below the dates", head + "\n" + one + "\n" + two + "\nweights in lb,,,,\n", importing.Pulls, []string{"2E no_unit", "4A no_date"}},
		{"a legend far below", head + ",\n" + strings.Repeat(one+",\n", 300) + ",,,,,weights are in lb\n", importing.Pulls, nil},
		{"a logger's title", "Temperatures in °F\nDate,Tank,Temp C\n2026-07-06 10:00,sump,31\n", importing.TemperatureLogs, []string{"3C no_unit"}},
		{"a logger's note of a letter", "Date,Tank,Temp C,Remark\n2026-07-06 10:00,sump,31,now in F\n", importing.TemperatureLogs, []string{"2C no_unit"}},
		{"a logger's yard of a letter", "Logger F\nDate,Tank,Temp C\n2026-07-06 10:00,sump,31\n", importing.TemperatureLogs, nil},
	} {
		h := newHouse()
		m := h.guess(t, row.of, row.text)
		if strings.Contains(row.what, "far below") {
			m.Twice = importing.LeftAside
			row.want = asked
		}
		r := h.check(t, row.text, m)
		if got := problems(r); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v %v", row.what, got, said(r))
		}
		for i := range m.Columns {
			if unit := importing.UnitIn(m.Columns[i].Heading, m.Columns[i].Field); unit != "" {
				m.Columns[i].Unit = unit
			}
		}
		if got := strings.Join(problems(h.check(t, row.text, m)), " "); strings.Contains(got, "no_unit") {
			t.Errorf("%s: once it is answered, %s", row.what, got)
		}
	}
	h := newHouse()
	const text = "All in pounds\n" + head + "\n" + one + "\n"
	if got := said(h.check(t, text, h.guess(t, importing.Pulls, text))); !strings.Contains(got[0], "The heading says kg, and row 1 says \"All in pounds\".") {
		t.Errorf("%v", got)
	}
}
