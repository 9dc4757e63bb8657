package warm

import (
	"math"
	"math/rand/v2"
	"testing"

	"pullbook/domain/heat"
)

func aTank(t testing.TB, change func(*Tank)) Tank {
	t.Helper()
	tank := Tank{
		Tank:        heat.Tank{MassKg: 1000, MoisturePct: 17.4, LossWPerK: 25, WallAllowanceK: 10, WallShare: 0.1, CrystalsPct: 15},
		LossSDWPerK: 4, HeaterW: 6000, AroundC: 18, StartC: 18,
	}
	if change != nil {
		change(&tank)
	}
	tank, err := NewTank(tank)
	if err != nil {
		t.Fatal(err)
	}
	return tank
}

func drums(n int) Containers {
	return Containers{Standing: heat.Standing{RadiusM: 0.27, HeightM: 0.86, MoisturePct: 17.4, CrystalsPct: 15, FilmWPerM2K: heat.FilmStillAir}, Count: n, NetKg: 280, RoomLossWPerK: 30, AroundC: 15, StartC: 15}
}

func jars() Containers {
	return Containers{Standing: heat.Standing{RadiusM: 0.035, HeightM: 0.09, MoisturePct: 17.4, CrystalsPct: 15, FilmWPerM2K: heat.FilmWater}, Count: 500, NetKg: 0.5, RoomLossWPerK: 10, AroundC: 18, StartC: 18}
}

func spec(v Vessel, to State, hours int) *Spec {
	return &Spec{Vessel: v, Aim: Aim{State: to, PaS: 5}, Hours: hours, Probability: DefaultProbability, HottestC: HottestOf(to), HMFKWh: DefaultHMFKWh,
		Kinetics: heat.Default(), Begins: Begins{5, 1, 18, 2}}
}

func solve(t testing.TB, s *Spec) *Answer {
	t.Helper()
	a, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// costOf follows a course by itself, hour by hour; false where the honey does not come to what is asked.
func (p *problem) costOf(sets []int) (cost float64, arrives bool) {
	n := p.follower.begin()
	for _, set := range sets {
		p.step(&n, set)
		arrives = arrives || p.arrived(&n)
	}
	return p.cost(&n), arrives
}

// bestOf tries every course that waits, holds one set point, holds another and is off, one by one.
func (p *problem) bestOf() (best float64, tried int) {
	best = math.Inf(1)
	h := p.Hours
	for wait := range h {
		for a := 1; wait+a <= h; a++ {
			for b := 0; wait+a+b <= h; b++ {
				for setA := p.leastC; setA <= p.HottestC; setA++ {
					for setB := p.leastC; setB <= p.HottestC; setB++ {
						if b == 0 && setB > p.leastC || b > 0 && setA == setB {
							continue
						}
						tried++
						if cost, arrives := p.costOf(shape{wait, a, setA, b, setB}.sets(h)); arrives && cost < best {
							best = cost
						}
					}
				}
			}
		}
	}
	return best, tried
}

// None of all courses of the kind that arrives costs less than the plan. Honey that does not begin as warm as what is
// around it is not searched through, and costs within a hundredth of the best.
func TestNoCourseOfTheKindCostsLessThanThePlan(t *testing.T) {
	t.Parallel()
	tank := func(change func(*Tank)) Tank {
		return aTank(t, func(k *Tank) { k.HeaterW, k.MassKg = 9000, 300; change(k) })
	}
	as := tank(func(*Tank) {})
	for _, c := range []struct {
		name   string
		spec   *Spec
		within float64
	}{
		{"liquid in a tank", spec(as, Liquid, 9), 1e-9}, {"yeasts in a tank", spec(as, YeastKilled, 6), 1e-9},
		{"pumpable in a tank", spec(as, Pumpable, 8), 1e-9}, {"clear jars in water", spec(jars(), Clear, 8), 1e-9},
		{"liquid in a warm tank", spec(tank(func(k *Tank) { k.StartC = 34 }), Liquid, 9), 0.01},
		{"yeasts in a warm tank", spec(tank(func(k *Tank) { k.StartC = 44 }), YeastKilled, 7), 0.01},
		{"pumpable in a cold tank", spec(tank(func(k *Tank) { k.StartC = 8 }), Pumpable, 9), 0.01},
	} {
		c.spec.Probability = 0.5
		if c.spec.Aim.State == Liquid {
			c.spec.HottestC = 58
		}
		p, err := c.spec.problem(c.spec.Hours)
		if err != nil {
			t.Fatal(err)
		}
		best, tried := p.bestOf()
		waits, _ := p.costOf(make([]int, p.Hours))
		found := math.Inf(1)
		for _, cost := range p.search().best {
			found = min(found, cost+waits)
		}
		t.Logf("%s: the best of %d courses costs %.6f kWh, the plan %.6f", c.name, tried, best, found)
		if math.IsInf(best, 1) || found < best-1e-9 || found > best*(1+c.within)+1e-9 {
			t.Errorf("%s: the plan costs %.6f kWh, the best of %d courses %.6f", c.name, found, tried, best)
		}
	}
}

// What keeping to two set points costs: every course over seven settings by the hour, tried one by one.
func TestTwoSetPointsCostHardlyMoreThanAny(t *testing.T) {
	t.Parallel()
	settings := []int{Off, 35, 44, 50, 53, 56, 58}
	for v, hours := range map[Vessel]int{aTank(t, func(k *Tank) { k.HeaterW, k.MassKg = 9000, 300 }): 6, jars(): 4} {
		s := spec(v, Liquid, hours)
		s.HottestC, s.Probability = 58, 0.5
		p, err := s.problem(s.Hours)
		if err != nil {
			t.Fatal(err)
		}
		best, sets := math.Inf(1), make([]int, s.Hours)
		for i := range int(math.Pow(float64(len(settings)), float64(s.Hours))) {
			for h := range sets {
				sets[h], i = settings[i%len(settings)], i/len(settings)
			}
			if cost, arrives := p.costOf(sets); arrives {
				best = min(best, cost)
			}
		}
		plan := solve(t, s).Choices[0].CostKWh
		t.Logf("any course of %v: %.4f kWh, the plan with whole degrees %.4f", settings, best, plan)
		if plan > 1.02*best {
			t.Errorf("the plan costs %.4f kWh, a course with more steps %.4f", plan, best)
		}
	}
}

func anyProblem(t *testing.T, r *rand.Rand) *Spec {
	states := States()
	to := states[r.IntN(len(states))]
	var v Vessel = aTank(t, func(k *Tank) {
		k.MassKg, k.LossWPerK, k.HeaterW, k.CrystalsPct = 200+2500*r.Float64(), 5+40*r.Float64(), 2000+8000*r.Float64(), 25*r.Float64()
		k.AroundC = 5 + 20*r.Float64()
		k.StartC = k.AroundC
	})
	if r.IntN(3) == 0 {
		d := drums(1 + r.IntN(20))
		d.CrystalsPct = 25 * r.Float64()
		v = d
	}
	s := spec(v, to, 6+r.IntN(70))
	s.Aim.PaS = 2 + 10*r.Float64()
	s.HMFKWh = 60 * r.Float64()
	s.Probability = 0.5 + 0.45*r.Float64()
	return s
}

// waits is what waiting alone costs, which no plan can help.
func (s *Spec) waits(t *testing.T) float64 {
	t.Helper()
	p, err := s.problem(s.Hours)
	if err != nil {
		t.Fatal(err)
	}
	cost, _ := p.costOf(make([]int, s.Hours))
	return cost
}

// What more time, a hotter limit or a stronger heater may do is not to cost more; the plan costs no more than
// as hot as allowed; and it is a course that somebody can set.
func TestAPlanIsAsItMustBe(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(12, 5))
	could := 0
	for range 16 {
		s := anyProblem(t, r)
		a := solve(t, s)
		if len(a.Choices) == 0 {
			if a.Impossible == nil || a.Hottest.Arrives {
				t.Errorf("%+v: no choice, as hot as allowed arrives: %v", s.Aim, a.Hottest.Arrives)
			}
			continue
		}
		could++
		best := a.Choices[0]
		if !best.Arrives || best.ArrivesHour > s.Hours || best.HottestC > s.HottestC || len(best.Steps) > 4 {
			t.Errorf("%+v within %d h: %+v", s.Aim, s.Hours, best.Steps)
		}
		for i, c := range a.Choices {
			if looks := s.Aim.State == Liquid || s.Aim.State == Clear; looks != (c.LookHour > 0) || c.LookHour > c.ArrivesHour {
				t.Errorf("%s: look from hour %d on, for an arrival at %d", s.Aim.State, c.LookHour, c.ArrivesHour)
			}
			if i > 0 && c.CostKWh < a.Choices[i-1].CostKWh {
				t.Errorf("the next best costs less: %g after %g", c.CostKWh, a.Choices[i-1].CostKWh)
			}
			if e := c.Energy; math.Abs(e.HeaterKWh-e.HoneyKWh-e.LostKWh) > 1e-3*max(1, e.HeaterKWh) || c.MeltingKWh < 0 {
				t.Errorf("%+v does not add up", e)
			}
			for _, b := range []heat.Band{c.Made, c.HMF, c.Diastase, c.KWh} {
				if !(b.Low <= b.Middle && b.Middle <= b.High && b.Low >= -1e-9) {
					t.Errorf("a band of %+v", b)
				}
			}
			for _, m := range c.Curve {
				if m.MeanC > float64(max(c.HottestC, 26))+1e-6 {
					t.Errorf("the honey comes to %g C of a set point of %d", m.MeanC, c.HottestC)
				}
			}
		}
		if a.Hottest.Arrives && best.CostKWh > a.Hottest.CostKWh+1e-9 {
			t.Errorf("the plan costs %g, as hot as allowed %g", best.CostKWh, a.Hottest.CostKWh)
		}
		longer, hotter := *s, *s
		longer.Hours += 5
		hotter.HottestC += 2
		if more := solve(t, &longer); len(more.Choices) == 0 || more.Choices[0].CostKWh-longer.waits(t) > best.CostKWh-s.waits(t)+1e-6 {
			t.Errorf("%+v: five hours more cost more", s.Aim)
		}
		if more := solve(t, &hotter); len(more.Choices) == 0 || more.Choices[0].CostKWh > best.CostKWh+1e-9 {
			t.Errorf("%+v: a hotter limit costs more", s.Aim)
		}
	}
	if could < 8 {
		t.Errorf("only %d of 16 could be done: they say little", could)
	}
}

// A tonne cannot be warmed to 50 C in three hours by 2 kW; the answer says when it can be, and that no hotter set
// point helps. Drums that need three days in a room of 50 C are liquid after two in a hotter one.
func TestWhatCannotBeDoneInTimeSaysWhenItCan(t *testing.T) {
	t.Parallel()
	weak := solve(t, spec(aTank(t, func(k *Tank) { k.HeaterW = 2000 }), Liquid, 3))
	if len(weak.Choices) != 0 || weak.Impossible == nil || weak.Impossible.EarliestHour < 12 || weak.Impossible.Way != nil {
		t.Errorf("a tonne, 2 kW, 3 h: %+v", weak.Impossible)
	}
	early := spec(aTank(t, func(k *Tank) { k.HeaterW = 2000 }), Liquid, weak.Impossible.EarliestHour)
	if at := solve(t, early); len(at.Choices) == 0 {
		t.Errorf("said to be done after %d h at the earliest, and is not", early.Hours)
	}
	early.Hours--
	if before := solve(t, early); len(before.Choices) != 0 {
		t.Errorf("done an hour before the earliest: %+v", before.Choices[0].Steps)
	}
	three := solve(t, spec(drums(4), Liquid, 96))
	if three.Impossible == nil || three.Impossible.Way == nil {
		t.Fatalf("drums within four days: %+v", three.Impossible)
	}
	way := three.Impossible.Way
	t.Logf("drums within four days: at %d C the earliest hour is %d; at %d C in %d h with %.2g mg/kg", 50, three.Impossible.EarliestHour, way.HottestC, way.ArrivesHour, way.Made.Middle)
	if way.HottestC <= 50 || way.HottestC > 66 || !way.Arrives || way.Made.Middle <= three.Hottest.Made.Middle {
		t.Errorf("the hottest way: %+v", way)
	}
	cold := solve(t, spec(aTank(t, func(k *Tank) { k.HeaterW = 300 }), YeastKilled, 200))
	if cold.Impossible == nil || cold.Impossible.EarliestHour != 0 {
		t.Errorf("300 W never bring a tonne that loses 25 W/K to 52 C: %+v", cold.Impossible)
	}
}

func TestHoneyThatIsThinEnoughOrHasNotSetNeedsNoHeat(t *testing.T) {
	t.Parallel()
	s := spec(aTank(t, func(k *Tank) { k.CrystalsPct, k.StartC, k.AroundC = 0, 30, 30 }), Pumpable, 10)
	s.Aim.PaS = 500
	a := solve(t, s)
	unset := solve(t, spec(aTank(t, func(k *Tank) { k.CrystalsPct = 0 }), Liquid, 10))
	for _, a := range []*Answer{a, unset} {
		if len(a.Choices) != 1 || a.Choices[0].HottestC != Off || a.Choices[0].KWh.High != 0 || a.Choices[0].Said().String() != "It needs no heat." {
			t.Errorf("%+v", a.Choices)
		}
	}
}

// The plan's own figures: what the search adds up by the hour is what domain/heat makes of the course.
func TestTheFiguresOfAPlanAreThoseOfTheCourse(t *testing.T) {
	t.Parallel()
	for _, s := range []*Spec{spec(aTank(t, nil), Liquid, 48), spec(aTank(t, func(k *Tank) { k.HeaterW = 9000 }), YeastKilled, 12), spec(drums(6), Liquid, 150)} {
		a := solve(t, s)
		if len(a.Choices) == 0 {
			t.Fatalf("%+v", a.Impossible)
		}
		w := a.Choices[0]
		cost := w.KWh.Middle + s.HMFKWh*s.Vessel.massKg()/1000*w.Made.Middle
		t.Logf("%s %s: %.2f mg/kg (%.2f to %.2f), %.1f kWh, cost %.2f, by the hour %.2f", s.Aim.State, w.Said(), w.Made.Middle, w.Made.Low, w.Made.High, w.KWh.Middle, cost, w.CostKWh)
		if math.Abs(cost/w.CostKWh-1) > 0.02 {
			t.Errorf("%s: %.3f kWh, by the hour %.3f", s.Aim.State, cost, w.CostKWh)
		}
	}
}
