package heat

import (
	"math"
	"testing"
)

// The rate that suits results best is as good as the best of 126,000 that are tried one by one, also
// where there is one dip by what honeys are and another by the results.
func TestTheRateThatSuitsResultsBestIsFound(t *testing.T) {
	t.Parallel()
	const sd = 0.525 // of the logarithm of honeys' rates, domain/heat/README.md
	for _, l := range []labLine{{b: 0, c: 1}, {b: 3, c: 1}, {b: 5, c: 20}, {b: 50, c: 10}, {b: -5, c: 2}, {b: 100, c: 10}, {b: 0.11, c: 0.001}} {
		want := math.Inf(1)
		for u := -12 * sd; u < 12*sd; u += 1e-4 {
			f := math.Exp(u)
			want = min(want, u*u/(sd*sd)-2*l.b*f+l.c*f*f)
		}
		if got := l.least(sd); math.Abs(got-want) > 1e-6*max(1, math.Abs(want)) {
			t.Errorf("%+v: %.9g, one by one %.9g", l, got, want)
		}
	}
}
