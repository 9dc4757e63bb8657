package warm

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pullbook/domain/ledger"
)

// tried is what a way to warm came to over many houses.
type tried struct {
	name           string
	hmf, kWh, cost float64
	inTime         int
}

// What the plan earns: tanks of set honey whose true losses, and how soon whose crystals melt, the plan does
// not know. It learns the losses from a log of two warmings. Beside it the best course with all known, and two rules:
// 40 C until it is liquid, which somebody sees at once, and 45 C for two days (both common practice).
func TestWhatAWarmingPlanEarns(t *testing.T) {
	t.Parallel()
	const houses, hours = 20, 60
	r := rand.New(rand.NewPCG(21, 34))
	plan, best := &tried{name: "plan"}, &tried{name: "best with all known"}
	looked := &tried{name: "plan, off when liquid"}
	forty, twoDays := &tried{name: "40 C until liquid"}, &tried{name: "45 C for two days"}
	for i := range houses {
		truth := aTank(t, func(k *Tank) {
			k.MassKg, k.LossWPerK, k.CrystalsPct, k.LossSDWPerK = 300+1500*r.Float64(), 8+40*r.Float64(), 10+15*r.Float64(), 0
			k.HeaterW = k.MassKg * (3 + 4*r.Float64())
		})
		u := (float64(i) + 0.5) / houses // how much longer its crystals take: honeys as they scatter
		melts := math.Sqrt2 * math.Erfinv(2*u-1)
		known := truth
		liquid := truth.Tank
		liquid.CrystalsPct = 0
		log := logOf(t, r, liquid, truth.HeaterW, truth.AroundC, 45, 40)
		if l, ok := learned(coolings(log, truth.AroundC), []ledger.Holding{{At: noon.Add(-time.Hour), Grams: int64(truth.MassKg * 1000)}}, truth.MassKg*1000, 17.4, truth.AroundC); ok {
			known.LossWPerK, known.LossSDWPerK = l.WPerK, l.SDWPerK
		} else {
			t.Fatal("nothing learned")
		}
		asked := spec(known, Liquid, hours)
		a := solve(t, asked)
		if len(a.Choices) == 0 {
			t.Fatalf("%+v: %+v", known, a.Impossible)
		}
		really := spec(truth, Liquid, hours)
		really.Probability = 0.5
		p, err := really.problem(hours)
		if err != nil {
			t.Fatal(err)
		}
		p.doses = []table{tableOf(func(c float64) float64 { return 1 / (LiquidHours(c) * math.Exp(melts*liquidLogSD)) })}
		sets := make([]int, hours)
		for _, s := range a.Choices[0].Steps {
			for h := s.FromHour; h < s.FromHour+s.Hours; h++ {
				sets[h] = s.SetC
			}
		}
		plan.add(p, sets)
		looked.add(p, p.untilArrived(sets))
		s := p.search()
		hindsight := p.until(p.HottestC)
		least := math.Inf(1)
		for i, cost := range s.best {
			if cost < least {
				least, hindsight = cost, s.found[i].sets(hours)
			}
		}
		best.add(p, hindsight)
		forty.add(p, p.until(40))
		days := make([]int, hours)
		for h := range 48 {
			days[h] = 45
		}
		twoDays.add(p, days)
	}
	for _, w := range []*tried{best, plan, looked, forty, twoDays} {
		t.Logf("%-22s %5.2f mg/kg, %5.1f kWh, cost %5.1f kWh, in time %d of %d", w.name, w.hmf/houses, w.kWh/houses, w.cost/houses, w.inTime, houses)
	}
	if plan.inTime < houses*3/4 {
		t.Errorf("in time are %d of %d, asked was 0.8", plan.inTime, houses)
	}
	if plan.cost > twoDays.cost || plan.hmf > twoDays.hmf {
		t.Errorf("the plan costs more than two days at 45 C")
	}
}

// untilArrived is a course that somebody ends who sees that the honey is liquid.
func (p *problem) untilArrived(sets []int) []int {
	out, n := make([]int, len(sets)), p.follower.begin()
	for h, set := range sets {
		out[h] = set
		if p.step(&n, set); p.arrived(&n) {
			break
		}
	}
	return out
}

func (w *tried) add(p *problem, sets []int) {
	n, arrives := p.follower.begin(), false
	for _, set := range sets {
		p.step(&n, set)
		arrives = arrives || p.arrived(&n)
	}
	w.hmf, w.kWh, w.cost = w.hmf+n.hmf, w.kWh+n.heatWh/1000, w.cost+p.cost(&n)
	if arrives {
		w.inTime++
	}
}
