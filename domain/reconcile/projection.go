package reconcile

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// structureTolerance parts a true zero from rounding in matrices made of balance coefficients alone.
// For the balances of a network every such quantity is zero or at least about one over the number of
// streams; no weight and no uncertainty enters, however widely they vary.
const structureTolerance = 1e-9

// Class says what the balances can do for a stream.
type Class string

// The four classes of a stream.
const (
	// Redundant: weighed, and the other flows say what it should be.
	Redundant Class = "redundant"
	// NonRedundant: weighed, and nothing checks it.
	NonRedundant Class = "non_redundant"
	// Determinable: not weighed, but the other flows imply it.
	Determinable Class = "determinable"
	// Indeterminable: not weighed, and the other flows cannot tell it.
	Indeterminable Class = "indeterminable"
)

// structure is all that follows from the balances and from which flows were weighed, before any weight
// is looked at.
type structure struct {
	class []Class // of every column
	// reduced has orthonormal rows and spans every balance that holds among the weighed flows alone;
	// nil when there is none. Its columns are those of system.measured.
	reduced *mat.Dense
	// degreesOfFreedom is the number of independent balances among the weighed flows.
	degreesOfFreedom int
	// inference gives each determinable flow (by its place in system.unmeasured) as a weighted sum of
	// the weighed flows.
	inference map[int][]float64
}

// analyse projects the unweighed flows out of the balances and classifies every stream (Crowe et al.
// 1983; Sanchez & Romagnoli 1996).
func (s system) analyse() structure {
	_, columns := s.balances.Dims()
	out := structure{class: make([]Class, columns), inference: map[int][]float64{}}
	alike := s.alike()
	among := s.projectUnmeasured(alike, &out)
	alike.gather(among)
	out.reduced, out.degreesOfFreedom = independentRows(among)
	out.reduced = alike.spread(out.reduced)
	for i, column := range s.measured {
		out.class[column] = NonRedundant
		if out.degreesOfFreedom > 0 && mat.Norm(out.reduced.ColView(i), 2) > structureTolerance {
			out.class[column] = Redundant
		}
	}
	return out
}

// projectUnmeasured fills in the classes and the inference of the unweighed flows and returns the
// balances that hold among the weighed ones that differ, nil when there is none.
func (s system) projectUnmeasured(alike alike, out *structure) *mat.Dense {
	weighed := chooseColumns(s.balances, alike.columns)
	if len(s.unmeasured) == 0 {
		return weighed
	}
	f := pivotedQR(chooseColumns(s.balances, s.unmeasured))
	s.inferUnmeasured(f, weighed, alike, out)
	rows, _ := f.q.Dims()
	if weighed == nil || f.rank == rows {
		return nil
	}
	among := new(mat.Dense)
	among.Mul(f.q.Slice(0, rows, f.rank, rows).T(), weighed)
	return among
}

// inferUnmeasured reads from A_u = Q [R11 R12; 0 0] which unweighed flows are fixed by the weighed
// ones: those of R11 whose row of R11⁻¹ R12 is zero.
func (s system) inferUnmeasured(f factored, weighed *mat.Dense, alike alike, out *structure) {
	for _, column := range s.unmeasured {
		out.class[column] = Indeterminable
	}
	if f.rank == 0 {
		return
	}
	rows, _ := f.q.Dims()
	r11 := f.r.Slice(0, f.rank, 0, f.rank)
	free := len(s.unmeasured) - f.rank
	ambiguity := new(mat.Dense)
	if free > 0 {
		mustSolve(ambiguity, r11, f.r.Slice(0, f.rank, f.rank, f.rank+free))
	}
	share := new(mat.Dense)
	if weighed != nil {
		var right mat.Dense
		right.Mul(f.q.Slice(0, rows, 0, f.rank).T(), weighed)
		mustSolve(share, r11, &right)
	}
	for i := range f.rank {
		if free > 0 && mat.Norm(ambiguity.RowView(i), math.Inf(1)) > structureTolerance {
			continue
		}
		which := f.pivot[i]
		out.class[s.unmeasured[which]] = Determinable
		coefficients := make([]float64, len(s.measured))
		for j, of := range alike.of {
			if c := -share.At(i, of); math.Abs(c) > structureTolerance {
				coefficients[j] = c
			}
		}
		out.inference[which] = coefficients
	}
}

// independentRows returns an orthonormal basis of the rows of a, and how many there are.
func independentRows(a *mat.Dense) (*mat.Dense, int) {
	if a == nil {
		return nil, 0
	}
	f := thinQR(mat.DenseCopyOf(a.T()))
	if f.rank == 0 {
		return nil, 0
	}
	rows, _ := f.q.Dims()
	basis := mat.DenseCopyOf(f.q.Slice(0, rows, 0, f.rank).T())
	basis.Apply(func(_, _ int, v float64) float64 {
		if math.Abs(v) < structureTolerance {
			return 0
		}
		return v
	}, basis)
	return basis, f.rank
}

// factored is a = q r with the columns of a in the order pivot. The columns of q are orthonormal.
type factored struct {
	q, r  *mat.Dense
	pivot []int
	rank  int
}

// pivotedQR is factorise with all columns of q, which is square.
func pivotedQR(a *mat.Dense) factored {
	rows, _ := a.Dims()
	return factorise(a, rows)
}

// thinQR is factorise with no more of q than a has columns. A season has many weights for each
// balance, and all of q would take the square of their number.
func thinQR(a *mat.Dense) factored {
	rows, columns := a.Dims()
	return factorise(a, min(rows, columns))
}

// factorise is the QR factorisation with column pivoting of LAPACK (geqp3), which reveals the rank of a
// matrix whose true entries are of the order of one. The limit is absolute: a matrix that is zero but
// for rounding has rank zero. It gives the first columns of q, as many as
// wanted: none, or at least as many as the smaller side of a.
func factorise(a *mat.Dense, wanted int) factored {
	rows, columns := a.Dims()
	r := mat.DenseCopyOf(a)
	raw := r.RawMatrix()
	pivot := make([]int, columns)
	for i := range pivot {
		pivot[i] = -1
	}
	reflectors := min(rows, columns)
	tau := make([]float64, reflectors)
	work := []float64{0}
	lapack64.Geqp3(raw, pivot, tau, work, -1)
	work = make([]float64, int(work[0]))
	lapack64.Geqp3(raw, pivot, tau, work, len(work))

	var q *mat.Dense
	if wanted > 0 {
		q = product(raw, tau, wanted)
	}

	rank := 0
	for rank < reflectors && math.Abs(r.At(rank, rank)) > structureTolerance {
		rank++
	}
	for i := range rows {
		for j := range min(i, columns) {
			r.Set(i, j, 0)
		}
	}
	return factored{q: q, r: r, pivot: pivot, rank: rank}
}

// product is the first columns of the orthogonal matrix of the reflectors that a factorisation left
// below its diagonal, at least as many as there are reflectors. They are applied one by one: gonum 0.17's blocked Ormqr
// errs by tenths where reflectors end in zeros, as those of sparse balances do
// (TestFactorsOfLargeNetworksGiveTheNetworkBack).
func product(factored blas64.General, tau []float64, wanted int) *mat.Dense {
	n := factored.Rows
	q := identity(n, wanted)
	v, along := make([]float64, n), make([]float64, wanted)
	for k := len(tau) - 1; k >= 0; k-- {
		v[k] = 1
		for i := k + 1; i < n; i++ {
			v[i] = factored.Data[i*factored.Stride+k]
		}
		// Rows and columns before k are still those of the identity.
		below := q.Slice(k, n, k, wanted).(*mat.Dense).RawMatrix()
		reflector := blas64.Vector{N: n - k, Data: v[k:], Inc: 1}
		dots := blas64.Vector{N: wanted - k, Data: along[k:], Inc: 1}
		blas64.Gemv(blas.Trans, 1, below, reflector, 0, dots)
		blas64.Ger(-tau[k], reflector, dots, below)
	}
	return q
}

// identity is the first columns of the identity of n rows.
func identity(n, columns int) *mat.Dense {
	id := mat.NewDense(n, columns, nil)
	for i := range columns {
		id.Set(i, i, 1)
	}
	return id
}

// chooseColumns copies the named columns, nil when there are none.
func chooseColumns(a *mat.Dense, columns []int) *mat.Dense {
	if len(columns) == 0 {
		return nil
	}
	rows, _ := a.Dims()
	out := mat.NewDense(rows, len(columns), nil)
	for j, column := range columns {
		for i := range rows {
			out.Set(i, j, a.At(i, column))
		}
	}
	return out
}

// mustSolve solves the upper triangular system r x = b. Its diagonal was checked when the rank was
// found, so that it cannot be singular.
func mustSolve(x *mat.Dense, r mat.Matrix, b mat.Matrix) {
	n, _ := r.Dims()
	upper := mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		for j := i; j < n; j++ {
			upper.SetTri(i, j, r.At(i, j))
		}
	}
	x.CloneFrom(b)
	blas64.Trsm(blas.Left, blas.NoTrans, 1, upper.RawTriangular(), x.RawMatrix())
}
