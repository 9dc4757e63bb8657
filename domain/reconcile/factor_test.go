package reconcile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestFactorsOfLargeNetworksGiveTheNetworkBack holds the factorisation against
// its definition, a = q r with q orthogonal, for the balances of random networks
// as large as a season's; the rank against the singular values.
func TestFactorsOfLargeNetworksGiveTheNetworkBack(t *testing.T) {
	t.Parallel()
	for _, nodes := range []int{20, 60, 140} {
		for seed := range uint64(10) {
			t.Run(fmt.Sprint(nodes, " nodes, seed ", seed), func(t *testing.T) {
				t.Parallel()
				balances := randomBalances(rand.New(rand.NewPCG(seed, 1)), nodes)
				for name, a := range map[string]*mat.Dense{"balances": balances, "streams": mat.DenseCopyOf(balances.T())} {
					f := pivotedQR(a)
					if off := factorError(a, f); off > 1e-12 {
						t.Errorf("%s: q r is %.2g off", name, off)
					}
					var product mat.Dense
					product.Mul(f.q.T(), f.q)
					rows, _ := a.Dims()
					product.Sub(&product, identity(rows, rows))
					if off := mat.Max(&product) - mat.Min(&product); off > 1e-12 {
						t.Errorf("%s: q is %.2g from orthogonal", name, off)
					}
					if rank := rankBySingularValues(a); f.rank != rank {
						t.Errorf("%s: rank %d, singular values say %d", name, f.rank, rank)
					}
				}
			})
		}
	}
}

// randomBalances has three streams for each node between random nodes, some of
// them outside.
func randomBalances(rng *rand.Rand, nodes int) *mat.Dense {
	a := mat.NewDense(nodes, 3*nodes, nil)
	for stream := range 3 * nodes {
		from, to := rng.IntN(nodes+nodes/5), rng.IntN(nodes+nodes/5)
		if from == to {
			continue
		}
		if from < nodes {
			a.Set(from, stream, -1)
		}
		if to < nodes {
			a.Set(to, stream, 1)
		}
	}
	return a
}

func factorError(a *mat.Dense, f factored) float64 {
	var qr mat.Dense
	qr.Mul(f.q, f.r)
	rows, columns := a.Dims()
	off := 0.0
	for j := range columns {
		for i := range rows {
			off = math.Max(off, math.Abs(qr.At(i, j)-a.At(i, f.pivot[j])))
		}
	}
	return off
}

func rankBySingularValues(a *mat.Dense) int {
	var svd mat.SVD
	svd.Factorize(a, mat.SVDNone)
	rank := 0
	for _, v := range svd.Values(nil) {
		if v > 1e-9 {
			rank++
		}
	}
	return rank
}
