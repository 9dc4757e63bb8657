package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// A sheet with letters for yards has a legend somewhere. Where all names are set up at once, no yard M stands
// beside the yard Mill.
func TestANameForWhichTheSheetHasALegendIsAskedAbout(t *testing.T) {
	t.Parallel()
	const rows = "2026-07-06,12,3\n2026-07-07,1,4\n2026-07-08,12,3\n2026-07-14,8,5\n"
	both := []string{"1B unknown_name", "1C unknown_name"}
	for _, row := range []struct {
		what, text string
		asked      []string
	}{
		{"at the right", "Date,M,R,,Legend\n2026-07-06,12,3,,M = Mill\n2026-07-14,8,5,,R = Ridge\n", both},
		{"in two cells", "Supers,M,R,,,\n2026-07-06,12,3,,M,Mill\n2026-07-14,8,5,,R,Ridge\n", both},
		{"above", "M = Mill; R = Ridge\nDate,M,R\n" + rows, []string{"2B unknown_name", "2C unknown_name"}},
		{"below", "Date,M,R\n" + rows + "M: Mill,,\nR: Ridge,,\n", both},
		{"of a yard that the outfit does not have", "M = Maple Hollow\nDate,M,R\n" + rows, []string{"2B unknown_name"}},
		{"none, and a remark about a yard", "Date,Elm,Oak,Note\n2026-07-06,12,3,Elm: rain\n", nil},
	} {
		h := newHouse()
		m := setUpAll()
		m.Wide.Across = importing.FieldYard
		if got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), m); !slices.Equal(asked, row.asked) || asked == nil && len(got) == 0 {
			t.Errorf("%s: %v %v, not %v\n%v", row.what, got, asked, row.asked, said(r))
		}
		m = setUpAll("M", "R", "Elm", "Oak")
		m.Wide.Across = importing.FieldYard
		if got, asked, _ := h.parted(t, importing.Pulls, table(t, row.text), m); len(got) == 0 {
			t.Errorf("%s, and they are names of their own: %v", row.what, asked)
		}
	}
}
