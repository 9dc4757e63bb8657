package standard_test

import (
	"testing"

	"pullbook/domain/standard"
)

// The figures are those of the texts: of any honey, not of heather honey, honey for bakers
// or a grade that need not be met.
func TestTheMostOfAParameterIsTheLineForAnyHoney(t *testing.T) {
	t.Parallel()
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ set, parameter, want string }{
		{"eu-2001-110", "moisture", "20"},                  // 23 % of heather and for bakers
		{"eu-2001-110", "electrical_conductivity", ""},     // every line has its kinds of honey
		{"codex-cxs-12-1981", "moisture", "20"},            // 23 % of heather
		{"codex-cxs-12-1981", "fructose_plus_glucose", ""}, // bounded from below
		{"us-usda-extracted-1985", "moisture", ""},         // grades
	} {
		set, ok := library.Get(tt.set)
		if !ok {
			t.Fatalf("no rule set %s", tt.set)
		}
		got, is := set.Most(tt.parameter)
		if is != (tt.want != "") || is && got.Cmp(standard.MustDecimal(tt.want)) != 0 {
			t.Errorf("%s lets honey have at most %s of %s (%v), the text says %q", tt.set, got, tt.parameter, is, tt.want)
		}
	}
	own := parsed(t, []byte(ownSet(glyphosate, `{"parameter":"moisture","unit":"%","comparator":"between","limit":"15","limit_to":"18.2","ends":"[)","clause":"1","source":{"seen_at":"the book"}},`+
		ownLine("glyphosate", "<", "50", ""))))
	for parameter, want := range map[string]string{"moisture": "18.2", "glyphosate": "50000"} { // 50 µg/kg in ng/kg
		if got, is := own.Most(parameter); !is || got.String() != want {
			t.Errorf("the contract lets honey have at most %s of %s, by its text %s", got, parameter, want)
		}
	}
}
