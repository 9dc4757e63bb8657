package main

import (
	"strings"
	"testing"
)

// A look at a sheet names the columns that are not read, and the findings that it would add.
func TestALookAtASheetSaysWhatIsNotReadAndWhatWouldBeOdd(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	file := sheets(t)
	answers := file("answers.json", `{"make_seasons": true, "names": {"yard": {"*": {"create": {}}},
		"super_kind": {"deep": {"create": {"tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36}}}}}`)
	pulls := file("pulls.csv", "Date,Yard,Supers,Kind,Gross kg,Weather,Remarks 3\n2025-07-14,Mill,12,deep,9000,,\n2025-07-15,Mill,12,deep,400,windy,\n")
	out := must(t, "import", pulls, "--kind", "pulls", "--mapping", answers, "--dry-run", "--data", dir)
	for _, want := range []string{
		"Column F (Weather) is not read. Row 3 of it says: windy\n", "It would store", "It would add 1 of the finding pull_too_heavy:\n  row 2: ",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("it does not say %q:\n%s", want, out)
		}
	}
	yards := file("yards.csv", "Yard\nBirch\n")
	if out := must(t, "import", yards, "--kind", "yards", "--dry-run", "--data", dir); !strings.Contains(out, "It would add no finding.\n") || strings.Contains(out, "not read") {
		t.Errorf("%s", out)
	}
}
