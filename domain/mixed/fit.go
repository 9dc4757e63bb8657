package mixed

import (
	"math"

	"gonum.org/v1/gonum/optimize"
)

// Fit is a fitted model.
type Fit struct {
	// Criterion is minus two times the logarithm of the (restricted) likelihood.
	Criterion float64
	// Residual is the variance of an observation of weight 1 about its level.
	Residual float64
	// Fixed are the effects of X's columns, each with its standard error.
	Fixed     []Estimate
	Groupings []Spread
	// Ratios are the standard deviations of effects over the residual one, as the search has them.
	Ratios []float64
}

// Estimate is a figure and its standard error.
type Estimate struct{ Value, SE float64 }

// Spread is how the effects of a grouping's levels spread, and what they are predicted to be.
type Spread struct {
	Variance float64
	// SlopeVariance and Correlation are of a grouping with a slope; Correlation is 0 where one of the
	// variances is.
	SlopeVariance, Correlation float64
	// Effects and Slopes are by level; Slopes is empty without a slope.
	Effects, Slopes []Effect
}

// Effect is the predicted effect of a level (BLUP).
type Effect struct {
	Value float64
	// SD is the standard deviation of the true effect about it where the fixed effects are as
	// estimated; ErrorSD adds what those may be off. Both take the variances for known.
	SD, ErrorSD float64
	// Beside is the effect less the mean of all levels' effects, BesideSD the standard deviation of the
	// truth of that. Where levels truly have their mean the data do not tell from the fixed effects, so that
	// ErrorSD never comes to nothing and BesideSD does. Both are of a first grouping without slope.
	Beside, BesideSD float64
}

// Fit finds the ratios at which the criterion is best, and the model at them. A ratio of 0, which
// says that the levels do not differ, is a solution as any other.
func (m *Model) Fit(by Method) *Fit {
	if m.ratios() == 1 {
		return m.At(by, []float64{m.along(by, []float64{1}, 0)})
	}
	return m.At(by, m.search(by))
}

const (
	// The ratio of standard deviations is looked for from lowestRatio to highestRatio, and at 0.
	lowestRatio, highestRatio = 1e-3, 1e3
	ratiosToTry               = 13
	// settled is how near to one another, as a part of the ratio, the ends of the search come; what lies
	// between is left to the vertex of a parabola.
	settled = 1e-6
)

// along finds the best value of one ratio, the others being as they are. The criterion has one
// valley as a rule; the steps before the search find the deepest.
func (m *Model) along(by Method, theta []float64, i int) float64 {
	at := func(v float64) float64 {
		tried := append([]float64(nil), theta...)
		tried[i] = v
		return m.criterion(by, tried)
	}
	step := math.Pow(highestRatio/lowestRatio, 1/float64(ratiosToTry-1))
	best, least := 0.0, at(0)
	for k := range ratiosToTry {
		v := lowestRatio * math.Pow(step, float64(k))
		if c := at(v); c < least {
			best, least = v, c
		}
	}
	low, high := best/step, best*step
	if best == 0 {
		low, high = 0, lowestRatio
	}
	found := golden(at, low, high)
	// Near 0 the criterion goes with the square of the ratio, and is so flat that its rounding hides small steps.
	square := found * found
	v := math.Sqrt(vertex(func(x float64) float64 { return at(math.Sqrt(x)) }, square, min(0.05, max(1e-4, 1e-6/square))))
	if at(v) < least {
		return v
	}
	return best
}

// usualStep is the part of a ratio by which the places of a vertex are apart.
const usualStep = 1e-4

// vertex is where the parabola through three places about v, apart by a part of it, has its lowest: the search itself sees
// no differences below the rounding of the criterion, which is half the digits of v.
func vertex(f func(float64) float64, v, part float64) float64 {
	h := part * v
	below, here, above := f(v-h), f(v), f(v+h)
	if bend := above - 2*here + below; bend > 0 {
		if off := -h * (above - below) / (2 * bend); math.Abs(off) < h {
			return v + off
		}
	}
	return v
}

// golden finds the lowest place between two ends by the golden section.
func golden(f func(float64) float64, low, high float64) float64 {
	part := (math.Sqrt(5) - 1) / 2
	a, b := high-part*(high-low), low+part*(high-low)
	fa, fb := f(a), f(b)
	for high-low > settled*high && high > settled {
		if fa <= fb {
			high, b, fb = b, a, fa
			a = high - part*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + part*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}

// search finds several ratios at once: by a simplex, begun again from where it ended until that
// changes nothing, and then each by itself. Signs of a ratio mean nothing, but for what goes together
// with a slope.
func (m *Model) search(by Method) []float64 {
	theta := make([]float64, m.ratios())
	for i := range theta {
		if theta[i] = 1; m.terms == 2 && i == 1 {
			theta[i] = 0
		}
	}
	problem := optimize.Problem{Func: func(x []float64) float64 { return m.criterion(by, x) }}
	settings := func() *optimize.Settings {
		return &optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-12, Iterations: 60}, MajorIterations: 4000}
	}
	least := m.criterion(by, theta)
	for range 10 {
		found, err := optimize.Minimize(problem, theta, settings(), &optimize.NelderMead{})
		if found == nil || err != nil && !(found.F < least) {
			break
		}
		done := least-found.F < 1e-10
		theta, least = found.X, math.Min(least, found.F)
		if done {
			break
		}
	}
	return m.polish(by, m.signed(theta), least)
}

// signed makes the ratios of standard deviations positive.
func (m *Model) signed(theta []float64) []float64 {
	out := append([]float64(nil), theta...)
	if m.terms == 2 && out[0] < 0 {
		out[0], out[1] = -out[0], -out[1]
	}
	for i := range out {
		if m.terms == 2 && i == 1 {
			continue
		}
		out[i] = math.Abs(out[i])
	}
	return out
}

// polish tries each ratio at 0, and then finds the others to more digits, in turn.
func (m *Model) polish(by Method, theta []float64, least float64) []float64 {
	at := func(i int) func(float64) float64 {
		return func(v float64) float64 {
			tried := append([]float64(nil), theta...)
			tried[i] = v
			return m.criterion(by, tried)
		}
	}
	for i := range theta {
		if zero := at(i)(0); zero <= least {
			theta[i], least = 0, zero
		}
	}
	for range 20 {
		for i, v := range theta {
			theta[i] = vertex(at(i), v, usualStep)
		}
	}
	return theta
}
