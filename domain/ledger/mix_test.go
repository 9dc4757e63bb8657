package ledger_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
)

func TestApportionedGramsComeToTheWhole(t *testing.T) {
	t.Parallel()
	for _, a := range []struct {
		grams  int64
		shares []float64
		want   []int64
	}{
		// 100 by thirds: 33.3 each, and the gram left over to the first.
		{100, []float64{1. / 3, 1. / 3, 1. / 3}, []int64{34, 33, 33}},
		// 10 x .26 = 2.6, 10 x .37 = 3.7, 10 x .37 = 3.7: 2 + 3 + 3, and two
		// grams left over to the largest remainders.
		{10, []float64{.26, .37, .37}, []int64{2, 4, 4}},
		{1, []float64{.2, .5, .3}, []int64{0, 1, 0}},
		{0, []float64{.5, .5}, []int64{0, 0}},
		{7, []float64{1}, []int64{7}},
	} {
		got := ledger.Apportion(a.grams, a.shares)
		for i := range a.want {
			if got[i] != a.want[i] {
				t.Errorf("%d g by %v are %v, by hand %v", a.grams, a.shares, got, a.want)
				break
			}
		}
	}
}

func TestApportioningNeverLosesAGramNorStraysByOne(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		shares := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 40).Draw(t, "shares")
		var sum float64
		for _, s := range shares {
			sum += s
		}
		if sum == 0 {
			return
		}
		for i := range shares {
			shares[i] /= sum
		}
		grams := rapid.Int64Range(0, 1e12).Draw(t, "grams")
		var whole int64
		for i, g := range ledger.Apportion(grams, shares) {
			whole += g
			if exact := float64(grams) * shares[i]; math.Abs(float64(g)-exact) > 1.01 {
				t.Fatalf("a share of %v g was given as %d", exact, g)
			}
		}
		if whole != grams {
			t.Fatalf("%d g were apportioned as %d", grams, whole)
		}
	})
}
