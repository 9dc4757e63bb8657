package plan_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"pullbook/domain/optimum"
	"pullbook/domain/plan"
)

// store is the honey of a large honey house: lots of ten drums, of which every drum's moisture was read,
// and three tanks.
func store(lots int, eachRead bool) []plan.Stock {
	r := rand.New(rand.NewPCG(9, 10))
	now := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)
	var out []plan.Stock
	for l := range lots + 3 {
		source := fmt.Sprintf("L-%02d", l)
		lot := map[string]float64{"moisture": 16.4 + 3*r.Float64(), "hmf": 4 + 30*r.Float64(), "diastase": 8 + 15*r.Float64(), "electrical_conductivity": 0.2 + 0.5*r.Float64(), "colour_pfund": 20 + 70*r.Float64()}
		off := map[string]float64{"moisture": 0.15, "hmf": 1.5, "diastase": 1, "electrical_conductivity": 0.01, "colour_pfund": 2}
		since := now.AddDate(0, 0, -r.IntN(500))
		for d := range 10 {
			s := plan.Stock{Name: fmt.Sprintf("%s-%02d", source, d), Source: source, Kg: float64(285 + r.IntN(30)), Since: since, Figures: map[string]plan.Figure{}}
			for p, v := range lot {
				f := plan.Figure{Mean: v, Errors: []plan.Spread{{Key: source, SD: off[p]}}}
				if p == "moisture" && eachRead {
					f = plan.Figure{Mean: v + 0.3*r.NormFloat64(), Errors: []plan.Spread{{Key: s.Name, SD: 0.1}, {Key: "refractometer", SD: 0.1}}}
				}
				s.Figures[p] = f
			}
			if l >= lots {
				s.Name, s.Kg, s.Part = source, 1500, true
				out = append(out, s)
				break
			}
			out = append(out, s)
		}
	}
	return out
}

func question(kg float64) *plan.Spec {
	return &plan.Spec{
		LeastKg: kg, MostKg: kg + 300, Probability: 0.95, Weights: plan.UsualWeights(), Now: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC),
		Limits: []plan.Limit{
			{Parameter: "moisture", High: new(17.8)}, {Parameter: "hmf", High: new(20.0)}, {Parameter: "diastase", Low: new(10.0)},
			{Parameter: "electrical_conductivity", High: new(0.6)}, {Parameter: "colour_pfund", Low: new(34.0), High: new(50.0)},
		},
	}
}

// A blend from 200 drums and 3 tanks to 5 limits, of which each lot was read once or each drum: how long
// the best and the two next best take, and by how much the best may be better after one second.
func BenchmarkBlendOf200Drums(b *testing.B) {
	for _, each := range []bool{false, true} {
		b.Run(fmt.Sprintf("each=%v", each), func(b *testing.B) {
			stock, s := store(20, each), question(2400)
			if _, err := optimum.Version(); err != nil { // the solver is made first
				b.Fatal(err)
			}
			from := time.Now()
			clock := func() float64 { return time.Since(from).Seconds() }
			for b.Loop() {
				answer, err := s.Solve(stock, optimum.Effort{Seconds: 60, Clock: clock})
				if err != nil || len(answer.Blends) == 0 {
					b.Fatal(answer, err)
				}
			}
			answer, err := s.Solve(stock, optimum.Effort{Seconds: 1, Clock: clock})
			if err != nil {
				b.Fatal(err)
			}
			if len(answer.Blends) > 0 {
				b.ReportMetric(answer.Blends[0].Cost-answer.Blends[0].Bound, "kg-gap-after-1s")
			}
		})
	}
}
