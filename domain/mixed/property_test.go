package mixed_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/mixed"
)

// oneWay has a number of observations of each group.
func oneWay(groups [][]float64) mixed.Data {
	d := mixed.Data{Groupings: []mixed.Grouping{{Levels: len(groups)}}}
	for g, ys := range groups {
		for _, y := range ys {
			d.Y = append(d.Y, y)
			d.X = append(d.X, []float64{1})
			d.Groupings[0].Level = append(d.Groupings[0].Level, g)
		}
	}
	return d
}

// Balanced groups have a closed form: between groups (MS between - MS within)/n or nothing, and each
// group's mean is shrunk by between/(between + within/n) (textbooks; from memory).
func TestBalancedGroupsComeOutAsTheClosedFormHasThem(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, n := rapid.IntRange(2, 8).Draw(t, "groups"), rapid.IntRange(2, 6).Draw(t, "each")
		wide := rapid.SampledFrom([]float64{0, 0.3, 1, 5}).Draw(t, "between")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		groups, means, grand := make([][]float64, a), make([]float64, a), 0.0
		for g := range groups {
			at := 100 + wide*r.NormFloat64()
			for range n {
				y := at + r.NormFloat64()
				groups[g] = append(groups[g], y)
				means[g] += y / float64(n)
			}
			grand += means[g] / float64(a)
		}
		var between, within float64
		for g, ys := range groups {
			between += float64(n) * (means[g] - grand) * (means[g] - grand) / float64(a-1)
			for _, y := range ys {
				within += (y - means[g]) * (y - means[g]) / float64(a*(n-1))
			}
		}
		m, err := mixed.New(oneWay(groups))
		if err != nil {
			t.Fatal(err)
		}
		for by, want := range map[mixed.Method]float64{
			mixed.REML: (between - within) / float64(n), mixed.ML: ((1-1/float64(a))*between - within) / float64(n),
		} {
			f := m.Fit(by)
			if want <= 0 {
				if f.Groupings[0].Variance > 1e-5*within {
					t.Fatalf("between groups %v, want 0", f.Groupings[0].Variance)
				}
				continue
			}
			if got := f.Groupings[0].Variance; math.Abs(got-want) > 1e-5*(want+within/float64(n)) {
				t.Fatalf("between groups %v, want %v", got, want)
			}
			if math.Abs(f.Residual-within) > 1e-5*within {
				t.Fatalf("within groups %v, want %v", f.Residual, within)
			}
			shrink := want / (want + within/float64(n))
			for g, e := range f.Groupings[0].Effects {
				if wanted := shrink * (means[g] - grand); math.Abs(e.Value-wanted) > 1e-5*math.Sqrt(within) {
					t.Fatalf("group %d is put at %v, want %v", g, e.Value, wanted)
				}
				if wanted := math.Sqrt(want * (1 - shrink)); math.Abs(e.SD-wanted) > 1e-5*wanted {
					t.Fatalf("group %d is known to %v, want %v", g, e.SD, wanted)
				}
				if wanted := math.Sqrt(want * (1 - shrink) * (1 - 1/float64(a))); math.Abs(e.BesideSD-wanted) > 1e-5*wanted || math.Abs(e.Beside-e.Value) > 1e-9*math.Sqrt(within) {
					t.Fatalf("group %d is known to %v beside the mean, want %v", g, e.BesideSD, wanted)
				}
			}
		}
	})
}

// A weight counts as so many observations that are alike: twice 3 with a weight of 1 or once with 2.
func TestAWeightCountsAsSoManyObservations(t *testing.T) {
	t.Parallel()
	once := oneWay([][]float64{{3, 4, 6}, {8, 7}, {5, 5.5, 2}})
	once.Weights = []float64{2, 1, 1, 2, 1, 1, 1, 1}
	twice := oneWay([][]float64{{3, 3, 4, 6}, {8, 8, 7}, {5, 5.5, 2}})
	of := func(d mixed.Data) *mixed.Fit {
		m, err := mixed.New(d)
		if err != nil {
			t.Fatal(err)
		}
		return m.At(mixed.REML, []float64{0.8})
	}
	a, b := of(once), of(twice)
	if math.Abs(a.Fixed[0].Value-b.Fixed[0].Value) > 1e-12 {
		t.Errorf("the mean is %v and %v", a.Fixed[0].Value, b.Fixed[0].Value)
	}
	for g := range a.Groupings[0].Effects {
		if got, want := a.Groupings[0].Effects[g].Value, b.Groupings[0].Effects[g].Value; math.Abs(got-want) > 1e-12 {
			t.Errorf("group %d: %v and %v", g, got, want)
		}
	}
}

// simulated draws groups that are seen now and then, with a fixed effect of each time.
func simulated(r *rand.Rand, groups, times int, between float64) (mixed.Data, []float64) {
	d, truth := mixed.Data{Groupings: []mixed.Grouping{{Levels: groups}}}, make([]float64, groups)
	for g := range truth {
		truth[g] = between * r.NormFloat64()
	}
	for at := range times {
		seen := 0
		for g := range groups {
			if r.Float64() < 0.3 && !(g == groups-1 && seen == 0) {
				continue
			}
			seen++
			row := make([]float64, times)
			row[at] = 1
			d.X = append(d.X, row)
			d.Y = append(d.Y, 10+3*float64(at)+truth[g]+r.NormFloat64())
			d.Groupings[0].Level = append(d.Groupings[0].Level, g)
		}
	}
	return d, truth
}

// held is how many of the true effects are in their bands of nine tenths, in bands that take the fitted ratio for
// known, and below their middle.
func held(t *testing.T, r *rand.Rand, groups, times, tries int, between func() float64) (posterior, plain, below float64) {
	t.Helper()
	all := 0.0
	for range tries {
		d, truth := simulated(r, groups, times, between())
		m, err := mixed.New(d)
		if err != nil {
			t.Fatal(err)
		}
		f, mean := m.Fit(mixed.REML), 0.0
		for _, v := range truth {
			mean += v / float64(groups)
		}
		for g, x := range m.Posterior() {
			all++
			chance := x.Below(truth[g] - mean)
			if chance > 0.05 && chance < 0.95 {
				posterior++
			}
			if chance < 0.5 {
				below++
			}
			if e := f.Groupings[0].Effects[g]; math.Abs(truth[g]-mean-e.Beside) < 1.6449*e.BesideSD {
				plain++
			}
		}
	}
	return posterior / all, plain / all, below / all
}

// Where the ratio is drawn as the prior has it, a band of nine tenths holds nine tenths of the truths.
func TestBandsHoldWhatTheySayOverThePrior(t *testing.T) {
	t.Parallel()
	for _, test := range [][2]int{{12, 3}, {30, 8}, {6, 5}} {
		r := rand.New(rand.NewPCG(4, uint64(100*test[0]+test[1])))
		even := func() float64 {
			v := 1 - r.Float64()
			return math.Sqrt(1/(v*v) - 1)
		}
		got, _, below := held(t, r, test[0], test[1], 9000/test[0], even)
		t.Logf("%d groups, %d times: %.3f in the band of nine tenths", test[0], test[1], got)
		if math.Abs(got-0.9) > 0.015 || math.Abs(below-0.5) > 0.025 {
			t.Errorf("%d groups, %d times: a band of nine tenths holds %.3f of the truths, and %.3f are below the middle", test[0], test[1], got, below)
		}
	}
}

// At a given ratio they hold about as much, and more where hardly anything is known of it. Bands that take the fitted ratio for known are too narrow where it is
// hardly known, and have no width at all where it comes out as 0.
func TestBandsHoldTheTruthAtEveryRatio(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		groups, times int
		between       float64
	}{{6, 3, 0}, {6, 3, 0.4}, {8, 4, 0.8}, {12, 3, 1}, {24, 4, 0.5}, {30, 5, 0.6}, {30, 8, 0.3}, {6, 8, 1.5}} {
		r := rand.New(rand.NewPCG(3, uint64(100*test.groups+test.times)))
		got, plain, _ := held(t, r, test.groups, test.times, 250, func() float64 { return test.between })
		t.Logf("%d groups, %d times, between %.1f: %.3f in the band of nine tenths, %.3f where the ratio is taken for known", test.groups, test.times, test.between, got, plain)
		if got < 0.87 || test.between > 0 && got > 0.97 {
			t.Errorf("%d groups, %d times, between %.1f: a band of nine tenths holds %.3f of the truths", test.groups, test.times, test.between, got)
		}
	}
}

func TestAQuantileIsWhereTheChanceIs(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	d, _ := simulated(r, 7, 4, 1)
	m, err := mixed.New(d)
	if err != nil {
		t.Fatal(err)
	}
	for g, x := range m.Posterior() {
		for _, chance := range []float64{0.001, 0.05, 0.3, 0.5, 0.95, 0.999} {
			if got := x.Below(x.Quantile(chance)); math.Abs(got-chance) > 1e-7 {
				t.Errorf("group %d: below the quantile of %v is %v", g, chance, got)
			}
		}
	}
}

func TestWhatCannotBeFittedIsRefused(t *testing.T) {
	t.Parallel()
	groups := func(levels ...int) []mixed.Grouping { return []mixed.Grouping{{Level: levels, Levels: 2}} }
	for _, test := range []struct {
		name string
		data mixed.Data
		want error
	}{
		{"as many fixed effects as observations", mixed.Data{Y: []float64{1}, X: [][]float64{{1}}, Groupings: groups(0)}, mixed.ErrFew},
		{"nothing at all", mixed.Data{Groupings: groups()}, mixed.ErrFew},
		{"one fixed effect twice", mixed.Data{Y: []float64{1, 2, 4}, X: [][]float64{{1, 2}, {1, 2}, {1, 2}}, Groupings: groups(0, 1, 0)}, mixed.ErrRank},
		{"no differences", mixed.Data{Y: []float64{2, 2, 2}, X: [][]float64{{1}, {1}, {1}}, Groupings: groups(0, 1, 0)}, mixed.ErrExact},
		{"a level that is not there", mixed.Data{Y: []float64{1, 2, 4}, X: [][]float64{{1}, {1}, {1}}, Groupings: groups(0, 1, 2)}, nil},
		{"no number", mixed.Data{Y: []float64{1, math.NaN(), 4}, X: [][]float64{{1}, {1}, {1}}, Groupings: groups(0, 1, 0)}, nil},
		{"a weight of nothing", mixed.Data{Y: []float64{1, 2, 4}, X: [][]float64{{1}, {1}, {1}}, Weights: []float64{1, 0, 1}, Groupings: groups(0, 1, 0)}, nil},
		{"no grouping", mixed.Data{Y: []float64{1, 2, 4}, X: [][]float64{{1}, {1}, {1}}}, nil},
	} {
		if _, err := mixed.New(test.data); err == nil || test.want != nil && !errors.Is(err, test.want) {
			t.Errorf("%s: %v, want %v", test.name, err, test.want)
		}
	}
}
