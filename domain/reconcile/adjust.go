package reconcile

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// adjustment is the weighted least squares solution for the weighed flows.
type adjustment struct {
	reconciled []float64
	// spread has the covariance of the reconciled flows as spread spreadᵀ; nil when they are all fixed.
	spread *mat.Dense
	// statistic is the weighted sum of squares of the adjustments, the statistic of the global test.
	statistic float64
	// power and its variance give the measurement test of maximum power: d and the diagonal of W.
	power, powerVariance []float64
}

// adjust solves min (y-x)ᵀ S⁻¹ (y-x) under reduced x = 0.
//
// With S = L Lᵀ and the QR factorisation Lᵀ reducedᵀ = Q R nothing of the kind G S Gᵀ is ever formed:
// that would square the ratio of the largest to the smallest uncertainty. The rows are sorted by size,
// which keeps Householder reflections accurate row by row when that ratio is large (Cox & Higham 1998,
// from memory).
func (s system) adjust(st structure) (adjustment, error) {
	root, err := s.covarianceRoot()
	if err != nil {
		return adjustment{}, err
	}
	out := adjustment{
		reconciled:    slices.Clone(s.readings),
		power:         make([]float64, len(s.readings)),
		powerVariance: make([]float64, len(s.readings)),
	}
	if st.degreesOfFreedom == 0 {
		out.spread = root.lower()
		return out, nil
	}
	f := sortedQR(root.whiten(st.reduced))
	n, dof := len(s.readings), st.degreesOfFreedom
	constrained := f.q.Slice(0, n, 0, dof)

	step := f.coordinates(st.reduced, out.reconciled)
	out.statistic = dot(step, step)
	out.subtract(root, constrained, step)
	// Once more with what rounding left of the imbalance.
	out.subtract(root, constrained, f.coordinates(st.reduced, out.reconciled))

	tests := root.unwhiten(constrained)
	for i := range n {
		row := mat.Row(nil, i, tests)
		out.power[i] = dot(row, step)
		out.powerVariance[i] = dot(row, row)
	}
	if dof < n {
		out.spread = new(mat.Dense)
		out.spread.Mul(root.lower(), f.q.Slice(0, n, dof, n))
	}
	return out, nil
}

func (a *adjustment) subtract(root covarianceRoot, constrained mat.Matrix, step []float64) {
	var white, change mat.VecDense
	white.MulVec(constrained, mat.NewVecDense(len(step), step))
	change.MulVec(root.lower(), &white)
	for i := range a.reconciled {
		a.reconciled[i] -= change.AtVec(i)
	}
}

// coordinates solves Rᵀ t = reduced x, x's imbalance in the orthonormal basis of the constraints.
func (f factored) coordinates(reduced *mat.Dense, x []float64) []float64 {
	var imbalance mat.VecDense
	imbalance.MulVec(reduced, mat.NewVecDense(len(x), x))
	n := imbalance.Len()
	t := make([]float64, n)
	upper := mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		t[i] = imbalance.AtVec(f.pivot[i])
		for j := i; j < n; j++ {
			upper.SetTri(i, j, f.r.At(i, j))
		}
	}
	blas64.Trsv(blas.Trans, upper.RawTriangular(), blas64.Vector{N: n, Data: t, Inc: 1})
	return t
}

// sortedQR is pivotedQR after the rows were sorted by falling size; q has them in their first order.
func sortedQR(a *mat.Dense) factored {
	rows, columns := a.Dims()
	order := make([]int, rows)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		return cmp.Compare(mat.Norm(a.RowView(j), math.Inf(1)), mat.Norm(a.RowView(i), math.Inf(1)))
	})
	sorted := mat.NewDense(rows, columns, nil)
	for to, from := range order {
		sorted.SetRow(to, a.RawRowView(from))
	}
	f := pivotedQR(sorted)
	q := mat.NewDense(rows, rows, nil)
	for to, from := range order {
		q.SetRow(from, f.q.RawRowView(to))
	}
	f.q = q
	return f
}

func dot(a, b []float64) float64 {
	return blas64.Dot(blas64.Vector{N: len(a), Data: a, Inc: 1}, blas64.Vector{N: len(b), Data: b, Inc: 1})
}

// covarianceRoot is the factor L of the covariance S = L Lᵀ, kept as L = D C with the standard
// uncertainties D and the Cholesky factor C of the correlations, nil when no errors go together.
type covarianceRoot struct {
	deviations []float64
	factor     *mat.TriDense
}

func (s system) covarianceRoot() (covarianceRoot, error) {
	root := covarianceRoot{deviations: s.uncertainty}
	if s.correlation == nil {
		return root, nil
	}
	var cholesky mat.Cholesky
	if !cholesky.Factorize(s.correlation) || cholesky.Cond() > 1e12 {
		return root, errors.New("the correlations contradict each other (their matrix is not positive definite): make some of them smaller")
	}
	root.factor = new(mat.TriDense)
	cholesky.LTo(root.factor)
	return root, nil
}

// lower is L itself.
func (c covarianceRoot) lower() *mat.Dense {
	n := len(c.deviations)
	if n == 0 {
		return nil
	}
	l := mat.NewDense(n, n, nil)
	for i, d := range c.deviations {
		if c.factor == nil {
			l.Set(i, i, d)
			continue
		}
		for j := range i + 1 {
			l.Set(i, j, d*c.factor.At(i, j))
		}
	}
	return l
}

// whiten is Lᵀ gᵀ.
func (c covarianceRoot) whiten(g *mat.Dense) *mat.Dense {
	out := mat.DenseCopyOf(g.T())
	for i, d := range c.deviations {
		row := out.RawRowView(i)
		blas64.Scal(d, blas64.Vector{N: len(row), Data: row, Inc: 1})
	}
	if c.factor != nil {
		blas64.Trmm(blas.Left, blas.Trans, 1, c.factor.RawTriangular(), out.RawMatrix())
	}
	return out
}

// unwhiten is L⁻ᵀ q.
func (c covarianceRoot) unwhiten(q mat.Matrix) *mat.Dense {
	out := mat.DenseCopyOf(q)
	if c.factor != nil {
		blas64.Trsm(blas.Left, blas.Trans, 1, c.factor.RawTriangular(), out.RawMatrix())
	}
	for i, d := range c.deviations {
		row := out.RawRowView(i)
		blas64.Scal(1/d, blas64.Vector{N: len(row), Data: row, Inc: 1})
	}
	return out
}
