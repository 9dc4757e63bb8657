package standard_test

import (
	"testing"

	"pullbook/domain/standard"
)

// Council Directive 2001/110/EC, annex II: moisture 20 % and 23 % of ling heather (Calluna); HMF 40 mg/kg
// and 80 of honey from a tropical climate.
func TestWhichLinesBindHoneyThatIsNotMadeYet(t *testing.T) {
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	set, ok := library.Get("eu-2001-110")
	if !ok {
		t.Fatal("the directive is not among the published rule sets")
	}
	most := func(d standard.Declaration, parameter string) float64 {
		t.Helper()
		lines, _, err := set.Lines(d, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			if l.Parameter == parameter && l.High != nil {
				return *l.High
			}
		}
		t.Fatalf("no line about %s for %v", parameter, d)
		return 0
	}
	for _, c := range []struct {
		d         standard.Declaration
		parameter string
		want      float64
	}{
		{nil, "moisture", 20},
		{standard.Declaration{"kind": {"calluna_vulgaris"}}, "moisture", 23},
		{standard.Declaration{"kind": {"calluna_vulgaris", "trifolium"}}, "moisture", 20},
		{nil, "hmf", 40},
		{standard.Declaration{"region": {"tropical"}}, "hmf", 80},
	} {
		if got := most(c.d, c.parameter); got != c.want {
			t.Errorf("%s of %v: at most %g, want %g", c.parameter, c.d, got, c.want)
		}
	}
	if _, _, err := set.Lines(standard.Declaration{"kind": {"moonflower"}}, ""); err == nil {
		t.Error("honey of a kind that nobody knows")
	}
}
