package reconcile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// honeyHouse draws a network that may have loops, parallel and dead-end streams, several parts and no
// outlet at all.
func honeyHouse(t *rapid.T) Network {
	nodes := rapid.IntRange(1, 8).Draw(t, "nodes")
	streams := rapid.IntRange(1, 24).Draw(t, "streams")
	node := func(i int) string {
		if i == 0 {
			return Outside
		}
		return fmt.Sprintf("tank %d", i)
	}
	var n Network
	for i := range streams {
		from := rapid.IntRange(0, nodes).Draw(t, "from")
		to := rapid.IntRange(0, nodes-1).Draw(t, "to")
		if to >= from {
			to++
		}
		n.Streams = append(n.Streams, Stream{
			Name: fmt.Sprintf("flow %d", i), From: node(from), To: node(to),
			Measured:              rapid.IntRange(0, 3).Draw(t, "measured") > 0,
			Kg:                    rapid.Float64Range(-500, 5000).Draw(t, "kg"),
			StandardUncertaintyKg: math.Pow(10, rapid.Float64Range(-4, 4).Draw(t, "log uncertainty")),
		})
	}
	return n
}

// closed gives the streams flows that close every balance: a random sum of the cycles of the network.
func closed(t *rapid.T, n Network) []float64 {
	s, place, err := n.linear()
	if err != nil {
		t.Fatal(err)
	}
	f := pivotedQR(mat.DenseCopyOf(s.balances.T()))
	columns := len(place)
	flows := make([]float64, columns)
	for k := f.rank; k < columns; k++ {
		amount := rapid.Float64Range(-3000, 3000).Draw(t, "cycle")
		for column, at := range place {
			flows[at] += amount * f.q.At(column, k)
		}
	}
	return flows
}

func solve(t *rapid.T, n Network) Result {
	got, err := Reconcile(n, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// largest is the size of the largest flow, the measure for what rounding may leave of a balance.
func largest(r Result) float64 {
	size := 1.0
	for _, s := range r.Streams {
		size = max(size, math.Abs(s.ReconciledKg), math.Abs(s.MeasuredKg))
	}
	return size
}

func TestEveryBalanceOfKnownFlowsCloses(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		got := solve(t, honeyHouse(t))
		left := map[string]float64{}
		unknown := map[string]bool{Outside: true}
		for _, s := range got.Streams {
			left[s.To] += s.ReconciledKg
			left[s.From] -= s.ReconciledKg
			if !s.Known() {
				unknown[s.From], unknown[s.To] = true, true
			}
		}
		for node, kg := range left {
			if !unknown[node] && math.Abs(kg) > 1e-9*largest(got) {
				t.Fatalf("%s: %g kg left of flows up to %g kg", node, kg, largest(got))
			}
		}
	})
}

func TestWeightsThatAgreeAreNotAdjusted(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		flows := closed(t, n)
		for i := range n.Streams {
			n.Streams[i].Kg = flows[i]
		}
		got := solve(t, n)
		tolerance := 1e-9 * largest(got)
		for i, s := range got.Streams {
			if s.Known() && math.Abs(s.ReconciledKg-flows[i]) > tolerance {
				t.Fatalf("%s (%s): got %g, true %g", s.Name, s.Class, s.ReconciledKg, flows[i])
			}
		}
		if !got.Global.Passed || len(got.MostLikelyWrong) > 0 {
			t.Fatalf("%+v, most likely wrong %v", got.Global, got.MostLikelyWrong)
		}
	})
}

// A movement that was written down for the wrong place is a flow, as large as it, that nobody
// wrote down from that place to the right one: where such a flow of any size helps little, no
// movement between the two can help more.
func TestAFlowPutElsewhereGainsNoMoreThanOneNeverWeighed(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		i := rapid.IntRange(0, len(n.Streams)-1).Draw(t, "moved")
		to := n.Streams[rapid.IntRange(0, len(n.Streams)-1).Draw(t, "to that of")].To
		if moved := n.Streams[i]; to == moved.To || to == moved.From {
			return
		}
		chiSquare := func(n Network) float64 {
			got, err := ChiSquare(n)
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
		before := chiSquare(n)
		unseen, elsewhere := n, n
		unseen.Streams = append(slices.Clone(n.Streams), Stream{Name: "never weighed", From: n.Streams[i].To, To: to})
		elsewhere.Streams = slices.Clone(n.Streams)
		elsewhere.Streams[i].To = to
		atMost, gain := before-chiSquare(unseen), before-chiSquare(elsewhere)
		if gain > atMost+1e-6*(1+before) {
			t.Fatalf("%s to %s gains %g of %g, and a flow never weighed %g", n.Streams[i].Name, to, gain, before, atMost)
		}
	})
}

// A flow can be known without its own weight exactly when adding "this flow alone" to the span of the
// balances restricted to the unweighed flows does not raise their rank.
func TestClassesAgreeWithTheRankOfTheBalances(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		got := solve(t, n)
		s, place, err := n.linear()
		if err != nil {
			t.Fatal(err)
		}
		for column, at := range place {
			without := slices.DeleteFunc(slices.Clone(s.unmeasured), func(c int) bool { return c == column })
			known := rank(chooseColumns(s.balances, append(without, column))) == rank(chooseColumns(s.balances, without))+1
			want := map[[2]bool]Class{
				{true, true}: Redundant, {true, false}: NonRedundant,
				{false, true}: Determinable, {false, false}: Indeterminable,
			}[[2]bool{n.Streams[at].Measured, known}]
			if got.Streams[at].Class != want {
				t.Fatalf("%s is %s, by rank it is %s", n.Streams[at].Name, got.Streams[at].Class, want)
			}
		}
		_, columns := s.balances.Dims()
		all := rank(s.balances)
		if columns > 0 && got.Global.DegreesOfFreedom != all-rank(chooseColumns(s.balances, s.unmeasured)) {
			t.Fatalf("degrees of freedom: got %d", got.Global.DegreesOfFreedom)
		}
	})
}

// rank by Gaussian elimination; the entries stay whole numbers as the balances of a network are totally
// unimodular, so that no tolerance is needed.
func rank(a *mat.Dense) int {
	if a == nil {
		return 0
	}
	a = mat.DenseCopyOf(a)
	rows, columns := a.Dims()
	r := 0
	for c := 0; c < columns && r < rows; c++ {
		pivot := r
		for pivot < rows && a.At(pivot, c) == 0 {
			pivot++
		}
		if pivot == rows {
			continue
		}
		for j := range columns {
			x, y := a.At(r, j), a.At(pivot, j)
			a.Set(r, j, y)
			a.Set(pivot, j, x)
		}
		for i := r + 1; i < rows; i++ {
			factor := a.At(i, c) / a.At(r, c)
			for j := range columns {
				a.Set(i, j, a.At(i, j)-factor*a.At(r, j))
			}
		}
		r++
	}
	return r
}

func TestTheOrderOfTheStreamsChangesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		got := solve(t, n)
		order := rapid.Permutation(indices(len(n.Streams))).Draw(t, "order")
		shuffled := Network{}
		for _, i := range order {
			shuffled.Streams = append(shuffled.Streams, n.Streams[i])
		}
		again := solve(t, shuffled)
		for to, from := range order {
			if again.Streams[to] != got.Streams[from] {
				t.Fatalf("%+v became %+v", got.Streams[from], again.Streams[to])
			}
		}
		if again.Global != got.Global || !slices.Equal(again.Nodes, got.Nodes) ||
			!slices.Equal(again.MostLikelyWrong, got.MostLikelyWrong) {
			t.Fatalf("%+v became %+v", got, again)
		}
	})
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// With all other weights true, the test of maximum power must put the one wrong weight first: its
// statistic is the largest there can be (Cauchy-Schwarz).
func TestOnePlantedErrorIsNamedWithItsSize(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		flows := closed(t, n)
		for i := range n.Streams {
			n.Streams[i].Kg = flows[i]
		}
		sound := solve(t, n)
		var checked []int
		for i, s := range sound.Streams {
			if s.Class == Redundant {
				checked = append(checked, i)
			}
		}
		if len(checked) == 0 {
			return
		}
		wrong := rapid.SampledFrom(checked).Draw(t, "wrong")
		times := rapid.Float64Range(1.5, 20).Draw(t, "times the detectable size")
		if rapid.Bool().Draw(t, "low") {
			times = -times
		}
		planted := times * sound.Streams[wrong].DetectableKg
		n.Streams[wrong].Kg += planted
		got := solve(t, n)
		r := got.Streams[wrong]
		if !slices.Contains(got.MostLikelyWrong, r.Name) {
			t.Fatalf("%s is off by %g kg, named %v: %+v", r.Name, planted, got.MostLikelyWrong, got.Global)
		}
		if math.Abs(r.GrossErrorKg-planted) > 1e-6*math.Abs(planted)+1e-9*largest(got) {
			t.Fatalf("%s is off by %g kg, said to be %g", r.Name, planted, r.GrossErrorKg)
		}
	})
}

// An independent way: the normal equations of the whole problem, unweighed flows included, by a dense
// solver. They lose accuracy with widely varying uncertainties, which are therefore kept within ten.
func TestAdjustedFlowsAgreeWithTheKarushKuhnTuckerEquations(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		for i := range n.Streams {
			n.Streams[i].StandardUncertaintyKg = rapid.Float64Range(1, 10).Draw(t, "uncertainty")
		}
		correlate(t, &n)
		got, err := Reconcile(n, DefaultSignificance)
		if err != nil {
			return // correlations drawn at random may contradict each other
		}
		want := karushKuhnTucker(t, n)
		for i, s := range got.Streams {
			if s.Known() && math.Abs(s.ReconciledKg-want[i]) > 1e-7*largest(got) {
				t.Fatalf("%s (%s): got %.12g, by the normal equations %.12g", s.Name, s.Class, s.ReconciledKg, want[i])
			}
		}
	})
}

// Flows that go the same way as others are taken together, and the statistic may be had by itself.
func TestChiSquareByItselfIsThatOfTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := honeyHouse(t)
		correlate(t, &n)
		whole, err := Reconcile(n, DefaultSignificance)
		alone, failed := ChiSquare(n)
		if (err == nil) != (failed == nil) {
			t.Fatalf("the whole gives %v, the statistic alone %v", err, failed)
		}
		if math.Abs(alone-whole.Global.Statistic) > 1e-9*max(1, alone) {
			t.Fatalf("the whole gives %v, the statistic alone %v", whole.Global.Statistic, alone)
		}
	})
}

func correlate(t *rapid.T, n *Network) {
	var measured []string
	for _, s := range n.Streams {
		if s.Measured {
			measured = append(measured, s.Name)
		}
	}
	for i := 0; i+1 < len(measured); i += 2 {
		n.Correlations = append(n.Correlations, Correlation{
			A: measured[i], B: measured[i+1], Coefficient: rapid.Float64Range(-0.9, 0.9).Draw(t, "correlation"),
		})
	}
}

// karushKuhnTucker solves [S⁻¹ Aᵀ; A 0] [x; λ] = [S⁻¹ y; 0] in the sense of least squares, as the flows
// that cannot be known leave it singular.
func karushKuhnTucker(t *rapid.T, n Network) []float64 {
	s, place, err := n.linear()
	if err != nil {
		t.Fatal(err)
	}
	rows, columns := s.balances.Dims()
	k := mat.NewDense(rows+columns, rows+columns, nil)
	right := mat.NewVecDense(rows+columns, nil)
	if m := len(s.measured); m > 0 {
		covariance := mat.NewSymDense(m, nil)
		for i := range m {
			for j := i; j < m; j++ {
				c := 0.0
				switch {
				case s.correlation != nil:
					c = s.correlation.At(i, j)
				case i == j:
					c = 1
				}
				covariance.SetSym(i, j, c*s.uncertainty[i]*s.uncertainty[j])
			}
		}
		var inverse mat.Dense
		if err := inverse.Inverse(covariance); err != nil {
			t.Fatal(err)
		}
		for i, a := range s.measured {
			for j, b := range s.measured {
				k.Set(a, b, inverse.At(i, j))
				right.SetVec(a, right.AtVec(a)+inverse.At(i, j)*s.readings[j])
			}
		}
	}
	for i := range rows {
		for j := range columns {
			k.Set(columns+i, j, s.balances.At(i, j))
			k.Set(j, columns+i, s.balances.At(i, j))
		}
	}
	var svd mat.SVD
	if !svd.Factorize(k, mat.SVDThin) {
		t.Fatal("no singular values")
	}
	var x mat.VecDense
	svd.SolveVecTo(&x, right, svd.Rank(1e-11))
	out := make([]float64, columns)
	for column, at := range place {
		out[at] = x.AtVec(column)
	}
	return out
}

// Adjusting a weight cannot make it less certain, and a weight adjusted or inferred stays as far from
// what it would be with other readings as its uncertainty says: checked by drawing the readings many
// times. The seed is fixed, so that this is the same experiment every time.
func TestUncertaintiesAndFalseAlarmsAreAsStated(t *testing.T) {
	t.Parallel()
	n, _ := steamMetering(t, "true_flow")
	n.Streams[9].Measured, n.Streams[15].Measured = false, false
	n.Correlations = []Correlation{{A: "25", B: "26", Coefficient: 0.6}}
	exact, err := Reconcile(n, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	const draws = 4000
	random := rand.New(rand.NewPCG(1, 2))
	squares := make([]float64, len(n.Streams))
	var failedGlobal, flaggedAny int
	for range draws {
		trial := Network{Streams: slices.Clone(n.Streams), Correlations: n.Correlations}
		shared := 0.0
		for i := range trial.Streams {
			deviation := random.NormFloat64()
			switch trial.Streams[i].Name {
			case "25":
				shared = deviation
			case "26":
				deviation = 0.6*shared + 0.8*deviation
			}
			trial.Streams[i].Kg = exact.Streams[i].ReconciledKg + deviation*trial.Streams[i].StandardUncertaintyKg
		}
		got, err := Reconcile(trial, DefaultSignificance)
		if err != nil {
			t.Fatal(err)
		}
		if !got.Global.Passed {
			failedGlobal++
		}
		if slices.ContainsFunc(got.Streams, func(s StreamResult) bool { return s.Flagged }) {
			flaggedAny++
		}
		for i, s := range got.Streams {
			squares[i] += math.Pow(s.ReconciledKg-exact.Streams[i].ReconciledKg, 2)
		}
	}
	for i, s := range exact.Streams {
		// Five standard errors of a standard deviation from 4000 draws are 5.6 %.
		found := math.Sqrt(squares[i] / draws)
		if math.Abs(found/s.ReconciledUncertaintyKg-1) > 0.056 {
			t.Errorf("%s: stated %g kg, found %g kg", s.Name, s.ReconciledUncertaintyKg, found)
		}
		if s.Class == Redundant && s.ReconciledUncertaintyKg > s.MeasuredUncertaintyKg*(1+1e-12) {
			t.Errorf("%s: %g kg became %g kg", s.Name, s.MeasuredUncertaintyKg, s.ReconciledUncertaintyKg)
		}
	}
	// 5 % with five standard errors of 0.34 %; the test of the largest value is at most that (Sidak).
	global, single := float64(failedGlobal)/draws, float64(flaggedAny)/draws
	t.Logf("false alarms at 5 %%: global test %.2f %%, measurement test %.2f %%", global*100, single*100)
	if math.Abs(global-0.05) > 0.0172 || single > 0.0672 {
		t.Errorf("false alarms: global %.4f, measurement %.4f", global, single)
	}
}
