package warm

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pullbook/domain/heat"
)

// A search takes a tank on by the hour with less work than domain/heat does, and comes to the same temperatures and
// the same heat.
func TestATankIsAsWarmByTheHourAsByDomainHeat(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 19))
	for range 300 {
		tank := aTank(t, func(k *Tank) {
			k.MassKg, k.LossWPerK, k.HeaterW, k.CrystalsPct = 100+3000*r.Float64(), 60*r.Float64(), 500+9000*r.Float64(), 25*r.Float64()
			k.AroundC, k.StartC = -5+50*r.Float64(), 5+50*r.Float64()
			switch r.IntN(6) {
			case 0:
				k.LossWPerK = 0
			case 1:
				k.CrystalsPct = 0
			case 2:
				k.StartC = 40
			}
		})
		h := tank.hourly(tank.Tank)
		fast := heat.Warmth{Celsius: tank.StartC, MeltedC: tank.StartC}
		slow := fast
		for range 6 {
			set := []int{Off, 40, LeastSetC + r.IntN(MostSetC-LeastSetC)}[r.IntN(3)]
			for range 1 + r.IntN(30) {
				var gave, give float64
				fast, gave = h.on(fast, set)
				slow, give = tank.Advance(slow, tank.stage(set, 1), tank.StartC)
				if math.Abs(fast.Celsius-slow.Celsius) > 1e-9 || math.Abs(fast.MeltedC-slow.MeltedC) > 1e-9 || math.Abs(gave-give) > 1e-6*(1+give) {
					t.Fatalf("%+v at %d: %+v with %g Wh, by domain/heat %+v with %g Wh", tank, set, fast, gave, slow, give)
				}
			}
		}
	}
}

// What is followed roughly to give a course up costs no more than the course does, and is as warm.
func TestACourseFollowedRoughlyCostsNoMore(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 8))
	for range 150 {
		s := anyProblem(t, r)
		if c, is := s.Vessel.(Containers); is {
			c.RadiusM, c.HeightM, c.StartC = 0.03+0.3*r.Float64(), 0.1+0.8*r.Float64(), 5+25*r.Float64()
			c.FilmWPerM2K = []float64{heat.FilmStillAir, heat.FilmBlownAir, heat.FilmWater}[r.IntN(3)]
			s.Vessel = c
		}
		p, err := s.problem(s.Hours)
		if err != nil {
			t.Fatal(err)
		}
		exact, rough := p.follower.begin(), p.follower.begin()
		for h, set := range (shape{r.IntN(5), 1 + r.IntN(20), LeastSetC + r.IntN(46), r.IntN(30), LeastSetC + r.IntN(46)}).sets(s.Hours) {
			p.step(&exact, set)
			p.roughly(&rough, set)
			if p.cost(&rough) > p.cost(&exact)+1e-9 || math.Abs(rough.coldestC-exact.coldestC) > 1e-9 || math.Abs(rough.heatWh-exact.heatWh) > 1e-6 || rough.doses != exact.doses {
				t.Fatalf("%+v hour %d: roughly %g kWh at %g C, exactly %g kWh at %g C", s.Vessel, h+1, p.cost(&rough), rough.coldestC, p.cost(&exact), exact.coldestC)
			}
		}
	}
}

// The search with a day more, which begins with what was found without it, finds what a search of its own does; and nothing
// where that costs more than what it is to be less than.
func TestASearchWithADayMoreFindsWhatOneOfItsOwnDoes(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 5))
	could := 0
	for i := range 12 {
		s := anyProblem(t, r)
		if k, is := s.Vessel.(Tank); is && i%3 == 0 {
			k.StartC = min(max(k.StartC-8, 0), 20)
			s.Vessel = aTank(t, func(as *Tank) { *as = k })
		}
		p, err := s.problem(MostHours)
		if err != nil {
			t.Fatal(err)
		}
		later := *p
		later.Spec = new(*s)
		later.Hours += 24
		found := p.search()
		own, err := later.choices(later.search(), 1)
		if err != nil {
			t.Fatal(err)
		}
		if len(own) == 0 || own[0].HottestC == Off {
			continue
		}
		could++
		for by, want := range map[float64]int{1.001: 1, 0.999: 0} {
			if !s.Vessel.steady() && by < 1 {
				continue // it is searched as if nothing was asked to cost less
			}
			waits := later.Spec.waits(t) // costs something as well, which no course can save
			more, err := later.choices(later.searchLater(found, waits+by*(own[0].CostKWh-waits)), 1)
			if err != nil {
				t.Fatal(err)
			}
			if len(more) != want || want == 1 && more[0].CostKWh > own[0].CostKWh*(1+1e-9) {
				t.Errorf("%+v below %g of %g kWh: %+v", s.Aim, by, own[0].CostKWh, more)
			}
		}
	}
	if could < 5 {
		t.Errorf("only %d of 12 could be done: they say little", could)
	}
}

// Honey that is colder or warmer than its surroundings is searched with a few waits and moved on; beside a search with each wait
// and each set point the plan costs at most a fiftieth more.
func TestHoneyThatCannotBeMovedIsPlannedAlmostAsWellAsWithEachWait(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(12, 5))
	could, more := 0, 0.0
	for i := range 24 {
		s := anyProblem(t, r)
		s.Hours = 12 + r.IntN(36)
		by := []float64{-10, -4, 5, 12}[i%4]
		switch v := s.Vessel.(type) {
		case Tank:
			v.StartC = max(1, v.StartC+by)
			s.Vessel = v
		case Containers:
			v.StartC, v.RadiusM, v.HeightM, v.FilmWPerM2K = max(1, v.StartC+by), 0.1, 0.3, heat.FilmBlownAir
			s.Vessel = v
		}
		p, err := s.problem(s.Hours)
		if err != nil {
			t.Fatal(err)
		}
		each := p.ready()
		each.atMost(math.Inf(1))
		each.every, each.within = 1, p.Hours
		for wait := p.Hours - 1; wait >= 0; wait-- {
			for set := each.HottestC; set >= each.leastC; set-- {
				each.from(wait, set, 1)
			}
		}
		best, plan := slices.Min(each.best), slices.Min(p.search().best)
		if math.IsInf(best, 1) {
			continue
		}
		could++
		waits := s.waits(t)
		more += (plan+waits)/(best+waits) - 1
		if plan+waits > 1.02*(best+waits) {
			t.Errorf("%T to %s within %d h, begun at %+g K: %.2f kWh, with each wait %.2f", s.Vessel, s.Aim.State, s.Hours, by, plan+waits, best+waits)
		}
	}
	t.Logf("%d questions: the plan costs %.2g %% more on average", could, 100*more/float64(could))
	if could < 12 {
		t.Errorf("only %d of 24 could be done: they say little", could)
	}
}
