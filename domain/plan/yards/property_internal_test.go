package yards

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
)

// drawn is whatever a book may have: yards of one hive, seasons in which one yard alone gave something, figures alike.
func drawn(t *rapid.T) *Asked {
	a := &Asked{Per: rapid.SampledFrom([]Per{PerHive, PerSuper}).Draw(t, "per"), kinds: map[ledger.ID]string{deep: "deep", shallow: "shallow"}, costs: map[ledger.ID]float64{}}
	a.Question.Probability = rapid.SampledFrom([]float64{0.501, 0.9, 0.999}).Draw(t, "probability")
	if rapid.Bool().Draw(t, "there is a price") {
		a.Question.PricePerKg = new(rapid.Float64Range(0.01, 1e6).Draw(t, "price"))
	}
	yards, seasons := rapid.IntRange(0, 8).Draw(t, "yards"), rapid.IntRange(0, 6).Draw(t, "seasons")
	for y := range yards {
		a.Yards = append(a.Yards, Yard{ledger.ID{9, byte(y)}, fmt.Sprint("Y", y)})
		if rapid.Bool().Draw(t, "visits cost") {
			a.costs[a.Yards[y].ID] = rapid.Float64Range(0, 1e6).Draw(t, "cost")
		}
	}
	seen := make([]bool, yards)
	for range seasons {
		s, sum := len(a.Seasons), 0.0
		var here []Observation
		for y := range yards {
			if rapid.IntRange(0, 3).Draw(t, "is there") == 0 {
				continue
			}
			units := float64(rapid.SampledFrom([]int{1, 2, 20, 20, 5000}).Draw(t, "hives"))
			kg := rapid.SampledFrom([]float64{0, 0, 0.001, 30, 30, 50, 800}).Draw(t, "kg")
			here = append(here, Observation{y, s, kg, units, kg * units, rapid.IntRange(0, 9).Draw(t, "visits"), map[ledger.ID]int{deep: rapid.IntRange(0, 3).Draw(t, "deeps"), shallow: 1}})
			sum += kg * units
		}
		if len(here) < 2 || sum == 0 {
			continue
		}
		a.Seasons = append(a.Seasons, Season{ledger.ID{8, byte(s)}, fmt.Sprint(s)})
		a.Observations = append(a.Observations, here...)
		for _, o := range here {
			seen[o.Yard] = true
		}
	}
	// Yards are those that were observed.
	to, kept := make([]int, yards), a.Yards[:0:0]
	for y, is := range seen {
		if to[y] = len(kept); is {
			kept = append(kept, a.Yards[y])
		}
	}
	a.Yards = kept
	for i := range a.Observations {
		a.Observations[i].Yard = to[a.Observations[i].Yard]
	}
	return a
}

// Whatever a book has, a plan ends, and has figures where it says something.
func TestAPlanHasFiguresWhateverTheBookHas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t).Plan()
		number := func(what string, of ...float64) {
			for _, v := range of {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: %v", what, of)
				}
			}
		}
		number("the plan", p.MarginKg, p.OrdinaryKg, p.BetweenKg, p.WithinKg)
		number("the seasons", p.SeasonKg...)
		if len(p.Says) == 0 || len(p.Cautions()) < 3 {
			t.Fatalf("it says %v", p.Says)
		}
		for _, y := range p.Proposals {
			number(y.Name, y.PlainKg, y.Units, y.Visits)
			e := y.Effect
			if p.Told != (e != nil) || !p.Told && y.Verdict != Unsure {
				t.Fatalf("%+v of a plan that is told: %v", y, p.Told)
			}
			if e == nil {
				continue
			}
			if n := y.Next; n == nil || !(0 < n.LowKg && n.LowKg < n.Kg && n.Kg < n.HighKg) {
				t.Fatalf("%s in the next season: %+v", y.Name, n)
			}
			number(y.Name, y.Next.HighKg)
			number(y.Name, e.Kg, e.LowKg, e.HighKg, e.NetKg, e.GainsKg, e.GainsLowKg, e.GainsHighKg, e.Below, e.Worse, e.Loses)
			if e.LowKg > e.HighKg || e.Below < 0 || e.Below > 1 || e.Worse < 0 || e.Worse > 1 || e.Loses < -1e-9 || e.Loses > 1 {
				t.Fatalf("%s: %+v", y.Name, e)
			}
			for _, v := range []*float64{e.KeepFromKg, e.MoveBelowKg} {
				if v != nil {
					number(y.Name, *v)
				}
			}
			if y.Verdict == Move && (y.Seasons < fewestSeasons || e.Worse < p.Question.Probability) {
				t.Fatalf("%s is moved: %+v", y.Name, e)
			}
			if y.Why.String() == "" {
				t.Fatalf("%s has no reason", y.Name)
			}
		}
		if h := p.Held; h != nil {
			number("held out", h.ModelKg, h.PlainKg, h.SameKg)
		}
	})
}
