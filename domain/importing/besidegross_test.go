package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// Of a pull only the gross is kept. Where it has changed places with the net, the tare says so.
func TestAGrossThatDoesNotGoWithItsNetAndTareIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for text, want := range map[string][]string{
		"Date,Yard,Supers,Kind,Gross kg,Tare kg,Net kg\n2026-07-14,Mill,12,deep,430,120,310\n2026-07-15,Ridge,8,deep,210,80,290\n": {"3E doubtful_row"},
		"Date,Yard,Supers,Kind,Gross kg,Net kg\n2026-07-14,Mill,12,deep,310,430\n":                                                 {"2E doubtful_row"},
		"Date,Yard,Supers,Kind,Gross kg,Net kg\n2026-07-14,Mill,12,deep,430,310\n":                                                 nil,
		"Date,Yard,Supers,Kind,Gross kg,Net lb\n2026-07-14,Mill,12,deep,430,683\n":                                                 nil,
		"Date,Yard,Supers,Kind,Gross kg,Tare of boxes kg\n2026-07-14,Mill,12,deep,430.5,120\n2026-07-15,Ridge,8,deep,,80\n":        nil,
	} {
		if got := problems(h.check(t, text, h.guess(t, importing.Pulls, text))); !slices.Equal(got, want) {
			t.Errorf("of %q %q is asked, and %q should be", text, got, want)
		}
	}
}
