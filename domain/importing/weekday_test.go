package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// 6 July 2026 was a Monday. A date with another day of the week has its day, its month or its year wrong.
func TestADateThatItsWeekdayDoesNotFitIsAskedAbout(t *testing.T) {
	t.Parallel()
	for text, fits := range map[string]bool{
		"Mon 6 Jul 2026": true, "Monday, 6 July 2026": true, "lunes 6/7/2026": true, "Mon. 6 Jul": true, "2026-07-06": true,
		"Tue 6 Jul 2026": false, "martes 6/7/2026": false, "Sun 6 Jul": false, "Mon 6 Jul 2025": false,
	} {
		for _, sheet := range []string{"Date,Yard,Supers\n\"" + text + "\",Mill,12\n", "Supers,\"" + text + "\"\nMill,12\n"} {
			h := newHouse()
			m := deeps()
			m.Year, m.Dates, m.MakeSeasons = 2026, "day_first", true
			got, asked, r := h.parted(t, importing.Pulls, table(t, sheet), m)
			if fits != (len(got) > 0) || fits == (slices.Contains(asked, "2A no_date") || slices.Contains(asked, "1B no_date")) {
				t.Errorf("%s: %v %v %v", text, got, asked, said(r))
			}
		}
	}
}
