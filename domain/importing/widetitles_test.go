package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A title that may say other figures than supers is named where it is asked what the cells are, and the
// answer of the last sheet is none for a sheet with such a title.
func TestADoubtfulTitleIsNamedAndAskedAboutInEachSheet(t *testing.T) {
	t.Parallel()
	const days = "Date,Mill,Ridge\n2026-07-06,12,3\n"
	h := newHouse()
	_, asked, r := h.parted(t, importing.Pulls, table(t, "Supers so far\n"+days), nil)
	if !slices.Equal(asked, []string{"0 wide_sheet"}) || !strings.Contains(said(r)[0], `it says "Supers so far"`) {
		t.Errorf("%v %v", asked, said(r))
	}
	h.bring(t, importing.Pulls, "Pulled in 2026\n"+days, func(m *importing.Mapping) { m.Wide.Cells, m.Wide.Of = importing.FieldSupers, "deep" })
	asLastTime := true
	for title, want := range map[string]bool{"Pulled in August": false, "Supers so far": true, "Supers on hives": true} {
		_, asked, r := h.parted(t, importing.Pulls, table(t, title+"\nDate,Mill,Ridge\n2026-08-06,13,4\n"), &importing.Mapping{AsLastTime: &asLastTime})
		if want != slices.Equal(asked, []string{"0 wide_sheet"}) || want == (asked == nil) {
			t.Errorf("%s, as last time: %v %v", title, asked, said(r))
		}
	}
}
