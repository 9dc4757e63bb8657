package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// What stands beside, above or below the cells of a wide sheet may say that they are in another unit.
func TestATextBesideTheCellsThatSpeaksOfAnotherUnitIsAskedAbout(t *testing.T) {
	t.Parallel()
	const heads, day, next = "Date,Mill boxes,Mill kg,Ridge boxes,Ridge kg", "\n2026-07-06,12,301,3,80", "\n2026-07-07,8,200,5,110"
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		answers    *importing.Mapping
		asked      []string
	}{
		{"a note", heads + ",Note" + day + ",\n2026-07-07,8,440,5,240,from here in pounds", importing.Pulls, deeps(), []string{"3F wide_sheet"}},
		{"a column that is not read", heads + ",Remark" + day + ",\n2026-07-07,8,440,5,240,from here in pounds", importing.Pulls, deeps(), []string{"3F wide_sheet"}},
		{"the heading of a column that is not read", heads + ",weights in lb" + day + ",", importing.Pulls, deeps(), []string{"1F wide_sheet"}},
		{"a title", "All in pounds\n" + heads + day, importing.Pulls, deeps(), []string{"1A wide_sheet"}},
		{"a title over names and what they have", "Weights in lb\nDate,Mill,,Ridge,\n,boxes,kg,boxes,kg" + day, importing.Pulls, deeps(), []string{"1A wide_sheet"}},
		{"a title at the right", ",,,,lb\n" + heads + day, importing.Pulls, deeps(), []string{"1E wide_sheet"}},
		{"a title over days", "All in pounds\nYard,6/7/2026,,14/7/2026,\n,boxes,kg,boxes,kg\nMill,12,301,3,80", importing.Pulls, deeps(), []string{"1A wide_sheet"}},
		{"a legend below", heads + day + next + "\n2026-07-08,4,100,,\nWeights are in pounds", importing.Pulls, deeps(), []string{"5 wide_sheet"}},
		{"kilograms below boxes", "Date,Mill,Ridge,Note\n2026-07-06,12,3,\n2026-07-07,300,80,from here in kg", importing.Pulls, supersOf("deep"), []string{"3D wide_sheet"}},
		{"several boxes to one", "Supers in dozens\nDate,Mill,Ridge\n2026-07-06,1,3", importing.Pulls, supersOf("deep"), []string{"1A wide_sheet"}},
		{"ten to one, in the corner", "Supers (x10),Mill,Ridge\n2026-07-06,1,3", importing.Pulls, deeps(), []string{"1A wide_sheet"}},
		{"degrees", "Readings in Fahrenheit\nTime,sump °C,large tank °C\n2026-07-06 06:00,70.5,71.2\n2026-07-06 18:00,72.5,73.2", importing.TemperatureLogs, nil, []string{"1A wide_sheet"}},
		{"degrees from a row on", "°C,sump,large tank,Note\n2026-07-06 06:00,20.5,21.2,\n2026-07-06 18:00,72.5,73.2,now in °F", importing.TemperatureLogs, nil, []string{"3D wide_sheet"}},
		{"the same unit", "All in kilograms\n" + heads + ",Note" + day + ",kg are of the old scale", importing.Pulls, deeps(), nil},
		{"how much of something", heads + ",Note" + day + ",fed 20 lb of sugar", importing.Pulls, deeps(), nil},
		{"a text that is left aside", heads + ",Note" + day + ",from here in pounds", importing.Pulls, &importing.Mapping{Fixed: deeps().Fixed, Cells: map[string]importing.Alike{"F2": importing.LeftAside}}, nil},
		{"a title that is left aside", "All in pounds\n" + heads + day, importing.Pulls, &importing.Mapping{Fixed: deeps().Fixed, Cells: map[string]importing.Alike{"A1": importing.LeftAside}}, nil},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, row.of, table(t, row.text+"\n"), row.answers)
			if !slices.Equal(asked, row.asked) || asked == nil && len(got) == 0 {
				t.Errorf("%v %v, not %v\n%s", got, asked, row.asked, strings.Join(said(r), "\n"))
			}
		})
	}
}
