package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// What no house has is asked about, and what a large one has is not.
func TestAFigureThatNoHouseHasIsAskedAbout(t *testing.T) {
	t.Parallel()
	const pull, run = "Date,Yard,Supers,Kind,Hives,Gross\n2026-07-06,Mill,", "Date,Run,Tank,Honey kg,"
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		want       []string
	}{
		{"a large pull", pull + "600,deep,320,22 t\n", importing.Pulls, nil},
		{"a ton behind kilograms", pull + "12,deep,40,432 t\n", importing.Pulls, []string{"2F out_of_range"}},
		{"ten tons behind kilograms", pull + "12,deep,40,10 t\n", importing.Pulls, []string{"2F out_of_range"}},
		{"more supers than stand anywhere", pull + "2026,deep,40,\n", importing.Pulls, []string{"2C out_of_range"}},
		{"more hives than stand anywhere", pull + "12,deep,7000,\n", importing.Pulls, []string{"2E out_of_range"}},
		{"frames of both sides, or of a day", run + "Frames\n2026-07-06,R1,sump,300,120\n2026-07-07,R2,sump,300,96\n", importing.Runs, []string{"2E out_of_range"}},
		{"frames of a side", run + "Frames\n2026-07-06,R1,sump,300,30\n", importing.Runs, nil},
		{"frames of a large side", run + "Frames per side\n2026-07-06,R1,sump,300,60\n", importing.Runs, nil},
		{"a run heavier than a truck", run + "Wax kg\n2026-07-06,R1,sump,72000,\n", importing.Runs, []string{"2D out_of_range"}},
		{"what was pumped over a season", "Date,From,To,kg\n2026-07-06,sump,large tank,72000\n", importing.Transfers, nil},
	} {
		h := newHouse()
		if r := h.check(t, row.text, h.guess(t, row.of, row.text)); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s: %v", row.what, said(r))
		}
	}
	h := newHouse()
	h.bring(t, importing.Runs, "Date,Run\n2026-07-06,R1\n", func(m *importing.Mapping) { m.Fixed = map[importing.Field]string{importing.FieldFrames: "60"} })
}
