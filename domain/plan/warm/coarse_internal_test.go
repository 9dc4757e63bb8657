package warm

import (
	"math"
	"testing"
)

// A course that takes longer than two days changes at every second or fourth hour alone. Beside one that may change at
// every hour it costs hardly more.
func TestChangingAtEveryFourthHourCostsHardlyMore(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]*Spec{"drums": spec(drums(10), Liquid, 144), "a slow tank": spec(aTank(t, func(k *Tank) { k.HeaterW, k.MassKg = 2500, 2000 }), Liquid, 96)} {
		p, err := s.problem(s.Hours)
		if err != nil {
			t.Fatal(err)
		}
		least := func(s *search) float64 {
			out := math.Inf(1)
			for _, cost := range s.best {
				out = min(out, cost)
			}
			return out
		}
		found := p.search()
		plan := least(found)
		found.every, found.within = 1, p.Hours
		for set := found.HottestC; set >= found.leastC; set-- {
			found.from(0, set, 1)
		}
		t.Logf("%s: %.3f kWh, changing at every hour %.3f", name, plan, least(found))
		if plan > 1.01*least(found) {
			t.Errorf("%s: the plan costs %.3f kWh, one that changes at every hour %.3f", name, plan, least(found))
		}
	}
}
