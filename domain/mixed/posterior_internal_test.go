package mixed

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestTIsNearEnoughToTheNormalFigureThatStandsForIt(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for _, freedom := range []float64{asNormal, 200, 1000} {
		for at := -6.0; at <= 6; at += 0.05 {
			worst = max(worst, math.Abs(belowT(at, freedom)-distuv.StudentsT{Sigma: 1, Nu: freedom}.CDF(at)))
		}
	}
	t.Logf("at most %.1e off", worst)
	if worst > 1e-5 {
		t.Errorf("%v off", worst)
	}
}
