package reconcile

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// GlobalTest asks whether the weights taken together can be true.
type GlobalTest struct {
	// Statistic is the sum of the squared adjustments in units of their uncertainty. Without a mistake it
	// follows the chi-square distribution with DegreesOfFreedom.
	Statistic        float64
	DegreesOfFreedom int
	// AtBounds is the part of Statistic, and Bounds that of DegreesOfFreedom, that keeping flows within
	// their bounds adds: each bound that binds counts as one more balance.
	AtBounds float64
	Bounds   int
	// Critical is exceeded by chance with the significance asked for; zero without degrees of freedom.
	Critical float64
	// PValue is the chance of a statistic this large or larger without a mistake; 1 without degrees of
	// freedom.
	PValue float64
	// Passed is true when the statistic does not exceed the critical value.
	Passed bool
}

func globalTest(statistic float64, degreesOfFreedom int, significance float64) GlobalTest {
	if degreesOfFreedom == 0 {
		return GlobalTest{PValue: 1, Passed: true}
	}
	chi := distuv.ChiSquared{K: float64(degreesOfFreedom)}
	critical := chi.Quantile(1 - significance)
	return GlobalTest{
		Statistic:        statistic,
		DegreesOfFreedom: degreesOfFreedom,
		Critical:         critical,
		PValue:           chi.Survival(statistic),
		Passed:           statistic <= critical,
	}
}

// criticalNormal is the two-sided limit for the largest of several standardised values, with the level
// of each test lowered so that all together keep the significance (Sidak 1967; Mah & Tamhane 1982).
// Zero tests have no limit.
func criticalNormal(significance float64, tests int) float64 {
	if tests == 0 {
		return 0
	}
	// -expm1(log1p(-a)/n) is 1-(1-a)^(1/n) without loss for many tests.
	each := -math.Expm1(math.Log1p(-significance) / float64(tests))
	return distuv.UnitNormal.Quantile(1 - each/2)
}

// nodalTest gives the imbalance of a balance as measured and its standard deviation. It can be had only
// where every flow of the balance was weighed.
func (s system) nodalTest(balance int, root covarianceRoot) (imbalance, deviation float64, testable bool) {
	for _, column := range s.unmeasured {
		if s.balances.At(balance, column) != 0 {
			return 0, 0, false
		}
	}
	coefficients := make([]float64, len(s.measured))
	for i, column := range s.measured {
		coefficients[i] = s.balances.At(balance, column)
		imbalance += coefficients[i] * s.readings[i]
	}
	return imbalance, norm(root.whitened(coefficients)), true
}

// sameStandardised is how near two standardised values must be, relative to their size, to count as
// equal. It is far above rounding and far below any difference that weights make by chance.
const sameStandardised = 1e-6

// suspects returns the weighed flows (by their place in system.measured) that most likely hold the one
// gross error: the one with the largest standardised value, and every other with the same value, as
// flows have that enter each balance in the same proportion; the balances cannot tell those apart.
func suspects(standardised []float64) []int {
	worst := 0.0
	for _, z := range standardised {
		worst = max(worst, math.Abs(z))
	}
	var out []int
	for i, z := range standardised {
		if worst > 0 && math.Abs(z) >= worst*(1-sameStandardised) {
			out = append(out, i)
		}
	}
	return out
}
