package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// A row of one container beside which a column says four may be four of them.
func TestARowThatMayBeSeveralContainersIsAskedAbout(t *testing.T) {
	t.Parallel()
	for heading, want := range map[string][]string{"Qty": {"3G two_values"}, "No. of drums": {"3G two_values"}, "Cantidad": {"3G two_values"}, "Pallet": nil, "Drums left": nil} {
		h := newHouse()
		h.SetUp(&ledger.Lot{Code: "L1"})
		text := "Date,Lot,Tank,Drum,Type,Net kg," + heading + "\n2026-07-06,L1,sump,D1,drum,290,1\n2026-07-06,L1,sump,D2,drum,290,4\n"
		if r := h.check(t, text, h.guess(t, importing.Containers, text)); !slices.Equal(problems(r), want) {
			t.Errorf("%s: %v", heading, said(r))
		}
	}
}

// Of a weight in and a weight out neither is taken for the pull's unasked.
func TestAWeightInAndAWeightOutAreAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		headings string
		want     []string
	}{
		{"Weight in kg,Weight out kg", []string{"1E two_values"}},
		{"Weight in,Weight out", []string{"1E two_values"}},
		{"Kg in,Kg out", []string{"1E two_values"}},
		{"Peso entrada (kg),Peso salida (kg)", []string{"1E two_values"}},
		{"Gross kg,Weight out kg", nil},
		{"Weight in kg,Left", nil},
	} {
		h := newHouse()
		text := "Date,Yard,Supers,Kind," + row.headings + "\n2026-07-06,Mill,12,deep,432,120\n"
		m := h.guess(t, importing.Pulls, text)
		if r := h.check(t, text, m); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s: %v", row.headings, said(r))
		}
		m.Columns[4].Field, m.Columns[4].Unit = importing.FieldGross, importing.Kilograms
		if r := h.check(t, text, m); r.AllProblems > 0 || r.Sums["gross_g"] != 432_000 {
			t.Errorf("%s, once it is said: %v", row.headings, said(r))
		}
	}
}

// Kinds of super that do not come to the row's sum are asked about.
func TestKindsThatDoNotComeToTheRowsSumAreAskedAbout(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]string{
		"Date,Yard,Deep,Shallow,Supers\n2026-07-06,Mill,12,3,15\n2026-07-07,Mill,12,3,20\n2026-07-08,Mill,12,3,\n": {"3E two_values"},
		"Date,Yard,Deep,Shallow,Total\n2026-07-06,Mill,12,3,20\n":                                                  {"2E two_values"},
		"Date,Yard,Deep,Shallow,Total boxes\n2026-07-06,Mill,12,,13\n":                                             {"2E two_values"},
		"Date,Yard,Deep,Shallow,Empty boxes\n2026-07-06,Mill,12,3,20\n":                                            nil,
	} {
		h := newHouse()
		if r := h.check(t, text, h.guess(t, importing.Pulls, text)); !slices.Equal(problems(r), want) {
			t.Errorf("%s: %v", text, said(r))
		}
	}
}
