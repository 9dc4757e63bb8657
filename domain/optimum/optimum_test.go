package optimum_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"pullbook/domain/optimum"
)

func TestTheSolverIsTheOneThatIsNamed(t *testing.T) {
	if v, err := optimum.Version(); err != nil || v != "1.15.1" {
		t.Errorf("version %q, %v", v, err)
	}
}

func TestWhatCannotBeIsSaid(t *testing.T) {
	for _, whole := range []bool{false, true} {
		var p optimum.Problem
		x := p.Add(optimum.Variable{Cost: 1, High: 4, Whole: whole})
		p.Keep(5, math.Inf(1), optimum.Term{Variable: x, Factor: 1})
		if got, err := optimum.Solve(&p, optimum.Effort{}); err != nil || got.Outcome != optimum.Impossible || got.Found {
			t.Errorf("five of at most four: %+v, %v", got, err)
		}
		var q optimum.Problem
		q.Add(optimum.Variable{Cost: -1, High: math.Inf(1), Whole: whole})
		if got, err := optimum.Solve(&q, optimum.Effort{}); err != nil || got.Outcome != optimum.Endless {
			t.Errorf("earning without end: %+v, %v", got, err)
		}
	}
}

func TestNothingToChoose(t *testing.T) {
	if got, err := optimum.Solve(&optimum.Problem{}, optimum.Effort{}); err != nil || !got.Found || got.Cost != 0 {
		t.Errorf("%+v, %v", got, err)
	}
	if got, _ := optimum.Solve(&optimum.Problem{Limits: []optimum.Limit{{Low: 1, High: 2}}}, optimum.Effort{}); got.Outcome != optimum.Impossible {
		t.Errorf("one out of nothing: %+v", got)
	}
}

func TestWhatIsNoProblemIsRefused(t *testing.T) {
	one := []optimum.Variable{{High: 1}}
	for name, p := range map[string]optimum.Problem{
		"a cost that is no number":      {Variables: []optimum.Variable{{Cost: math.NaN()}}},
		"a cost without end":            {Variables: []optimum.Variable{{Cost: math.Inf(1)}}},
		"a variable that is not there":  {Variables: one, Limits: []optimum.Limit{{Terms: []optimum.Term{{Variable: 1}}}}},
		"a variable twice in a limit":   {Variables: one, Limits: []optimum.Limit{{Terms: []optimum.Term{{}, {}}}}},
		"a factor without end":          {Variables: one, Limits: []optimum.Limit{{Terms: []optimum.Term{{Factor: math.Inf(1)}}}}},
		"a limit that is no number":     {Variables: one, Limits: []optimum.Limit{{Low: math.NaN()}}},
		"more variables than there may": {Variables: make([]optimum.Variable, optimum.MostVariables+1)},
	} {
		if got, err := optimum.Solve(&p, optimum.Effort{}); err == nil {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// small is a problem of up to eight things, each taken or not, under three limits.
func small(r *rand.Rand) *optimum.Problem {
	var p optimum.Problem
	n := 2 + r.IntN(7)
	for range n {
		p.Add(optimum.Variable{Cost: math.Round(20*r.Float64()-10) / 2, High: float64(1 + r.IntN(2)), Whole: true})
	}
	for range 1 + r.IntN(3) {
		var terms []optimum.Term
		for i := range n {
			if r.IntN(3) > 0 {
				terms = append(terms, optimum.Term{Variable: i, Factor: float64(r.IntN(13) - 4)})
			}
		}
		p.Keep(float64(r.IntN(6)-3), float64(4+r.IntN(12)), terms...)
	}
	return &p
}

// tryAll is the least cost of every choice that there is; false where none keeps the limits.
func tryAll(p *optimum.Problem) (best float64, ok bool) {
	best = math.Inf(1)
	at := make([]float64, len(p.Variables))
	var next func(i int)
	next = func(i int) {
		if i < len(at) {
			for v := 0.0; v <= p.Variables[i].High; v++ {
				at[i] = v
				next(i + 1)
			}
			return
		}
		var cost float64
		for j, v := range p.Variables {
			cost += v.Cost * at[j]
		}
		for _, l := range p.Limits {
			var sum float64
			for _, term := range l.Terms {
				sum += term.Factor * at[term.Variable]
			}
			if sum < l.Low || sum > l.High {
				return
			}
		}
		best, ok = min(best, cost), true
	}
	next(0)
	return best, ok
}

func TestNothingIsBetterThanTheBest(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	impossible := 0
	for i := range 300 {
		p := small(r)
		want, ok := tryAll(p)
		got, err := optimum.Solve(p, optimum.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			impossible++
			if got.Outcome != optimum.Impossible {
				t.Fatalf("problem %d has no choice, found %+v", i, got)
			}
			continue
		}
		if got.Outcome != optimum.Best || math.Abs(got.Cost-want) > 1e-6 {
			t.Fatalf("problem %d: %+v, trying all gives %g", i, got, want)
		}
	}
	if impossible < 15 || impossible > 270 {
		t.Errorf("%d of 300 problems have no choice: they say little", impossible)
	}
}

func TestTheSameProblemHasTheSameSolution(t *testing.T) {
	p := small(rand.New(rand.NewPCG(3, 4)))
	want, err := optimum.Solve(p, optimum.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 { // beside each other too
		wg.Go(func() {
			got, err := optimum.Solve(p, optimum.Effort{})
			if err != nil || got.Cost != want.Cost {
				t.Errorf("%+v, first %+v: %v", got, want, err)
				return
			}
			for i := range got.At {
				if got.At[i] != want.At[i] {
					t.Errorf("%v, first %v", got.At, want.At)
					return
				}
			}
		})
	}
	wg.Wait()
}

// packing is hard: 60 things of nearly one weight and worth, to be packed full.
func packing() *optimum.Problem {
	r := rand.New(rand.NewPCG(5, 6))
	var p optimum.Problem
	for limit := range 3 {
		var terms []optimum.Term
		for i := range 60 {
			if limit == 0 {
				p.Add(optimum.Variable{Cost: -1 - r.Float64()/10, High: 1, Whole: true})
			}
			terms = append(terms, optimum.Term{Variable: i, Factor: 280 + 60*r.Float64()})
		}
		p.Keep(math.Inf(-1), 9000, terms...)
	}
	return &p
}

// A search that is stopped says what it has, and how much better the best may be.
func TestASearchThatIsStoppedSaysHowMuchBetterTheBestMayBe(t *testing.T) {
	now := 0.0
	clock := func() float64 { now += 1e-4; return now } // time passes by being asked for
	p := packing()
	got, err := optimum.Solve(p, optimum.Effort{Seconds: 0.5, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	if got.Outcome != optimum.Stopped || !got.Found {
		t.Fatalf("%+v", got)
	}
	if gap := got.Gap(); gap <= 0 || gap > 0.2 || got.Bound > got.Cost {
		t.Errorf("cost %g, bound %g, gap %g", got.Cost, got.Bound, gap)
	}
	for _, l := range p.Limits {
		var sum float64
		for _, term := range l.Terms {
			sum += term.Factor * got.At[term.Variable]
		}
		if sum > l.High+1e-6 {
			t.Errorf("%g of at most %g", sum, l.High)
		}
	}
}
