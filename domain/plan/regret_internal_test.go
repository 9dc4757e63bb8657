package plan

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"pullbook/domain/optimum"
)

// truly is a store as it is, and as it is known: eight lots of four drums, of which each lot was sampled once.
func truly(r *rand.Rand) (is, known []Stock) {
	now := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)
	off := map[string]float64{"moisture": 0.2, "hmf": 2}
	for l := range 8 {
		source := fmt.Sprintf("L-%d", l)
		truth := map[string]float64{"moisture": 16.6 + 2.6*r.Float64(), "hmf": 4 + 34*r.Float64()}
		said := map[string]Figure{}
		for _, parameter := range []string{"moisture", "hmf"} {
			said[parameter] = Figure{Mean: max(0, truth[parameter]+off[parameter]*r.NormFloat64()), Errors: []Spread{{source, off[parameter]}}}
		}
		since := now.AddDate(0, 0, -r.IntN(700))
		for d := range 4 {
			s := Stock{Name: fmt.Sprintf("%s-%d", source, d), Source: source, Kg: float64(288 + r.IntN(24)), Since: since, Figures: said}
			known = append(known, s)
			s.Figures = map[string]Figure{"moisture": {Mean: truth["moisture"]}, "hmf": {Mean: truth["hmf"]}}
			is = append(is, s)
		}
	}
	return is, known
}

// byThumb is what is done without a plan: the oldest drums until there is enough, and then the worst of them for the best
// that is left until the means keep to every limit with a fiftieth of it to spare; nil where they never do.
func byThumb(s *Spec, stock []Stock) []int {
	order := make([]int, len(stock))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return stock[a].Since.Compare(stock[b].Since) })
	kg, n := 0.0, 0
	for ; n < len(order) && kg < s.LeastKg; n++ {
		kg += stock[order[n]].Kg
	}
	in, out := order[:n], order[n:]
	for range len(stock) {
		worst := broken(s, stock, in, 0.02)
		if worst == "" {
			return in
		}
		by := func(a, b int) int {
			return int(1e6 * (stock[a].Figures[worst].Mean - stock[b].Figures[worst].Mean))
		}
		w, b := slices.IndexFunc(in, func(i int) bool { return i == slices.MaxFunc(in, by) }), slices.IndexFunc(out, func(i int) bool { return i == slices.MinFunc(out, by) })
		if by(in[w], out[b]) <= 0 {
			return nil
		}
		in[w], out[b] = out[b], in[w]
	}
	return nil
}

// broken is a limit that some stock breaks by its means, with a part of the limit to spare; empty where none.
func broken(s *Spec, stock []Stock, in []int, spare float64) string {
	for _, l := range s.Limits {
		var kg, sum float64
		for _, i := range in {
			kg, sum = kg+stock[i].Kg, sum+stock[i].Kg*stock[i].Figures[l.Parameter].Mean
		}
		if sum/kg > *l.High*(1-spare)+1e-9 {
			return l.Parameter
		}
	}
	return ""
}

// What plans of blends bring, on stores of which the truth is known: how many kept to the limits, and what they counted by the
// weights, beside the best that could have been made by whoever had known, and beside a rule of thumb. A plan that asks
// for 19 in 20 has to keep both limits at least as often as that for each, nine times in ten.
func TestWhatAPlanOfABlendBringsBesideARuleOfThumbAndHindsight(t *testing.T) {
	t.Parallel()
	houses := 5
	if os.Getenv("PULLBOOK_TEST_WHOLE") != "" {
		houses = 60
	}
	r := rand.New(rand.NewPCG(16, 11))
	spec := &Spec{LeastKg: 1800, MostKg: 2100, Probability: 0.95, Weights: UsualWeights(), Now: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC),
		Limits: []Limit{{Parameter: "moisture", High: new(18.0)}, {Parameter: "hmf", High: new(25.0)}}}
	best := func(stock []Stock) []int {
		f, err := spec.search(stock, aim{}, optimum.Effort{Within: aboutProved})
		if err != nil {
			t.Fatal(err)
		}
		var in []int
		for i, kg := range f.kg {
			if kg > 0 {
				in = append(in, i)
			}
		}
		return in
	}
	type sum struct {
		made, kept int
		cost       float64
	}
	var plan, thumb, hindsight sum
	both := 0
	for range houses {
		is, known := truly(r)
		counts := func(s *sum, in []int) float64 {
			if in == nil {
				return 0
			}
			s.made++
			if broken(spec, is, in, 0) == "" {
				s.kept++
			}
			cost := 0.0
			var sources []string
			for _, i := range in {
				cost += spec.costOf(&is[i]) * is[i].Kg
				if !slices.Contains(sources, is[i].Source) {
					sources = append(sources, is[i].Source)
				}
			}
			return cost + spec.Weights.Source*float64(len(sources))
		}
		a, b, c := best(known), byThumb(spec, known), best(is)
		x, y, z := counts(&plan, a), counts(&thumb, b), counts(&hindsight, c)
		if a != nil && b != nil && c != nil {
			both++
			plan.cost, thumb.cost, hindsight.cost = plan.cost+x, thumb.cost+y, hindsight.cost+z
		}
	}
	for name, s := range map[string]sum{"the plan": plan, "a rule of thumb": thumb, "the best with hindsight": hindsight} {
		t.Logf("%s: %d of %d stores, of which %d kept to both limits; where all three found one it counted %.1f kg of honey", name, s.made, houses, s.kept, s.cost/float64(both))
	}
	if plan.kept*10 < plan.made*9 {
		t.Errorf("%d of %d plans kept to both limits, and 0.9 was asked for", plan.kept, plan.made)
	}
	if hindsight.kept != hindsight.made || plan.cost < hindsight.cost {
		t.Errorf("hindsight kept %d of %d and counts %v, the plan %v", hindsight.kept, hindsight.made, hindsight.cost, plan.cost)
	}
}
