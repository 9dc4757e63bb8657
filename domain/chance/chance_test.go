package chance_test

import (
	"math"
	"testing"

	"pullbook/domain/chance"
)

func TestHowUnlikelyAFigureIsHasThreeSteps(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		p    float64
		want string
	}{
		{0, ""}, {math.SmallestNonzeroFloat64, "hardly chance"}, {0.00099, "hardly chance"},
		{0.001, "seldom chance"}, {0.049, "seldom chance"}, {0.05, "may be chance"}, {1, "may be chance"},
	} {
		if got := chance.InWords(c.p).String(); got != c.want {
			t.Errorf("%g is %q, not %q", c.p, got, c.want)
		}
	}
}
