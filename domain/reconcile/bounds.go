package reconcile

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// Bound says at which of its bounds a flow is kept.
type Bound string

// A flow is free, or it would be less than the least or more than the most that it can be.
const (
	Free    Bound = ""
	AtLeast Bound = "least"
	AtMost  Bound = "most"
)

// boundsTolerance is by how much a flow may pass its bound before that counts, relative to
// the largest flow: more than rounding, and less than any scale shows.
const boundsTolerance = 1e-9

// limit is a bound of one stream: sign times the flow is at least sign times kg.
type limit struct {
	column int
	bound  Bound
	sign   float64
	kg     float64
	// measured is the flow's place among the weighed ones; below 0 for an inferred one, whose
	// flow is the weighed ones times coefficients.
	measured     int
	coefficients []float64
}

// limits lists the bounds of the flows that the balances know: weighed or inferred.
func (s system) limits(st structure) []limit {
	var out []limit
	add := func(l limit) {
		if s.low == nil {
			return
		}
		if !math.IsInf(s.low[l.column], -1) {
			l.bound, l.sign, l.kg = AtLeast, 1, s.low[l.column]
			out = append(out, l)
		}
		if !math.IsInf(s.high[l.column], 1) {
			l.bound, l.sign, l.kg = AtMost, -1, s.high[l.column]
			out = append(out, l)
		}
	}
	for i, column := range s.measured {
		add(limit{column: column, measured: i})
	}
	for which, column := range s.unmeasured {
		if coefficients, known := st.inference[which]; known {
			add(limit{column: column, measured: -1, coefficients: coefficients})
		}
	}
	return out
}

// flow is what the limited stream is when the weighed ones are x.
func (l limit) flow(x []float64) float64 {
	if l.measured >= 0 {
		return x[l.measured]
	}
	return dot(l.coefficients, x)
}

// keepBounds moves the adjusted flows to the nearest, in units of the weights'
// uncertainty, that close the balances and keep every bound. All bounds take in nothing,
// and no flow at all closes every balance: so there are such flows.
func (s system) keepBounds(st structure, a *adjustment) {
	limits := s.limits(st)
	free := a.reconciled
	size := 1.0
	for i, kg := range free {
		size = max(size, math.Abs(kg), math.Abs(s.readings[i]))
	}
	at := func(step []float64) []float64 {
		x := slices.Clone(free)
		for i := range x {
			x[i] += a.root.times(i, step)
		}
		return x
	}
	worst := func(step []float64) (k int, by float64) {
		x := free
		if step != nil {
			x = at(step)
		}
		k = -1
		for i, l := range limits {
			if off := l.sign * (l.kg - l.flow(x)); off > max(by, boundsTolerance*size) {
				k, by = i, off
			}
		}
		return k, by
	}
	normal := func(k int) []float64 {
		l := limits[k]
		coefficients := l.coefficients
		if l.measured >= 0 {
			coefficients = make([]float64, len(free))
			coefficients[l.measured] = 1
		}
		out := a.outside(a.root.whitened(coefficients))
		blas64.Scal(l.sign, vector(out))
		return out
	}
	step, binding := shortestStep(len(free), worst, normal)
	a.free = free
	if len(binding) == 0 {
		return
	}
	a.reconciled, a.atBounds = at(step), dot(step, step)
	a.binding = make(map[int]limit, len(binding))
	for _, k := range binding {
		a.binding[limits[k].column] = limits[k]
	}
}

// kept is the flow of a column without what rounding leaves of a passed bound, and the bound
// that it is kept at.
func (s system) kept(a adjustment, column int, kg float64) (float64, Bound) {
	if l, binds := a.binding[column]; binds {
		return l.kg, l.bound
	}
	if s.low != nil {
		kg = min(max(kg, s.low[column]), s.high[column])
	}
	return kg, Free
}

// outside is what of a vector the balances leave free.
func (a *adjustment) outside(white []float64) []float64 {
	if a.constrained == nil {
		return white
	}
	_, fixed := a.constrained.Dims()
	along := mat.NewVecDense(fixed, nil)
	for range 2 { // once more with what rounding left
		along.MulVec(a.constrained.T(), mat.NewVecDense(len(white), white))
		var in mat.VecDense
		in.MulVec(a.constrained, along)
		blas64.Axpy(-1, vector(in.RawVector().Data), vector(white))
	}
	return white
}

// dependent is the share of a bound's own length, squared, below which the other bounds
// that bind already say all that it says.
const dependent = 1e-12

// shortestStep is the shortest step after which no bound is passed, and the bounds that
// bind there. worst gives the bound that a step passes by most, and by how much; -1 where it
// passes none. normal is by how much a step moves away from a bound; a nil step is none.
//
// It is the dual active set method (Goldfarb & Idnani 1983, Math. Program. 27, 1), for a
// function whose second derivative is the identity: one bound after the other is taken in,
// and those let go whose pull on the step would turn round.
func shortestStep(n int, worst func(step []float64) (int, float64), normal func(int) []float64) (step []float64, binding []int) {
	set := activeSet{n: n}
	for {
		k, by := worst(set.step)
		if k < 0 || slices.Contains(set.bounds, k) {
			return set.step, set.bounds
		}
		if !set.take(k, by, normal(k)) {
			return set.step, set.bounds
		}
	}
}

// activeSet is the bounds that bind, with how hard each pulls. The normals are kept with
// their factors Q and R, column by column.
type activeSet struct {
	n       int
	bounds  []int
	normals [][]float64
	pulls   []float64
	q, r    [][]float64
	step    []float64
}

// take takes a bound in that the step passes by so much. It reports whether the step could
// be made to keep it.
func (a *activeSet) take(k int, by float64, normal []float64) bool {
	if a.step == nil {
		a.step = make([]float64, a.n)
	}
	length, pull := dot(normal, normal), 0.0
	for {
		direction, along := a.beside(normal)
		release := a.solve(along)
		full, gain := math.Inf(1), dot(direction, direction)
		if gain > dependent*length {
			full = by / gain
		}
		first, most := -1, math.Inf(1)
		for i, r := range release {
			if r > 0 && a.pulls[i]/r < most {
				first, most = i, a.pulls[i]/r
			}
		}
		t := min(full, most)
		if math.IsInf(t, 1) {
			return false
		}
		pull += t
		for i, r := range release {
			a.pulls[i] -= t * r
		}
		if !math.IsInf(full, 1) {
			blas64.Axpy(t, vector(direction), vector(a.step))
			by -= t * gain
		}
		if t == full {
			a.bounds, a.pulls = append(a.bounds, k), append(a.pulls, pull)
			a.add(normal)
			return true
		}
		a.release(first)
	}
}

// beside is what of a vector is at right angles to the normals of the bounds that bind, and
// its part along each column of Q.
func (a *activeSet) beside(v []float64) (rest, along []float64) {
	rest, along = slices.Clone(v), make([]float64, len(a.q))
	for range 2 { // once more with what rounding left
		for i, q := range a.q {
			part := dot(q, rest)
			along[i] += part
			blas64.Axpy(-part, vector(q), vector(rest))
		}
	}
	return rest, along
}

// solve is by how much each bound that binds lets go when another pulls: R⁻¹ times the part
// of its normal along Q.
func (a *activeSet) solve(along []float64) []float64 {
	out := slices.Clone(along)
	for i := len(out) - 1; i >= 0; i-- {
		out[i] /= a.r[i][i]
		for j := range i {
			out[j] -= a.r[i][j] * out[i]
		}
	}
	return out
}

func (a *activeSet) add(normal []float64) {
	rest, along := a.beside(normal)
	length := norm(rest)
	blas64.Scal(1/length, vector(rest))
	a.normals, a.q, a.r = append(a.normals, normal), append(a.q, rest), append(a.r, append(along, length))
}

// release lets a bound go.
func (a *activeSet) release(i int) {
	a.bounds, a.pulls = slices.Delete(a.bounds, i, i+1), slices.Delete(a.pulls, i, i+1)
	left := slices.Delete(a.normals, i, i+1)
	a.normals, a.q, a.r = nil, nil, nil
	for _, normal := range left {
		a.add(normal)
	}
}
