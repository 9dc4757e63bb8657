package warm

import "testing"

// A plan turns where it is said to, and not before.
func TestAPlanTurnsWhereItIsSaidTo(t *testing.T) {
	t.Parallel()
	found := map[Change]int{}
	for name, s := range map[string]*Spec{
		"tank": spec(aTank(t, nil), Liquid, 48), "yeasts": spec(aTank(t, func(k *Tank) { k.HeaterW = 9000 }), YeastKilled, 24), "warm tank": spec(aTank(t, func(k *Tank) { k.StartC = 26 }), Pumpable, 30),
		"drums": spec(drums(8), Liquid, 168), "tank in a hurry": spec(aTank(t, nil), Liquid, 19),
	} {
		a := solve(t, s)
		if len(a.Choices) == 0 {
			t.Fatalf("%s: %+v", name, a.Impossible)
		}
		turns, err := s.Turns(a)
		if err != nil {
			t.Fatal(err)
		}
		for _, turn := range turns {
			t.Logf("%s: now %.3g: %s", name, turn.Now, turn.Said())
			found[turn.Changes]++
			if turn.Above != (turn.At > turn.Now) || (turn.Way != nil) != (turn.Changes == Better) {
				t.Errorf("%s: %+v", name, turn)
			}
			for by, want := range map[float64]bool{1: true, 0.99: false} { // there, and just before
				changed := *s
				if changed.Vessel, err = s.Vessel.otherwise(turn.Of, turn.Now+by*(turn.At-turn.Now)); err != nil {
					t.Fatal(err)
				}
				if got := changed.turned(t, a, turn); got != want {
					t.Errorf("%s: %s: at %g of the way there it is so: %v", name, turn.Said(), by, got)
				}
			}
		}
	}
	for _, change := range []Change{Late, Never, Better} {
		if found[change] == 0 {
			t.Errorf("no plan turns to %s: it says little", change)
		}
	}
}

// turned tries by itself whether a change came of a plan.
func (s *Spec) turned(t *testing.T, a *Answer, turn Turn) bool {
	t.Helper()
	switch turn.Changes {
	case Never:
		return !solve(t, s).Hottest.Arrives
	case Late:
		if k, is := s.Vessel.(Tank); is {
			k.LossSDWPerK = 0
			s.Vessel = k
		}
		s.Probability = 0.5
	}
	p, err := s.problem(s.Hours)
	if err != nil {
		t.Fatal(err)
	}
	best, arrives := p.costOf(a.Choices[0].Sets())
	if turn.Changes == Late {
		return !arrives
	}
	cost, comes := p.costOf(turn.Way.Sets())
	return comes && cost < best
}
