package mixed

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Mixture is what is known of one effect beside the mean of all levels' effects, when the ratio of standard
// deviations is not taken for known: the predictions of all ratios, each weighed by how well the data go with it.
type Mixture struct {
	parts []part
	// Mean and SD are of the whole; SD is infinite with two degrees of freedom or fewer.
	Mean, SD float64
}

// part is a t distribution.
type part struct{ weight, at, scale, freedom float64 }

// Posterior weighs what REML predicts for each level at every ratio of standard deviations, by the
// restricted likelihood and a prior for the ratio whose density goes to nothing at 0: ratio/(1 + ratio²)^1.5,
// by which 1/sqrt(1 + ratio²) is even between 0 and 1. A prior that has its most at 0, such as a half-Cauchy,
// leaves much weight where levels do not differ, and its bands are too narrow where they do (of priors that
// keep off the boundary: Chung and others 2013, Psychometrika 78, 685; from memory). The residual variance has
// the usual prior, even in its logarithm. Where REML puts the ratio at 0, and so every effect with a spread
// of 0, the mixture still has its spread. It is of models with one grouping without slope.
func (m *Model) Posterior() []Mixture {
	out := make([]Mixture, len(m.own))
	freedom := m.freedom(REML)
	for _, r := range m.Weighed() {
		fit := m.At(REML, []float64{r.Ratio})
		for g, e := range fit.Groupings[0].Effects {
			out[g].parts = append(out[g].parts, part{r.Weight, e.Beside, e.BesideSD, freedom})
		}
	}
	for g := range out {
		out[g].settle()
	}
	return out
}

// Weighed is a ratio of standard deviations with the weight that its predictions have in Posterior.
type Weighed struct{ Ratio, Weight float64 }

// Weighed returns the ratios that Posterior goes over. Their weights sum to 1, but for those too small to count.
func (m *Model) Weighed() (out []Weighed) {
	nodes := m.nodes(0, math.Pi/2)
	low, high := math.Pi/2, 0.0
	for _, n := range nodes {
		if n.weight > 1e-6 {
			low, high = min(low, n.angle), max(high, n.angle)
		}
	}
	half := math.Pi / 2 / nodesOfRatio
	for _, n := range m.nodes(max(0, low-half), min(math.Pi/2, high+half)) {
		if n.weight >= 1e-5 {
			out = append(out, Weighed{math.Tan(n.angle), n.weight})
		}
	}
	return out
}

const nodesOfRatio = 24

// node is a ratio, as the angle whose tangent it is: the density of the angle is its sine.
type node struct{ angle, weight float64 }

// nodes are even angles between two, with their weights, which sum to 1.
func (m *Model) nodes(low, high float64) []node {
	out, least := make([]node, nodesOfRatio), math.Inf(1)
	for i := range out {
		angle := low + (high-low)*(float64(i)+0.5)/nodesOfRatio
		out[i] = node{angle, m.criterion(REML, []float64{math.Tan(angle)})}
		least = min(least, out[i].weight)
	}
	sum := 0.0
	for i := range out {
		out[i].weight = math.Exp((least-out[i].weight)/2) * math.Sin(out[i].angle)
		sum += out[i].weight
	}
	for i := range out {
		out[i].weight /= sum
	}
	return out
}

// settle makes the weights sum to 1, and works out mean and spread.
func (x *Mixture) settle() {
	sum := 0.0
	for _, p := range x.parts {
		sum += p.weight
	}
	var square float64
	for i := range x.parts {
		p := &x.parts[i]
		p.weight /= sum
		x.Mean += p.weight * p.at
		wide := math.Inf(1)
		if p.freedom > 2 {
			wide = p.freedom / (p.freedom - 2)
		}
		square += p.weight * (p.at*p.at + p.scale*p.scale*wide)
	}
	x.SD = math.Sqrt(max(0, square-x.Mean*x.Mean))
}

// asNormal is from how many degrees of freedom on t is turned into a normal figure (Abramowitz and Stegun
// 26.7.8), which takes a tenth of the time. A test says how far off that is.
const asNormal = 100

// Below is the chance that the effect is below v, 0 to 1.
func (x Mixture) Below(v float64) (sum float64) {
	for _, p := range x.parts {
		sum += p.weight * belowT((v-p.at)/p.scale, p.freedom)
	}
	return min(sum, 1) // weights may sum to more by their rounding
}

func belowT(t, freedom float64) float64 {
	if freedom < asNormal {
		return distuv.StudentsT{Sigma: 1, Nu: freedom}.CDF(t)
	}
	z := t * (1 - 1/(4*freedom)) / math.Sqrt(1+t*t/(2*freedom))
	return math.Erfc(-z/math.Sqrt2) / 2
}

// Quantile is the value that the effect is below with a chance between 0 and 1.
func (x Mixture) Quantile(chance float64) float64 {
	width := 0.0
	for _, p := range x.parts {
		width = max(width, math.Abs(p.at-x.Mean)+p.scale)
	}
	low, high := x.Mean-width, x.Mean+width
	for x.Below(low) > chance {
		low -= high - low
	}
	for x.Below(high) < chance {
		high += high - low
	}
	below, above := x.Below(low)-chance, x.Below(high)-chance
	// Between the ends by false position; an end that stays twice counts half (Illinois).
	side := 0
	for high-low > 1e-9*width {
		v := (low*above - high*below) / (above - below)
		f := x.Below(v) - chance
		switch {
		case math.Abs(f) < 1e-9:
			return v
		case f < 0:
			low, below = v, f
			if side < 0 {
				above /= 2
			}
			side = -1
		default:
			high, above = v, f
			if side > 0 {
				below /= 2
			}
			side = 1
		}
	}
	return (low + high) / 2
}
