package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// The sheet of the next year has the headings of the last one, and neither its year nor, once the
// scales were changed, its unit.
func TestAsLastTimeIsNotOfAnotherYearNorOfAnotherUnit(t *testing.T) {
	t.Parallel()
	const headings = "Date,Yard,Supers,Kind,Gross kg\n"
	h := newHouse()
	first := h.guess(t, importing.Pulls, headings+"14 Jul,Mill,12,deep,430\n")
	first.Year = 2025
	h.brought(t, "pulls-2025.csv", "aa", first)

	text := "All weights in pounds\n" + headings + "14 Jul,Mill,12,deep,948\n15 Jul,Ridge,8,deep,640\n"
	take := func(m importing.Mapping) []string {
		r, err := importing.Take(h.book(t), table(t, text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return problems(r)
	}
	m, _ := h.settled(t, importing.Pulls, text, "bb", &importing.Mapping{AsLastTime: new(true)})
	if got := take(m); m.Year != 0 || !slices.Equal(got, []string{"3A no_year"}) {
		t.Errorf("the year is %d, and %q is asked", m.Year, got)
	}
	m, _ = h.settled(t, importing.Pulls, text, "bb", &importing.Mapping{AsLastTime: new(true), Year: 2026})
	if got := take(m); m.Year != 2026 || !slices.Equal(got, []string{"3E no_unit"}) {
		t.Errorf("the year is %d, and %q is asked", m.Year, got)
	}
	m.Columns[4].Unit, m.Columns[4].From = importing.Pounds, ""
	if got := take(m); len(got) > 0 {
		t.Errorf("%q is asked once it was answered", got)
	}

	text = headings + "16 Jul,Mill,12,deep,430\n" // in kilograms still
	m, _ = h.settled(t, importing.Pulls, text, "cc", &importing.Mapping{AsLastTime: new(true), Year: 2026})
	if got := take(m); len(got) > 0 {
		t.Errorf("of a sheet that says no other unit %q is asked", got)
	}
	// Files that are looked at one after the other are of one year.
	m, _, err := importing.Settle(h.book(t), table(t, text), importing.Pulls, importing.Sent{Before: &first, Mapping: &importing.Mapping{AsLastTime: new(true)}})
	if err != nil || m.Year != 2025 {
		t.Errorf("%v: the year is %d", err, m.Year)
	}
}
