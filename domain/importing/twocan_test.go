package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// Of two columns that may both be the moisture, or the yard, by what stands in them, the first is
// not taken for it.
func TestOfTwoColumnsThatAValueMayBeOfNoneIsTaken(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for _, c := range []struct {
		of   importing.Kind
		text string
		want []string
	}{
		{importing.Readings, "Date,Tank,Top,Bottom\n2026-07-14,sump,17.4,17.6\n", []string{"0 missing"}},
		{importing.Readings, "Date,Tank,Shown\n2026-07-14,sump,17.4\n", nil},
		{importing.Readings, "Date,Tank,Moisture,Moisture lab\n2026-07-14,sump,17.4,17.8\n", []string{"2D two_values"}},
		{importing.Readings, "Date,Tank,Moisture,Lab\n2026-07-14,sump,17.4,24\n", nil},
		{importing.Pulls, "Date,Came from,Next to,Supers,Kind\n2026-07-14,Mill,Ridge,12,deep\n2026-07-15,Ridge,Mill,11,deep\n", []string{"0 missing"}},
		{importing.Pulls, "Date,Came from,Supers,Kind\n2026-07-14,Mill,12,deep\n2026-07-15,Ridge,11,deep\n", nil},
	} {
		if got := problems(h.check(t, c.text, h.guess(t, c.of, c.text))); !slices.Equal(got, c.want) {
			t.Errorf("of %q %q is asked, and %q should be", c.text, got, c.want)
		}
	}
}

// Kilograms and pounds below one heading are two columns of that heading: a row that fills in the
// pounds alone is not one without a weight.
func TestAWeightInTwoUnitsBelowOneHeadingIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := "Date,Yard,Supers,Kind,Gross,\n,,,,kg,lb\n2026-07-14,Mill,12,deep,430,948\n2026-07-15,Ridge,8,deep,,640\n"
	m := h.guess(t, importing.Pulls, text)
	if got := problems(h.check(t, text, m)); m.Columns[5].Heading != "Gross lb" || !slices.Equal(got, []string{"0F two_values"}) {
		t.Errorf("%q is asked of %q", got, m.Columns[5].Heading)
	}
}
