package sale

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/optimum"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// someSales are up to so many containers of a few lots and up to so many contracts, with limits, steps of
// discount, promises and freight of every sort.
func someSales(r *rand.Rand, containers, contracts int) *Spec {
	s := &Spec{Probability: 0.5 + 0.49*r.Float64(), Within: 1e-4}
	if r.IntN(2) == 0 {
		s.KeepPerKg = float64(r.IntN(400))
	}
	lots := 1 + r.IntN(max(2, containers/2))
	for i := range 1 + r.IntN(containers) {
		lot := i % lots
		own := rand.New(rand.NewPCG(uint64(lot), 7))
		source := fmt.Sprint("L", lot)
		figures := map[string]plan.Figure{
			"moisture": {Mean: 16 + 4*own.Float64(), Errors: []plan.Spread{{Key: "lot " + source, SD: 0.2}, {Key: "instruments of moisture", SD: 0.1}}},
			"hmf":      {Mean: 30 * own.Float64(), Errors: []plan.Spread{{Key: "lot " + source, SD: 2}}},
		}
		if own.IntN(6) == 0 {
			delete(figures, "hmf")
		}
		s.Stock = append(s.Stock, plan.Stock{Name: strconv.Itoa(i), Source: source, Kg: 280 + 5*float64(r.IntN(8)), Figures: figures})
	}
	for c := range 1 + r.IntN(contracts) {
		s.Contracts = append(s.Contracts, someContract(r, c))
	}
	return s
}

func someContract(r *rand.Rand, number int) Contract {
	c := Contract{Name: strconv.Itoa(number), MostKg: float64(300 + r.IntN(900)), Terms: &standard.PriceTerms{Currency: "CAD", PricePerKg: standard.MustDecimal(strconv.Itoa(300 + r.IntN(200)))}}
	if r.IntN(3) > 0 {
		c.Limits = append(c.Limits, plan.Limit{Parameter: "moisture", High: new(17.5 + 2*r.Float64())})
	}
	if r.IntN(3) == 0 {
		c.Limits = append(c.Limits, plan.Limit{Parameter: "hmf", High: new(10 + 20*r.Float64())})
	}
	if r.IntN(2) == 0 {
		from, to := standard.MustDecimal(strconv.FormatFloat(16.5+math.Round(10*r.Float64())/10, 'f', 1, 64)), standard.MustDecimal("20.5")
		percent, perKg := standard.MustDecimal(strconv.Itoa(1+r.IntN(9))), standard.MustDecimal(strconv.Itoa(5+r.IntN(40)))
		step := standard.Discount{Parameter: "moisture", Unit: "%", Above: from, UpTo: &to, Clause: "4"}
		if r.IntN(2) == 0 {
			step.Percent = &percent
		} else {
			step.PerKg = &perKg
		}
		c.Terms.Discounts = append(c.Terms.Discounts, step)
	}
	if r.IntN(3) == 0 {
		c.PromisedKg = math.Round(c.MostKg * r.Float64())
	}
	switch r.IntN(4) {
	case 0:
		c.Freight.PerKg = float64(r.IntN(60))
	case 1:
		c.Freight.PerContainer = float64(r.IntN(20_000))
	case 2:
		c.Freight.PerLoad, c.Freight.LoadKg = float64(r.IntN(30_000)), float64(300+r.IntN(600))
	}
	return c
}

// perKgAlone is what a container brings by itself under a contract, worked out anew; false where it may
// not go.
func perKgAlone(s *Spec, c *Contract, of *plan.Stock) (float64, bool) {
	for _, l := range c.Limits {
		f, known := of.Figures[l.Parameter]
		if !known || !keeps(l, f.Mean, offOf(f), s.Probability) {
			return 0, false
		}
	}
	return priceAt(c, of.Figures["moisture"].Mean, len(c.Terms.Discounts) > 0)
}

func offOf(f plan.Figure) float64 {
	sum := 0.0
	for _, e := range f.Errors {
		sum += e.SD * e.SD
	}
	return math.Sqrt(sum)
}

func keeps(l plan.Limit, mean, off, probability float64) bool {
	z := distuv.UnitNormal.Quantile(probability)
	return l.High == nil || mean+z*off <= *l.High+1e-9
}

func priceAt(c *Contract, moisture float64, steps bool) (float64, bool) {
	price := c.Terms.PricePerKg.Float64()
	if !steps {
		return price, true
	}
	d := c.Terms.Discounts[0]
	switch {
	case moisture > d.UpTo.Float64():
		return 0, false
	case moisture <= d.Above.Float64():
		return price, true
	case d.Percent != nil:
		return price * (1 - d.Percent.Float64()/100), true
	}
	return price - d.PerKg.Float64(), true
}

// mixPays is what a kilogram of a mix brings, worked out anew.
func mixPays(s *Spec, c *Contract, of []int) (float64, bool) {
	total, z := 0.0, distuv.UnitNormal.Quantile(s.Probability)
	for _, i := range of {
		total += s.Stock[i].Kg
	}
	moisture := 0.0
	for _, i := range of {
		moisture += s.Stock[i].Kg * s.Stock[i].Figures["moisture"].Mean / total
	}
	for _, l := range c.Limits {
		mean, byKey := 0.0, map[string]float64{}
		for _, i := range of {
			f, known := s.Stock[i].Figures[l.Parameter]
			if !known {
				return 0, false
			}
			mean += s.Stock[i].Kg * f.Mean / total
			for _, e := range f.Errors {
				byKey[e.Key] += s.Stock[i].Kg * e.SD / total
			}
		}
		off := 0.0
		for _, sd := range byKey {
			off = math.Hypot(off, sd)
		}
		if mean+z*off > *l.High+5e-5 {
			return 0, false
		}
	}
	return priceAt(c, moisture, len(c.Terms.Discounts) > 0)
}

// worthOf is what an assignment comes to, and by how much it misses what was promised; false where it
// cannot be. to is by container its contract, the number of contracts where it stays.
func worthOf(s *Spec, to []int, mixing bool) (worth, short float64, can bool) {
	for c := range s.Contracts {
		x := &s.Contracts[c]
		var of []int
		kg, apart, alone := 0.0, 0.0, true
		for i, t := range to {
			if t != c {
				continue
			}
			of, kg = append(of, i), kg+s.Stock[i].Kg
			perKg, open := perKgAlone(s, x, &s.Stock[i])
			apart, alone = apart+perKg*s.Stock[i].Kg, alone && open
		}
		if kg > x.MostKg+1e-9 {
			return 0, 0, false
		}
		best := math.Inf(-1)
		if alone {
			best = apart
		}
		if mixing && len(of) > 0 {
			if perKg, open := mixPays(s, x, of); open {
				best = max(best, perKg*kg)
			}
		}
		if math.IsInf(best, -1) {
			return 0, 0, false
		}
		worth += best - x.Freight.PerKg*kg - x.Freight.PerContainer*float64(len(of)) - x.Freight.PerLoad*float64(x.loads(kg))
		short += max(0, x.PromisedKg-kg)
	}
	for i, t := range to {
		if t == len(s.Contracts) {
			worth += s.KeepPerKg * s.Stock[i].Kg
		}
	}
	return worth, short, true
}

// byHand tries every assignment: the least that is missed of what was promised, and the most that is
// earned so.
func byHand(s *Spec, mixing bool) (worth, short float64) {
	worth, short = math.Inf(-1), math.Inf(1)
	to := make([]int, len(s.Stock))
	for {
		if w, sh, can := worthOf(s, to, mixing); can && (sh < short-aboutAGram || sh < short+aboutAGram && w > worth) {
			worth, short = w, sh
		}
		i := 0
		for ; i < len(to); i++ {
			if to[i]++; to[i] <= len(s.Contracts) {
				break
			}
			to[i] = 0
		}
		if i == len(to) {
			return worth, short
		}
	}
}

// Of a few containers and contracts, no assignment that one can try is better, mixed or not.
func TestTheBestOfAFewSalesIsTheBestThatCanBeTried(t *testing.T) {
	r := rand.New(rand.NewPCG(16, 18))
	sold, better, cases := 0, 0, 16
	if os.Getenv("PULLBOOK_TEST_WHOLE") != "" {
		cases = 40
	}
	for n := range cases {
		s := someSales(r, 6, 3)
		answer, err := s.Solve(optimum.Effort{})
		if err != nil || len(answer.Assignments) == 0 || answer.Mixed == nil {
			t.Fatal(n, answer, err)
		}
		for _, c := range []struct {
			what   string
			got    *Assignment
			mixing bool
		}{{"apart", &answer.Assignments[0], false}, {"mixed", answer.Mixed, true}} {
			worth, short := byHand(s, c.mixing)
			if math.Abs(c.got.short()-short) > 0.01 || math.Abs(c.got.WorthMinor()-worth) > 1 || !c.got.Proved() {
				t.Errorf("case %d, %s: %.2f with %.3f kg short (proved: %v), tried %.2f with %.3f", n, c.what, c.got.WorthMinor(), c.got.short(), c.got.Proved(), worth, short)
			}
		}
		if len(answer.Assignments[0].Held) < len(s.Stock) {
			sold++
		}
		if answer.Mixed.WorthMinor() > answer.Assignments[0].WorthMinor()+1 {
			better++
		}
	}
	if 2*sold < cases || 40*better < 3*cases {
		t.Errorf("honey was sold in %d cases, and mixing paid in %d: the cases say little", sold, better)
	}
}

// Whatever the things are said to be worth that containers compete for, no assignment that one can try and that
// misses the least comes to more than the bound by those prices.
func TestNoAssignmentComesToMoreThanABoundByWhateverPrices(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 26))
	near := 0
	for n := range 30 {
		s := someSales(r, 6, 3)
		x := newSearch(s, s.classesOf())
		found, err := x.part(optimum.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		worth, short := byHand(s, false)
		if good := s.bound(x.gains, &found.prices, short+aboutAGram); good < worth-0.01 {
			t.Errorf("case %d: by the prices of the program the bound is %.2f, and %.2f can be had", n, good, worth)
		} else if good < worth*1.05+1 {
			near++
		}
		for range 20 {
			at := s.noPrices()
			at.missed = 500 * r.Float64()
			for c := range s.Contracts {
				if at.room[c] = 300 * r.Float64(); s.Contracts[c].PromisedKg > 0 {
					at.room[c] -= 150
				}
				if s.Contracts[c].Freight.PerLoad > 0 {
					at.load[c] = 40 * r.Float64()
				}
			}
			if bound := s.bound(x.gains, &at, short+aboutAGram); bound < worth-0.01 {
				t.Errorf("case %d: by %+v the bound is %.2f, and %.2f can be had", n, at, bound, worth)
			}
		}
	}
	if near < 12 {
		t.Errorf("the bound is near what can be had in %d cases only: they say little", near)
	}
}

// turnByHand is the price of a contract, between its own and so many times as much, at which an assignment is the best
// no longer; nil where it stays so. Every assignment is tried.
func turnByHand(s *Spec, is []int, c int, far float64) (at *float64) {
	price := s.Contracts[c].Terms.PricePerKg.Float64()
	there := s.at(c, price*far)
	here, short, _ := worthOf(s, is, false)
	then, _, _ := worthOf(there, is, false)
	to, nearest := make([]int, len(s.Stock)), math.Inf(1)
	for {
		w, sh, can := worthOf(s, to, false)
		if w2, _, can2 := worthOf(there, to, false); can && can2 && sh < short+aboutAGram && w2 > then+0.01 {
			if share := max(0, here-w) / (max(0, here-w) + w2 - then); share < nearest {
				nearest, at = share, new(price+price*(far-1)*share)
			}
		}
		i := 0
		for ; i < len(to); i++ {
			if to[i]++; to[i] <= len(s.Contracts) {
				break
			}
			to[i] = 0
		}
		if i == len(to) {
			return at
		}
	}
}

// The price from which on another assignment is the best is the one that is found by trying each.
func TestThePriceThatTurnsTheSalesIsTheOneThatCanBeTried(t *testing.T) {
	r := rand.New(rand.NewPCG(26, 20))
	turns, stays, cases := 0, 0, 12
	if os.Getenv("PULLBOOK_TEST_WHOLE") != "" {
		cases = 24
	}
	for n := range cases {
		s := someSales(r, 5, 3)
		answer, err := s.Solve(optimum.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		is := make([]int, len(s.Stock))
		for _, i := range answer.Assignments[0].Held {
			is[i] = len(s.Contracts)
		}
		for _, x := range answer.Assignments[0].Sales {
			for _, take := range x.Takes {
				is[take.Stock] = x.Contract
			}
		}
		for c, turn := range answer.PriceTurns {
			if !turn.Known {
				t.Errorf("case %d: it is not known which price of contract %d turns the sales", n, c)
			}
			for _, side := range []struct {
				got *float64
				far float64
			}{{turn.Below, 0.5}, {turn.Above, 1.5}} {
				want := turnByHand(s, is, c, side.far)
				if (side.got == nil) != (want == nil) || want != nil && math.Abs(*side.got-*want) > 0.01 {
					t.Errorf("case %d, contract %d, to %g times: %v, tried %v", n, c, side.far, side.got, want)
				}
				if want == nil {
					stays++
				} else {
					turns++
				}
			}
		}
	}
	if 24*turns < 20*cases || 24*stays < 20*cases {
		t.Errorf("the price turned the sales in %d cases and not in %d: they say little", turns, stays)
	}
}

// soon is an effort of about so many seconds. Its clock goes on whenever a search looks at it, some twenty thousand
// times a second, so that as much is searched on a busy machine.
func soon(seconds float64) optimum.Effort {
	looks := 0
	return optimum.Effort{Seconds: seconds, Clock: func() float64 { looks++; return float64(looks) / 20_000 }}
}

// isGood fails where an assignment sells a container twice, takes more than a contract does, breaks a
// limit or adds up wrongly.
func isGood(t *testing.T, s *Spec, a *Assignment) {
	t.Helper()
	to := make([]int, len(s.Stock))
	for i := range to {
		to[i] = -1
	}
	for _, x := range a.Sales {
		for _, take := range x.Takes {
			if to[take.Stock] >= 0 {
				t.Errorf("container %s is sold twice", s.Stock[take.Stock].Name)
			}
			to[take.Stock] = x.Contract
			if perKg, open := perKgAlone(s, &s.Contracts[x.Contract], &s.Stock[take.Stock]); !x.Mixed && (!open || math.Abs(perKg-take.PerKg) > 1e-3) {
				t.Errorf("container %s goes to %s for %g, and brings %g there (open: %v)", s.Stock[take.Stock].Name, s.Contracts[x.Contract].Name, take.PerKg, perKg, open)
			}
		}
	}
	for _, i := range a.Held {
		if to[i] >= 0 {
			t.Errorf("container %s is sold and stays", s.Stock[i].Name)
		}
		to[i] = len(s.Contracts)
	}
	mixing := slices.ContainsFunc(a.Sales, func(x Sale) bool { return x.Mixed })
	worth, short, can := worthOf(s, to, mixing)
	if !can || a.WorthMinor() > worth+1 || !mixing && a.WorthMinor() < worth-1 || math.Abs(short-a.short()) > 0.01 {
		t.Errorf("it is said to come to %.2f, and comes to %.2f (%.3f kg short, said %.3f; possible: %v)", a.WorthMinor(), worth, short, a.short(), can)
	}
	if a.BoundMinor < a.WorthMinor()-1 {
		t.Errorf("its bound is %.2f, and it comes to %.2f", a.BoundMinor, a.WorthMinor())
	}
}

// differ fails where one of some assignments sends all that another before it sends to the same contracts.
func differ(t *testing.T, s *Spec, all []Assignment) {
	t.Helper()
	for i := range all {
		for j := range i {
			now := s.lotsOf(&all[i])
			if was := s.lotsOf(&all[j]); !slices.ContainsFunc(was, func(g goes) bool { return !slices.Contains(now, g) }) && !slices.ContainsFunc(now, func(g goes) bool { return !slices.Contains(was, g) }) {
				t.Errorf("assignments %d and %d send the same lots to the same contracts: %v", i, j, now)
			}
		}
	}
}

// Whatever there is, also where the program takes containers for one another, no container is sold
// twice, no contract gets more than it takes, and each limit is kept; what comes next is no better.
func TestNoSalesBreakALimitAMassOrSellTwice(t *testing.T) {
	r := rand.New(rand.NewPCG(18, 16))
	soon := soon(1)
	for range 12 {
		s := someSales(r, 40, 6)
		s.Within = 0
		answer, err := s.Solve(soon)
		if err != nil {
			t.Fatal(err)
		}
		for i := range answer.Assignments {
			isGood(t, s, &answer.Assignments[i])
			if behind := answer.Assignments[0].WorthMinor() - answer.Assignments[i].WorthMinor(); behind < -s.within() && answer.Assignments[i].short() < answer.Assignments[0].short()+0.01 {
				t.Errorf("assignment %d comes to %.2f more than the best", i, -behind)
			}
		}
		differ(t, s, answer.Assignments)
		if answer.Mixed != nil {
			isGood(t, s, answer.Mixed)
		}
		coarse := newSearch(s, s.classesOf())
		coarse.groups = s.groupsOf(s.classesOf(), math.Inf(1))
		coarse.ways = s.apart(s.classesOf(), coarse.groups)
		coarse.pairs = s.pairsOf(coarse.groups, coarse.ways)
		a, err := coarse.best(soon)
		if err != nil || a == nil {
			t.Fatal(a, err)
		}
		isGood(t, s, a)
		if len(answer.Assignments) == 0 {
			continue // not in time
		}
		if best := &answer.Assignments[0]; a.short() < best.short()+0.01 && a.BoundMinor < best.WorthMinor()-s.within() {
			t.Errorf("containers taken for one another bound it by %.2f, and %.2f can be had", a.BoundMinor, best.WorthMinor())
		}
	}
}

// Where the time is over at once, what is said can be done all the same, and is not called the best.
func TestSalesThatHadNoTimeCanBeDone(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 18))
	from := time.Now()
	none := optimum.Effort{Seconds: 1e-9, Clock: func() float64 { return time.Since(from).Seconds() }}
	for range 10 {
		s := someSales(r, 60, 8)
		a, err := s.Best(none)
		if err != nil || a == nil {
			t.Fatal(a, err)
		}
		isGood(t, s, a)
	}
}

// Of more honey and contracts than mixing can be looked into for, that is said, and the rest is answered.
func TestMixingIsLeftOutWhereThereIsTooMuchToChooseBetween(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 18))
	soon := soon(0.5)
	s := someSales(r, 1, 1)
	s.Stock, s.Contracts = nil, nil
	for i := range 400 {
		s.Stock = append(s.Stock, plan.Stock{Name: strconv.Itoa(i), Source: strconv.Itoa(i), Kg: 250 + 60*r.Float64(), Figures: map[string]plan.Figure{"moisture": {Mean: 16 + 3*r.Float64()}, "hmf": {Mean: 5}}})
	}
	for c := range 40 {
		x := someContract(r, c)
		x.PromisedKg = 0
		s.Contracts = append(s.Contracts, x)
	}
	answer, err := s.Solve(soon)
	if err != nil || len(answer.Assignments) == 0 {
		t.Fatal(answer, err)
	}
	for i := range answer.Assignments {
		isGood(t, s, &answer.Assignments[i])
	}
	differ(t, s, answer.Assignments)
	if said := answer.Said().String(); !answer.TooMany || answer.Mixed != nil || !strings.Contains(said, "too much honey") {
		t.Errorf("too much (%v), mixed %v: %s", answer.TooMany, answer.Mixed, said)
	}
}

// A mix that is found with the drums of a lot taken for one another keeps its limits by what they truly
// weigh, and adds up by that.
func TestAMixOfManyDrumsKeepsItsLimitsByWhatTheyWeigh(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 18))
	soon := soon(3)
	mixed := 0
	for range 3 {
		s := someSales(r, 1, 5)
		s.Stock, s.Within = nil, 0
		for i := range 160 {
			lot := float64(i / 8)
			s.Stock = append(s.Stock, plan.Stock{Name: strconv.Itoa(i), Source: strconv.Itoa(i / 8), Kg: 250 + 60*r.Float64(), Figures: map[string]plan.Figure{
				"moisture": {Mean: 16.5 + math.Mod(lot*0.37, 3), Errors: []plan.Spread{{Key: "instruments of moisture", SD: 0.1}}}, "hmf": {Mean: 5 + math.Mod(lot*7, 25)}}})
		}
		for c := range 5 {
			x := someContract(r, c)
			x.MostKg *= 8
			x.Limits = []plan.Limit{{Parameter: "moisture", High: new(17.6 + 0.2*float64(c))}, {Parameter: "hmf", High: new(15.0)}}
			s.Contracts = append(s.Contracts, x)
		}
		if s.waysToMix()*len(s.Stock) <= mostMixedApart {
			t.Fatal("these drums are told apart")
		}
		answer, err := s.Solve(soon)
		if err != nil {
			t.Fatal(err)
		}
		if answer.Mixed == nil {
			continue // not in time
		}
		isGood(t, s, answer.Mixed)
		if answer.MixingPays() {
			mixed++
		}
	}
	if mixed == 0 {
		t.Error("mixing paid in no case: the cases say little")
	}
}
