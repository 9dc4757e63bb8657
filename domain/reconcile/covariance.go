package reconcile

import (
	"errors"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// correlations are the weights whose errors go together. Few of a season's do, so that a matrix
// would be nearly all zeros.
type correlations []correlated

// correlated are two weights with their coefficient.
type correlated struct {
	a, b        int
	coefficient float64
}

// SetSym sets the coefficient of two weights.
func (c *correlations) SetSym(i, j int, coefficient float64) {
	if i != j {
		*c = append(*c, correlated{i, j, coefficient})
	}
}

// At is the coefficient of two weights, as it was set last.
func (c correlations) At(i, j int) float64 {
	if i == j {
		return 1
	}
	for _, p := range slices.Backward(c) {
		if p.a == i && p.b == j || p.a == j && p.b == i {
			return p.coefficient
		}
	}
	return 0
}

// groups lists those of some weights whose errors go together, each group in order.
func (c correlations) groups(weights int) [][]int {
	first := make([]int, weights) // of each one's group, at the end of the way
	for i := range first {
		first[i] = i
	}
	top := func(i int) int {
		for first[i] != i {
			first[i] = first[first[i]]
			i = first[i]
		}
		return i
	}
	alone := slices.Repeat([]bool{true}, weights)
	for _, p := range c {
		alone[p.a], alone[p.b] = false, false
		a, b := top(p.a), top(p.b)
		first[max(a, b)] = min(a, b)
	}
	var out [][]int
	at := map[int]int{}
	for i := range weights {
		if alone[i] {
			continue
		}
		k, known := at[top(i)]
		if !known {
			k = len(out)
			at[top(i)], out = k, append(out, nil)
		}
		out[k] = append(out[k], i)
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
	groups := s.correlation.groups(n)
	of := make([]*mat.SymDense, len(groups))
	for which, members := range groups {
		of[which] = mat.NewSymDense(len(members), nil)
		for k, i := range members {
			root.in[i], root.place[i] = which, k
			of[which].SetSym(k, k, 1)
		}
	}
	for _, p := range s.correlation {
		of[root.in[p.a]].SetSym(root.place[p.a], root.place[p.b], p.coefficient)
	}
	for which, members := range groups {
		var cholesky mat.Cholesky
		if !cholesky.Factorize(of[which]) || cholesky.Cond() > 1e12 {
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
