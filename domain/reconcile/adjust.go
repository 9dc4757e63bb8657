package reconcile

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// adjustment is the weighted least squares solution for the weighed flows.
type adjustment struct {
	reconciled []float64
	// free is reconciled without the bounds, binding the bounds that bind by column, and
	// atBounds what keeping them adds to the statistic.
	free     []float64
	binding  map[int]limit
	atBounds float64
	// root is the factor L of the covariance of the weights. constrained has in its columns an
	// orthonormal basis Q of what the balances fix, so that the covariance of the reconciled flows is
	// L (I - Q Qᵀ) Lᵀ; nil when they fix nothing.
	root        covarianceRoot
	constrained *mat.Dense
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
		root:          root,
		power:         make([]float64, len(s.readings)),
		powerVariance: make([]float64, len(s.readings)),
	}
	if st.degreesOfFreedom == 0 {
		return out, nil
	}
	f := sortedQR(root.whiten(st.reduced), st.degreesOfFreedom)
	out.constrained = f.q

	step := f.coordinates(st.reduced, out.reconciled)
	out.statistic = dot(step, step)
	out.subtract(step)
	// Once more with what rounding left of the imbalance.
	out.subtract(f.coordinates(st.reduced, out.reconciled))

	tests := root.unwhiten(f.q)
	for i := range s.readings {
		row := tests.RawRowView(i)
		out.power[i] = dot(row, step)
		out.powerVariance[i] = dot(row, row)
	}
	return out, nil
}

func (a *adjustment) subtract(step []float64) {
	var white mat.VecDense
	white.MulVec(a.constrained, mat.NewVecDense(len(step), step))
	for i := range a.reconciled {
		a.reconciled[i] -= a.root.times(i, white.RawVector().Data)
	}
}

// cancels is the share of a variance below which it is not had as a difference, which rounding would spoil.
const cancels = 0.01

// uncertainty is the standard deviation of a sum of reconciled flows from that of the weights, whitened:
// the length of what is left of it beside the basis of the constraints.
func (a *adjustment) uncertainty(white []float64) float64 {
	all := dot(white, white)
	if a.constrained == nil {
		return math.Sqrt(all)
	}
	n, fixed := a.constrained.Dims()
	if fixed == n {
		return 0
	}
	along := make([]float64, fixed)
	for i, w := range white {
		if w != 0 {
			blas64.Axpy(w, vector(a.constrained.RawRowView(i)), vector(along))
		}
	}
	if left := all - dot(along, along); left > cancels*all {
		return math.Sqrt(left)
	}
	rest := slices.Clone(white)
	blas64.Gemv(blas.NoTrans, -1, a.constrained.RawMatrix(), vector(along), 1, vector(rest))
	return norm(rest)
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

// sortedQR is factorise after the rows were sorted by falling size; q has them in their first order.
func sortedQR(a *mat.Dense, wanted int) factored {
	rows, columns := a.Dims()
	order := make([]int, rows)
	for i := range order {
		order[i] = i
	}
	size := make([]float64, rows)
	for i := range size {
		size[i] = mat.Norm(a.RowView(i), math.Inf(1))
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(size[j], size[i]) })
	sorted := mat.NewDense(rows, columns, nil)
	for to, from := range order {
		sorted.SetRow(to, a.RawRowView(from))
	}
	f := factorise(sorted, wanted)
	if wanted == 0 {
		return f
	}
	q := mat.NewDense(rows, wanted, nil)
	for to, from := range order {
		q.SetRow(from, f.q.RawRowView(to))
	}
	f.q = q
	return f
}

func vector(a []float64) blas64.Vector { return blas64.Vector{N: len(a), Data: a, Inc: 1} }

func dot(a, b []float64) float64 { return blas64.Dot(vector(a), vector(b)) }

func norm(a []float64) float64 { return blas64.Nrm2(vector(a)) }
