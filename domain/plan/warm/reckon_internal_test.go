package warm

import (
	"math"
	"testing"
)

// What a sheet is given adds up to what the search follows: the shares at each temperature between the lines of a table.
func TestASheetIsToldWhatHoneyHasToGoThrough(t *testing.T) {
	t.Parallel()
	for _, to := range States() {
		s := spec(aTank(t, nil), to, 24)
		p, err := s.problem(s.Hours)
		if err != nil {
			t.Fatal(err)
		}
		takes := s.Takes()
		if len(takes) != len(p.doses) {
			t.Fatalf("%s: a sheet has %d to go through, the search %d", to, len(takes), len(p.doses))
		}
		for i, take := range takes {
			for c := 30.0; c <= 70; c += 0.5 {
				if got, want := take.Share(c), p.doses[i].at(c); math.Abs(got-want) > 1e-3*want+1e-12 {
					t.Errorf("%s at %g C: %g of it an hour, the search has %g", take.Of, c, got, want)
				}
			}
		}
	}
}
