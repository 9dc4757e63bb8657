package yards

import (
	"gonum.org/v1/gonum/mat"

	"pullbook/domain/ledger"
)

// Linear is how a plan's effects come from its observations, with the variances as they were found: a yard's effect is a
// sum over yards of how far their seasons are off their seasons' means, each weighed.
type Linear struct {
	// Weight is what each observation counts, Beside what its hives and boxes are expected to change, as a share.
	Weight, Beside []float64
	// Apart are, of each thing that is told apart from the yards, how far each observation is off its season's mean. Counts
	// is by yard what the sum of shares weighed by them takes off the yard's sum of deviations.
	Apart, Counts [][]float64
	// Fitted is what each yard's sum of deviations counts for a yard at the ratio of variances that fits best, from which the levels
	// of seasons come. Weighed is the same of all ratios, each weighed by how well it fits, from which the effects come.
	Fitted, Weighed [][]float64
}

// Linear returns how the effects of a plan come about; nil where nothing can be told. What hives and boxes change is taken for
// known in the levels of seasons alone.
func (p *Plan) Linear() *Linear {
	m := p.model
	if m == nil {
		return nil
	}
	out := &Linear{}
	for i := range p.Observations {
		o := &p.Observations[i]
		out.Weight, out.Beside = append(out.Weight, weight(o.Units, p.Per)), append(out.Beside, m.beside(o))
	}
	together := p.together(out.Weight)
	if len(m.adjusted) > 0 {
		out.tellApart(p.Asked, m, together)
	}
	out.Fitted, out.Weighed = square(len(p.Yards)), square(len(p.Yards))
	add(out.Fitted, together, m.fit.Ratios[0], 1)
	for _, r := range m.ratios {
		add(out.Weighed, together, r.Ratio, r.Weight)
	}
	return out
}

// tellApart takes out of what yards weigh together what goes with the number of hives and the kinds of super.
func (x *Linear) tellApart(a *Asked, m *model, together *mat.SymDense) {
	k, n := len(m.adjusted), len(a.Yards)
	with, among := mat.NewDense(n, k, nil), mat.NewSymDense(k, nil)
	for _, of := range m.adjusted {
		x.Apart = append(x.Apart, x.offSeason(a, of.of))
	}
	for i, o := range a.Observations {
		for j := range k {
			with.Set(o.Yard, j, with.At(o.Yard, j)+x.Weight[i]*x.Apart[j][i])
			for l := j; l < k; l++ {
				among.SetSym(j, l, among.At(j, l)+x.Weight[i]*x.Apart[j][i]*x.Apart[l][i])
			}
		}
	}
	var counts, takes mat.Dense
	if err := counts.Solve(among, with.T()); err != nil {
		x.Apart = nil
		return // they go with the seasons; the model has left them out by then
	}
	takes.Mul(with, &counts)
	for y := range n {
		x.Counts = append(x.Counts, mat.Col(nil, y, &counts))
		for other := y; other < n; other++ {
			together.SetSym(y, other, together.At(y, other)-takes.At(y, other))
		}
	}
}

// offSeason is how far a figure of each observation is off its season's mean, weighed.
func (x *Linear) offSeason(a *Asked, of func(*Observation) float64) []float64 {
	sum, weights := make([]float64, len(a.Seasons)), make([]float64, len(a.Seasons))
	for i := range a.Observations {
		o := &a.Observations[i]
		sum[o.Season] += x.Weight[i] * of(o)
		weights[o.Season] += x.Weight[i]
	}
	out := make([]float64, len(a.Observations))
	for i := range out {
		o := &a.Observations[i]
		out[i] = of(o) - sum[o.Season]/weights[o.Season]
	}
	return out
}

func square(n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}

// together is what each yard's observations weigh, less what the seasons' means take of it.
func (a *Asked) together(weights []float64) *mat.SymDense {
	n := len(a.Yards)
	out := mat.NewSymDense(n, nil)
	of := make([]map[int]float64, len(a.Seasons))
	sums := make([]float64, len(a.Seasons))
	for i, o := range a.Observations {
		if of[o.Season] == nil {
			of[o.Season] = map[int]float64{}
		}
		of[o.Season][o.Yard] = weights[i]
		sums[o.Season] += weights[i]
		out.SetSym(o.Yard, o.Yard, out.At(o.Yard, o.Yard)+weights[i])
	}
	for s, here := range of {
		for y, w := range here {
			for other, v := range here {
				if other >= y {
					out.SetSym(y, other, out.At(y, other)-w*v/sums[s])
				}
			}
		}
	}
	return out
}

// add adds to a matrix, so many times, what deviations count at a ratio of standard deviations.
func add(to [][]float64, together *mat.SymDense, ratio, times float64) {
	if ratio == 0 {
		return // yards do not differ
	}
	n := len(to)
	m := mat.NewSymDense(n, nil)
	m.CopySym(together)
	for i := range n {
		m.SetSym(i, i, m.At(i, i)+1/(ratio*ratio))
	}
	var c mat.Cholesky
	if !c.Factorize(m) {
		return // it has no negative part, and on its diagonal more than nothing
	}
	var inverse mat.SymDense
	if err := c.InverseTo(&inverse); err != nil {
		return
	}
	for i := range n {
		for j := range n {
			to[i][j] += times * inverse.At(i, j)
		}
	}
}

// VisitCost is what a visit to a yard costs; not known where nothing was said of it.
func (a *Asked) VisitCost(yard ledger.ID) (cost float64, known bool) {
	cost, known = a.costs[yard]
	return cost, known
}
