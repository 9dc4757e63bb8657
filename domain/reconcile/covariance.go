package reconcile

import (
	"errors"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// correlations has for each weight those whose errors go together with its own, itself left out. Few
// of a season's do, so that a matrix would be nearly all zeros.
type correlations []map[int]float64

func newCorrelations(weights int) correlations { return make(correlations, weights) }

// SetSym sets the coefficient of two weights.
func (c correlations) SetSym(i, j int, coefficient float64) {
	if i == j {
		return
	}
	for _, at := range [][2]int{{i, j}, {j, i}} {
		if c[at[0]] == nil {
			c[at[0]] = map[int]float64{}
		}
		c[at[0]][at[1]] = coefficient
	}
}

// At is the coefficient of two weights.
func (c correlations) At(i, j int) float64 {
	if i == j {
		return 1
	}
	return c[i][j]
}

// groups lists the weights whose errors go together, each group in order.
func (c correlations) groups() [][]int {
	var out [][]int
	seen := make([]bool, len(c))
	for first := range c {
		if seen[first] || len(c[first]) == 0 {
			continue
		}
		seen[first] = true
		group := []int{first}
		for k := 0; k < len(group); k++ {
			for other := range c[group[k]] {
				if !seen[other] {
					seen[other] = true
					group = append(group, other)
				}
			}
		}
		slices.Sort(group)
		out = append(out, group)
	}
	return out
}

// covarianceRoot is the factor L of the covariance S = L Lᵀ, kept as L = D C with the standard
// uncertainties D and the Cholesky factors C of the correlations, one for each group of weights whose
// errors go together.
type covarianceRoot struct {
	deviations []float64
	groups     []group
	// in says of each weight in which of groups it is, at which place; -1 for none.
	in, place []int
}

type group struct {
	members []int
	factor  *mat.TriDense
}

func (s system) covarianceRoot() (covarianceRoot, error) {
	n := len(s.uncertainty)
	root := covarianceRoot{deviations: s.uncertainty, in: make([]int, n), place: make([]int, n)}
	for i := range n {
		root.in[i] = -1
	}
	for _, members := range s.correlation.groups() {
		c := mat.NewSymDense(len(members), nil)
		for k, i := range members {
			root.in[i], root.place[i] = len(root.groups), k
			for l := range k + 1 {
				c.SetSym(k, l, s.correlation.At(i, members[l]))
			}
		}
		var cholesky mat.Cholesky
		if !cholesky.Factorize(c) || cholesky.Cond() > 1e12 {
			return root, errors.New("the correlations contradict each other (their matrix is not positive definite): make some of them smaller")
		}
		g := group{members, new(mat.TriDense)}
		cholesky.LTo(g.factor)
		root.groups = append(root.groups, g)
	}
	return root, nil
}

// row is the i-th row of L.
func (c covarianceRoot) row(i int) []float64 {
	out := make([]float64, len(c.deviations))
	c.addRow(out, i, 1)
	return out
}

func (c covarianceRoot) addRow(to []float64, i int, times float64) {
	times *= c.deviations[i]
	if c.in[i] < 0 {
		to[i] += times
		return
	}
	g := c.groups[c.in[i]]
	for l := range c.place[i] + 1 {
		to[g.members[l]] += times * g.factor.At(c.place[i], l)
	}
}

// times is the i-th row of L times a vector.
func (c covarianceRoot) times(i int, v []float64) float64 {
	if c.in[i] < 0 {
		return c.deviations[i] * v[i]
	}
	g, sum := c.groups[c.in[i]], 0.0
	for l := range c.place[i] + 1 {
		sum += g.factor.At(c.place[i], l) * v[g.members[l]]
	}
	return c.deviations[i] * sum
}

// whitened is Lᵀ of a sum of weights.
func (c covarianceRoot) whitened(coefficients []float64) []float64 {
	out := make([]float64, len(c.deviations))
	for i, x := range coefficients {
		if x != 0 {
			c.addRow(out, i, x)
		}
	}
	return out
}

// whiten is Lᵀ gᵀ.
func (c covarianceRoot) whiten(g *mat.Dense) *mat.Dense {
	out := mat.DenseCopyOf(g.T())
	for i, d := range c.deviations {
		blas64.Scal(d, vector(out.RawRowView(i)))
	}
	for _, g := range c.groups {
		rows := g.rows(out)
		blas64.Trmm(blas.Left, blas.Trans, 1, g.factor.RawTriangular(), rows.RawMatrix())
		g.setRows(out, rows)
	}
	return out
}

// unwhiten is L⁻ᵀ q.
func (c covarianceRoot) unwhiten(q *mat.Dense) *mat.Dense {
	out := mat.DenseCopyOf(q)
	for _, g := range c.groups {
		rows := g.rows(out)
		blas64.Trsm(blas.Left, blas.Trans, 1, g.factor.RawTriangular(), rows.RawMatrix())
		g.setRows(out, rows)
	}
	for i, d := range c.deviations {
		blas64.Scal(1/d, vector(out.RawRowView(i)))
	}
	return out
}

// rows copies the rows of a that are the group's.
func (g group) rows(a *mat.Dense) *mat.Dense {
	_, columns := a.Dims()
	out := mat.NewDense(len(g.members), columns, nil)
	for k, i := range g.members {
		out.SetRow(k, a.RawRowView(i))
	}
	return out
}

func (g group) setRows(a, rows *mat.Dense) {
	for k, i := range g.members {
		a.SetRow(i, rows.RawRowView(k))
	}
}
