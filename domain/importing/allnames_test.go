package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// Who says that all unknown yards are one has not said so of a name that is nearly another yard's,
// or has two in it.
func TestANameThatMayBeAnotherThingThanAllAreIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := "Date,Yard,Supers,Kind\n2026-07-14,Mil,12,deep\n2026-07-15,Rige,11,deep\n2026-07-16,Mill + Ridge,10,deep\n2026-07-17,by the river,9,deeps\n2026-07-18,Mill,8,deep + 2 shallow\n"
	m := h.guess(t, importing.Pulls, text)
	m.Names = map[importing.Noun]map[string]importing.Choice{"yard": {"*": {Is: "Mill"}}, "super_kind": {"*": {Is: "deep"}}}
	if got := problems(h.check(t, text, m)); !slices.Equal(got, []string{"3B unknown_name", "4B unknown_name", "6D unknown_name"}) {
		t.Errorf("%q is asked", got)
	}
	m.Names["yard"]["Rige"], m.Names["yard"]["Mill + Ridge"] = importing.Choice{Is: "Ridge"}, importing.Choice{Is: "Mill"}
	m.Names["super_kind"]["deep + 2 shallow"] = importing.Choice{Is: "deep"}
	if r := h.check(t, text, m); r.AllProblems > 0 || r.New() != 5 {
		t.Errorf("%v", said(r))
	}
}
