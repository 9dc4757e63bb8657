package importing_test

import (
	"reflect"
	"testing"

	"pullbook/domain/importing"
)

// What no column says can be said once for all rows, and that mends the problem.
func TestWhatNoColumnSaysIsMendedByOneValueForAllRows(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind importing.Kind
		text string
		want []importing.Field
	}{
		{importing.Pulls, "Date,Yard,Supers\n2026-07-06,Mill,12\n", []importing.Field{"super_kind"}},
		{importing.Pulls, "Yard,Supers,Kind\nMill,12,deep\n", []importing.Field{"date"}},
		{importing.Runs, "Date,Run,Honey kg\n2026-07-06,first,250\n", []importing.Field{"tank"}},
		{importing.Readings, "Date,Moisture\n2026-07-06,17.4\n", []importing.Field{"tank", "lot", "container"}},
		{importing.Readings, "Date,Tank\n2026-07-06,sump\n", nil},                // what was measured, each row says
		{importing.Pulls, "Date,Yard,Supers,Kind\n2026-07-06,Mill,,deep\n", nil}, // a cell is empty
	} {
		h := newHouse()
		m := h.guess(t, c.kind, c.text)
		r := h.check(t, c.text, m)
		if len(r.Problems) != 1 {
			t.Errorf("%q: %v", c.text, said(r))
			continue
		}
		got := r.Problems[0].MendedBy(&m)
		if len(got) != len(c.want) || len(got) > 0 && !reflect.DeepEqual(got, c.want) {
			t.Errorf("%q is mended by %v, not %v", c.text, got, c.want)
		}
		if len(got) == 0 {
			continue
		}
		m.Fixed = map[importing.Field]string{got[0]: map[importing.Field]string{"super_kind": "deep", "date": "2026-07-06", "tank": "sump"}[got[0]]}
		if r := h.check(t, c.text, m); r.AllProblems > 0 || len(r.Shown) != 1 || r.Entries == nil {
			t.Errorf("%q with %v: %v", c.text, m.Fixed, said(r))
		}
	}
}
